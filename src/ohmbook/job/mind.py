"""What to mind before the values of a sheet are relied on, in a sentence or two."""

from __future__ import annotations

from ohmbook.documents.finding import Finding
from ohmbook.job.settled import Settled
from ohmbook.report.words import is_main, listed

CONTRADICT = 0.001
"""Probability of the readings' disagreement below which they are said to contradict each other."""

LIKELY = 0.5
"""Probability from which a change of the sketch is taken to be probable."""

NO_PARTS = (
    "There are no parts in this sheet yet. Write first what is on the board, a line a part: "
    '[parts], then L1 = { kind = "inductor", between = ["in", "w"] }; and the readings as '
    "[[readings]]. A commented sheet to fill in: ohmbook start FILE"
)

NOTHING_READ = (
    "Nothing has been read yet: the values are only what is believed beforehand. What to read "
    "first: ohmbook next SHEET --plan 20"
)


def mind(settled: Settled) -> str | None:
    """What puts every value of a sheet in question; None where nothing does.

    Args:
        settled: the state of things.
    """
    if not settled.sheet.parts:
        return NO_PARTS
    if not settled.answer.compiled.rows:
        return NOTHING_READ
    for kind, words in (("sketch doubt", _of_sketch), ("two answers", _of_answers)):
        found = next((one for one in settled.findings if one.kind == kind), None)
        if found is not None:
            return words(found)
    p_value = settled.consistency.p_value
    if p_value is not None and p_value < CONTRADICT:
        return (
            "The readings contradict each other, so rely on no value yet: put right what is found "
            "first, then settle again"
        )
    return None


def mind_behaviour(settled: Settled) -> str | None:
    """The same of what the crossover does, with the parts that are only believed.

    Args:
        settled: the state of things.
    """
    grave = mind(settled)
    if grave is not None:
        return f"{grave}. What follows takes the values as they stand"
    open_ = [
        one.name
        for one in settled.estimates
        if is_main(one, settled.estimates)
        and one.name in settled.sheet.parts
        and not one.determined
        and one.low < one.high
        and "stated" not in one.basis
    ]
    if not open_:
        return None
    return (
        f"The readings do not determine {listed(open_)}: the curves rest on what is believed of "
        "such parts, and the bands are as wide as that. What would tell: ohmbook next"
    )


def _of_sketch(found: Finding) -> str:
    likely = [one for one in found.explanations if one.change]
    if likely and (likely[0].probability or 0.0) > LIKELY:
        return (
            "The values take the sketch as drawn, and it is probably not so: change it (Is the "
            "sketch right? says how), then settle again"
        )
    return (
        "The values take the sketch as drawn, and it may not be so (Is the sketch right?): rely "
        "on none of them before that is looked at"
    )


def _of_answers(found: Finding) -> str:
    return (
        f"Two answers fit, and only the likelier one is shown: {listed(found.parts)} may be quite "
        "another value (Two answers fit says which, and what tells)"
    )
