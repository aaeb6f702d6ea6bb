"""Which readings would help most now, and which to take from the start."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ohmbook.counsel.aims import WITHIN
from ohmbook.counsel.enough import enough
from ohmbook.counsel.next import NextReadings, rank
from ohmbook.counsel.offers import Progress
from ohmbook.counsel.wants import GROUPS, aim_at, feature_names
from ohmbook.counsel.whole import Plan, whole_plan
from ohmbook.errors import CallError
from ohmbook.job.mind import CONTRADICT, NO_PARTS
from ohmbook.job.settled import Settled
from ohmbook.report.next import plan_text

MOST = 500
"""Numbers in one plan: more is no evening's work."""


def next_readings(
    settled: Settled,
    *,
    count: int = 5,
    want: Sequence[str] = (),
    within: float = WITHIN,
    progress: Progress | None = None,
) -> NextReadings:
    """The readings that would improve most what is wanted, each after the ones before it.

    Args:
        settled: the state of things.
        count: how many at most.
        want: names of parts, sources, or of features of the behaviour by some of their words
            ("cross"); every part where empty.
        within: half a 95 % interval, relative, that is good enough.
        progress: called with (done, of) of the whole work.

    Raises:
        CallError: nothing is called that, or a tolerance that cannot be.
    """
    return rank(settled.answer, count, aim_at(settled.answer, want, within), progress)


def to_want(settled: Settled) -> dict[str, tuple[str, ...]]:
    """What can be wanted, by name: "parts", "groups" of them, "features" of the behaviour.

    Args:
        settled: the state of things.
    """
    kinds = {name: part.kind for name, part in settled.sheet.parts.items()}
    parts = tuple(name for name, kind in kinds.items() if kind != "driver")
    groups = tuple(word for word, kind in GROUPS.items() if list(kinds.values()).count(kind) > 1)
    return {"parts": parts, "groups": groups, "features": feature_names(settled.answer)}


def good_enough(settled: Settled, within: float = WITHIN) -> dict[str, Any] | None:
    """Whether every part is known well enough, as the document has it; None without parts.

    Args:
        settled: the state of things.
        within: half a 95 % interval, relative, that is good enough.
    """
    found = enough(settled.answer, aim_at(settled.answer, (), within))
    return None if found is None else found.document()


def plan_readings(
    settled: Settled,
    numbers: int,
    *,
    want: Sequence[str] = (),
    within: float = WITHIN,
    progress: Progress | None = None,
) -> Plan:
    """A whole plan: the best readings of so many numbers, chosen together.

    Args:
        settled: the state of things; a sheet without readings will do.
        numbers: how many numbers are to be read.
        want: as for `next_readings`.
        within: likewise.
        progress: likewise.

    Raises:
        CallError: as there, or no number of numbers.
    """
    if not 1 <= numbers <= MOST:
        raise CallError(f"A plan of {numbers} numbers was asked for; expected 1 to {MOST}.")
    return whole_plan(settled.answer, numbers, aim_at(settled.answer, want, within), progress)


def first_of_all(settled: Settled) -> str | None:
    """What to put right, or to tell apart, before anything else is read: None where the readings
    so far agree and only one answer fits.

    Args:
        settled: the state of things.
    """
    if not settled.sheet.parts:
        return NO_PARTS
    for found in settled.findings:
        if found.kind == "two answers":
            return found.message
    p_value = settled.consistency.p_value
    doubted = any(one.kind == "sketch doubt" for one in settled.findings)
    if not doubted and (p_value is None or p_value > CONTRADICT):
        return None
    what = (
        "the sketch or a reading may be wrong"
        if doubted
        else "the readings so far contradict each other"
    )
    return (
        f"Mind that {what}: see what ohmbook settle finds, and put that right first. What follows "
        "takes the sketch and the readings as they stand"
    )


def next_document(found: NextReadings, settled: Settled) -> dict[str, Any]:
    """The `--json` document of the readings that would help most."""
    return {**found.document(), "first_of_all": first_of_all(settled)}


def plan_document(plan: Plan, settled: Settled | None = None) -> dict[str, Any]:
    """The `--json` document of a plan: it in parts, and its text.

    Args:
        plan: to be told.
        settled: the state of things it was made for; where given, it is told whether that is sound.
    """
    told, first = plan.document(), None if settled is None else first_of_all(settled)
    good_enough = None if plan.enough is None else plan.enough.document()
    return {
        "suggestions": [],
        "good_enough": good_enough,
        "plan": {**told, "text": plan_text(told, first, good_enough)},
        "first_of_all": first,
    }
