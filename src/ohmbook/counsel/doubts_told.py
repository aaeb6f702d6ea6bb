"""Doubts about a sketch in plain words: findings that say what is odd, what may be, what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ohmbook.counsel.doubts import LOOK, Doubts, Explained, Hypothesis
from ohmbook.counsel.separate import Possible, telling
from ohmbook.documents.finding import Explanation, Finding

MOST = 5
"""How many explanations are told."""

LEAST = 0.005
"""Probability below which an explanation is not told."""


def doubt_findings(found: Doubts) -> tuple[Finding, ...]:
    """What there is to say about the sketch; where there is none, about the readings."""
    if any(part.between for part in found.answer.compiled.sheet.parts.values()):
        return tuple(_told(found))
    return tuple(_readings_only(found))


def pathless_finding(found: Doubts | None, readings: Sequence[str], tried: str) -> Finding:
    """Ohms were read where, as drawn, no direct current flows.

    Args:
        found: what would give the readings a way; None where nothing does.
        readings: their names.
        tried: what each shows, in words.
    """
    what = (
        f"{tried}, yet as drawn no direct current flows there: the sketch is not so. "
        "The values are worked out without it meanwhile"
    )
    if found is not None and found.explained:
        told = _finding(found, what, ())
        return replace(told, readings=tuple(dict.fromkeys([*readings, *told.readings])))
    return Finding(
        "sketch doubt",
        f"{what}. No single change of the sketch explains all readings: look on the board at "
        "what joins the two clips, and whether they were where the reading says",
        readings=tuple(readings),
    )


def _readings_only(found: Doubts) -> Iterator[Finding]:
    """Parts that were read alone: nothing but the readings can be wrong."""
    parts = tuple(dict.fromkeys(one.part for one in found.odd))
    of_them = [
        reading.name
        for reading in found.answer.compiled.sheet.readings
        if reading.struck is None
        and any(one.key == ("part",) and one.name in parts for one in reading.references())
    ]
    if not found.odd:
        return
    named = "; ".join(one.words for one in found.odd)
    yield Finding(
        "strained",
        f"The readings agree only with values that such parts hardly have: {named}. One of "
        f"{', '.join(of_them)} may be wrong: look at each again, and read the part once more in "
        "another way (its resistance, or at another frequency)",
        readings=tuple(of_them),
        parts=parts,
    )


def _told(found: Doubts) -> Iterator[Finding]:
    if found.disagree:
        yield _disagree(found)
    elif found.odd:
        yield _odd(found)
    elif found.answer.posterior.set_aside and _overturned(found):
        yield _finding(found, "Single readings were left out, yet one change explains them all", ())
    elif found.overturned:
        what = (
            f"The readings hardly agree with the sketch as drawn (probability {found.p_value:.2g})"
        )
        yield _finding(found, f"{what}, and one change explains them far better", ())
    elif found.p_value < LOOK:
        yield Finding(
            "limit",
            f"The readings agree with the sketch less well than most right ones do (probability "
            f"{found.p_value:.2g}). None of {found.tried} single changes of it explains them far "
            "better: read once more what strains most, and the ohms between two nodes, before the "
            "values are relied on",
        )


def _disagree(found: Doubts) -> Finding:
    under = "under 1 in a million" if found.p_value < 1e-6 else f"{found.p_value:.1g}"
    what = f"The readings do not agree with the sketch as drawn (probability {under})"
    if found.explained:
        return _finding(found, what, ())
    return Finding(
        "sketch doubt",
        f"{what}, and nothing that was tried explains it: {found.tried} changes of the sketch, "
        "of the clips and of what was unplugged, one at a time, and single slips. Look for two "
        "mistakes at once: begin with the nodes where readings strain most, and read the ohms "
        "between them",
    )


def _odd(found: Doubts) -> Finding:
    named = "; ".join(one.words for one in found.odd)
    what = f"The readings fit the sketch only with values that such parts hardly have: {named}"
    parts = tuple(dict.fromkeys(one.part for one in found.odd))
    if _overturned(found):
        return _finding(found, what, parts)
    return Finding(
        "sketch doubt",
        f"{what}. No single change of the sketch explains the readings better: look at the part, "
        "and read it alone with one leg lifted",
        parts=parts,
        explanations=_explanations(found.ranked),
    )


def _overturned(found: Doubts) -> bool:
    """Whether a change is likelier than the sheet as drawn."""
    return found.explained and found.ranked[0].first.change is not None


def _finding(found: Doubts, what: str, parts: Sequence[str]) -> Finding:
    told = [one for one in found.ranked[:MOST] if one.probability > LEAST]
    best = told[0].first
    named = [*parts, *(best.change.parts if best.change else ())]
    slipped = [one.first.slip for one in told if one.first.slip]
    message = f"{what}. Likeliest: {_first(told[0])}{_apart(found, told)}"
    return Finding(
        "sketch doubt",
        message,
        readings=tuple(dict.fromkeys(slipped)),
        parts=tuple(dict.fromkeys(named)),
        explanations=_explanations(found.ranked),
    )


def _explanations(ranked: Sequence[Explained]) -> tuple[Explanation, ...]:
    return tuple(
        told for one in ranked[:MOST] if one.probability > LEAST for told in _explanation(one)
    )


def _explanation(one: Explained) -> Iterator[Explanation]:
    """The first of what would read the same, then each other one, without a chance of its own."""
    others = [m for m in one.members if m.change is not None and m is not one.first]
    if one.first.change is None:
        others = []
    same = " (every reading would be the same with what follows)" if others else ""
    yield Explanation(f"{one.first.what}{same}", _text(one.first), one.probability)
    yield from (Explanation(f"or {other.what}", _text(other)) for other in others)


def _text(one: Hypothesis) -> str:
    if one.change is not None:
        return one.change.text
    return "" if one.slip is None else "look at it again, correct it or strike it"


def _first(one: Explained) -> str:
    """The first of what would read the same; the others stand with the explanations."""
    more = sum(member.change is not None for member in one.members) - 1
    if one.first.change is None or more < 1:
        return one.first.what
    same = "one other" if more == 1 else f"one of {more} others"
    return f"{one.first.what}, or {same} that would read the same (named below)"


def _apart(found: Doubts, told: Sequence[Explained]) -> str:
    """The reading that tells the two likeliest apart, or those that read the same so far."""
    words = ""
    if len(told) > 1 and told[1].first.slip is None:
        words += _telling(found, told[0].first, told[1].first)
    members = told[0].members
    if len(members) > 1 and not words:
        words += _telling(found, members[0], members[1])
    return words


def _telling(found: Doubts, one: Hypothesis, other: Hypothesis) -> str:
    chosen = telling(found.answer, _possible(one), _possible(other))
    if chosen is None:
        return (
            f". No reading on offer tells it from: {other.what}; look at the board there, "
            "with a lamp and an ohmmeter"
        )
    return f". To tell: {chosen.words((one.what, other.what))}"


def _possible(one: Hypothesis) -> Possible:
    return Possible(one.weighed.compiled.sheet, one.weighed.values)
