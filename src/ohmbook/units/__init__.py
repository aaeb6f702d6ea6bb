"""Quantities and accuracies as people write and see them, markings, preferred series.

Reading: `parse`. Showing: `show`, `prefix`. Preferred numbers: `series`. Markings: `marking`. The
nouns that the other rooms share: `quantity`.
"""
