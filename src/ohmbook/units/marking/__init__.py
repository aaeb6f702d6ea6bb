"""What the marking on a part means: a grammar, whose readings are weighed and ranked.

The road of a marking: `clean` (one spelling), `splits` (every way to split it into fields),
`fields` (the value and what stands beside it), `digits`, `letters` and `bands` (every way to read
a value, for every kind of part), `tolerance`, `rank` (weigh, merge, sort). Every weight stands in
`weights`. `meaning` holds what comes out.
"""

from __future__ import annotations

from ohmbook.units.marking.meaning import (
    Belief,
    Meaning,
    PartKindName,
    Tolerance,
    believed,
    standard_uncertainty_log,
)
from ohmbook.units.marking.rank import rank
from ohmbook.units.marking.split import clean, splits

__all__ = [
    "Belief",
    "Meaning",
    "PartKindName",
    "Tolerance",
    "believed",
    "meanings",
    "standard_uncertainty_log",
]


def meanings(text: str, kind: PartKindName | None = None) -> tuple[Meaning, ...]:
    """Every way to read a marking, most probable first.

    What the probabilities leave up to 1 is "something else": a date, a part number, a slip.

    Args:
        text: the marking as it stands on the part, or in notes; at most 40 characters.
        kind: the kind of part, or None where all kinds compete.

    Returns:
        At most a dozen meanings; none where the text means nothing on that kind of part.

    Raises:
        MarkingError: the text is empty, too long, or holds control characters.

    Reference: IEC 60062 (codes, colours, tolerance letters), IEC 60063 (preferred numbers); how
    usual each is, is common practice, no source.
    """
    cleaned = clean(text)
    return rank(splits(cleaned), cleaned, kind)
