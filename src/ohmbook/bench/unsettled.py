"""What the readings do not determine, named as what they do tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ohmbook.bench.estimates import Answer
from ohmbook.bench.insum import only_in_sum
from ohmbook.bench.starved import waiting_for
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence import Known, what_is_known
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval, show_plain

_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}
SMALL = "The readings do not determine these series resistances"
_JOINED = {
    "sum": "{} and {} in sum are",
    "parallel": "{} and {} in parallel are",
    "ratio": "{} over {} is",
    "product": "{} times {} is",
    "difference": "{} less {} is",
    "at most": "{} is at most",
    "at least": "{} is at least",
}
_ALONE = "(95 %, by the readings alone; the table counts in what was believed before)"
_SECONDS: dict[tuple[str, ...], str] = {
    ("inductance", "resistance"): "ratio",
    ("capacitance", "resistance"): "product",
    ("resistance", "capacitance"): "product",
}
"""Pairs whose ratio or product is a time constant."""


def undetermined(answer: Answer, estimates: Sequence[Estimate]) -> Iterator[Finding]:
    """A finding for each thing that is not determined, with what is known of it instead."""
    open_ = [one for one in estimates if not one.determined and one.standard_uncertainty > 0.0]
    main = [one for one in open_ if _is_main(answer, one)]
    rested = [one for one in main if _is_stated(answer, one)]
    read = [one for one in main if one not in rested and answer.read_by(_id(one))]
    unread = [one for one in main if one not in rested and one not in read]
    # a source's stated resistance is no news
    rested = [one for one in rested if one.name in answer.compiled.sheet.parts]
    if rested:
        yield _finding(
            rested, f"{_names(rested)}: as the sheet states; the readings add little or nothing"
        )
    yield from _unread(answer, unread)
    yield from (_with_reason(answer, one) for one in _partly(answer, read))
    yield from only_in_sum(answer, estimates)
    told = {one.name for one in unread}
    yield from _small(answer, [one for one in open_ if one not in main and one.name not in told])


def _partly(answer: Answer, read: Sequence[Estimate]) -> Iterator[Finding]:
    """Values that were read but are not determined: by what the readings say of them."""
    if not read:
        return
    compiled = answer.compiled
    facts = what_is_known(
        compiled.unknowns, [compiled], answer.posterior, [_id(one) for one in read]
    )
    facts = tuple(one for one in facts if _holds(one, read))
    for fact in facts:
        concerned = [one for one in read if _id(one) in fact.ids]
        yield _finding(
            concerned, f"The readings do not determine {_names(concerned)}, but {_words(fact)}"
        )
    named = {one for fact in facts for one in fact.ids}
    for one in read:
        if _id(one) not in named:
            yield _finding(
                [one],
                f"The readings do not determine {one.name}'s {one.quantity}: "
                f"they leave {show_plain(one.low, one.unit)} to "
                f"{show_plain(one.high, one.unit)}",
            )


def _holds(fact: Known, read: Sequence[Estimate]) -> bool:
    """Whether a limit does not deny the value shown: it does where readings that contradict each
    other hold two answers, and the walk to the limit met the other one."""
    value = next(one.value for one in read if _id(one) == fact.ids[0])
    if fact.kind == "at most":
        return value <= fact.value
    return fact.kind != "at least" or value >= fact.value


def _unread(answer: Answer, unread: Sequence[Estimate]) -> Iterator[Finding]:
    """Values that nothing was read of; why, where it is what was unplugged."""
    starved = {one.name: waits for one in unread if (waits := waiting_for(answer, one.name))}
    rest = [one for one in unread if one.name not in starved]
    if rest:
        yield _finding(
            rest, f"{_names(rest)}: not read, so what is shown is only what was believed before"
        )
    for waits in dict.fromkeys(starved.values()):
        own = [one for one in unread if starved.get(one.name) == waits]
        it = "them" if len(own) > 1 else "it"
        yield _finding(
            own,
            f"{_names(own)}: nothing flows in {it} with {_unplugged(waits)}, so what is shown is "
            f"only what was believed before. {_load(waits)}",
        )


def _with_reason(answer: Answer, finding: Finding) -> Finding:
    """A finding about one part, with the reason where it is that something was unplugged."""
    waits = waiting_for(answer, finding.parts[0]) if len(finding.parts) == 1 else ()
    if not waits:
        return finding
    reason = f"next to nothing flows in it with {_unplugged(waits)}. {_load(waits)}"
    return replace(finding, message=f"{finding.message}: {reason}")


def _unplugged(waits: tuple[str, ...]) -> str:
    return f"{' and '.join(waits)} unplugged"


def _load(waits: tuple[str, ...]) -> str:
    loads = ", ".join(f'{name} = "10 ohm ± 1 %"' for name in waits)
    return (
        "Read the board once more with a known resistor in the driver's place: "
        f"instead = {{ {loads} }}"
    )


def _small(answer: Answer, open_: Sequence[Estimate]) -> Iterator[Finding]:
    """Series resistances that cannot be told apart from nothing, in one finding."""
    small = [one for one in open_ if one.name not in answer.compiled.sheet.sources]
    if small:
        told = ", ".join(f"{one.name} {show_plain(one.high, 'ohm', 2)}" for one in small)
        yield _finding(
            small,
            f"{SMALL}; with what such parts usually have they are at most: {told}",
        )


def _words(fact: Known) -> str:
    names = [name for name, _ in fact.ids]
    quantities = tuple(quantity for _, quantity in fact.ids)
    unit = _UNIT.get(quantities[0], "1")
    joined = _JOINED[fact.kind].format(*names)
    if len(names) == 1:
        return f"{joined} {show_plain(fact.value, unit, 2)} {_ALONE}"
    value, low, high = fact.value, fact.low or 0.0, fact.high or 0.0
    if fact.kind == "parallel" and unit != "1":
        value, low, high = 1.0 / value, 1.0 / high, 1.0 / low
    elif _SECONDS.get(quantities) == fact.kind:
        unit = "s"
    elif fact.kind in ("ratio", "product"):
        unit = "1"
    return f"{joined} {show_interval(value, low, high, unit)}"


def _finding(concerned: Sequence[Estimate], message: str) -> Finding:
    return Finding("not determined", message, parts=tuple(one.name for one in concerned))


def _id(one: Estimate) -> Id:
    return (one.name, one.quantity)


def _names(some: Sequence[Estimate]) -> str:
    return (
        " and ".join(one.name for one in some)
        if len(some) < 3
        else ", ".join(one.name for one in some)
    )


def _is_stated(answer: Answer, one: Estimate) -> bool:
    thing = answer.compiled.sheet.parts.get(one.name)
    if thing is None:
        source = answer.compiled.sheet.sources[one.name]
        return source.resistance is not None or source.like is not None
    return thing.stated is not None or getattr(thing, "made_of", None) is not None


def _is_main(answer: Answer, one: Estimate) -> bool:
    part = answer.compiled.sheet.parts.get(one.name)
    return part is None or MAIN_QUANTITY[part.kind] == one.quantity
