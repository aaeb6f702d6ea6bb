"""What the joint answer has to tell besides its values: findings, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import exp

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence import Known, consistency, strains, what_is_known
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval, show_plain

STRAINED = 3.5
DISAGREE = 0.01
SHARE_OF_ANOTHER_ANSWER = 0.02
_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}
_JOINED = {
    "sum": "{} and {} in sum",
    "parallel": "{} and {} in parallel",
    "ratio": "{} over {}",
    "product": "{} times {}",
    "difference": "{} less {}",
}


def findings(answer: Answer, estimates: Sequence[Estimate]) -> tuple[Finding, ...]:
    """Everything worth telling, the gravest first."""
    return (
        *_set_aside(answer),
        *_strained(answer),
        *_two_answers(answer),
        *_undetermined(answer, estimates),
        *_unchecked(answer),
    )


def _set_aside(answer: Answer) -> Iterator[Finding]:
    for label in answer.posterior.set_aside:
        row = next(row for row in answer.compiled.rows if row.label == label)
        should = float(
            answer.compiled.predict(answer.posterior.x[None, :])[0, answer.compiled.rows.index(row)]
        )
        unit = _row_unit(row.observed, should)
        yield Finding(
            "strained",
            f"{label} does not fit all the others: {unit[0]} was read, "
            f"{unit[1]} is expected. The values leave it out; look at it again, correct "
            'it or strike it (struck = "why")',
            readings=(row.reading,),
        )


def _row_unit(observed: float, should: float) -> tuple[str, str]:
    return f"{observed:.4g}", f"{should:.4g}"


def _strained(answer: Answer) -> Iterator[Finding]:
    p_value = consistency(answer.posterior).p_value
    if p_value is None or p_value > DISAGREE:
        return
    reading_of = {row.label: row.reading for row in answer.compiled.rows}
    worst = sorted(strains(answer.posterior), key=lambda one: -abs(one.residual))
    strained = [one for one in worst if abs(one.residual) > STRAINED][:4]
    if not strained:
        yield Finding(
            "sketch doubt",
            "The readings do not agree with the sketch as a whole "
            f"(probability {p_value:.1g}), and no single one stands out: check the "
            "sketch, where the clips were, and what was detached",
        )
        return
    for one in strained:
        yield Finding(
            "strained",
            f"{one.label} strains against the others: it is "
            f"{abs(one.residual):.1f} standard uncertainties "
            f"{'above' if one.residual > 0 else 'below'} what they make of it",
            readings=(reading_of[one.label],),
        )


def _two_answers(answer: Answer) -> Iterator[Finding]:
    modes = answer.posterior.modes
    for other in modes[1:]:
        if other.share < SHARE_OF_ANOTHER_ANSWER:
            continue
        told, parts = [], []
        for name, part in answer.compiled.sheet.parts.items():
            one = (name, MAIN_QUANTITY[part.kind])
            if one not in answer.posterior.ids:
                continue
            k = answer.posterior.index(one)
            if abs(float(other.t[k] - modes[0].t[k])) > max(0.1, 3 * answer.posterior.u(one)):
                unit = _UNIT[one[1]]
                told.append(
                    f"{name} {show_plain(exp(float(modes[0].t[k])), unit)} or "
                    f"{show_plain(exp(float(other.t[k])), unit)}"
                )
                parts.append(name)
        if told:
            yield Finding(
                "two answers",
                f"Two answers fit: {', '.join(told)}. The first is shown "
                "(`ohmbook next` names a reading that separates them)",
                parts=tuple(parts),
                explanations=(
                    Explanation("as shown", "", modes[0].share),
                    Explanation("; ".join(told), "", other.share),
                ),
            )


def _undetermined(answer: Answer, estimates: Sequence[Estimate]) -> Iterator[Finding]:
    open_ = [one for one in estimates if not one.determined and one.standard_uncertainty > 0.0]
    main = [one for one in open_ if _is_main(answer, one)]
    rested = [one for one in main if _is_stated(answer, one)]
    read = [one for one in main if one not in rested and answer.read_by(_id(one))]
    unread = [one for one in main if one not in rested and one not in read]
    if rested:
        yield Finding(
            "not determined",
            f"{_names(rested)}: as the sheet states; the readings add little or nothing",
            parts=tuple(one.name for one in rested),
        )
    if unread:
        yield Finding(
            "not determined",
            f"{_names(unread)}: not read, so what is shown is only what was believed before",
            parts=tuple(one.name for one in unread),
        )
    facts = _facts(answer, read)
    for one in read:
        yield _main_finding(one, facts.get(_id(one), []))
    yield from _resistances(answer, [one for one in open_ if one not in main])


def _facts(answer: Answer, loose: Sequence[Estimate]) -> dict[Id, list[Known]]:
    if not loose:
        return {}
    compiled, ids = answer.compiled, [_id(one) for one in loose]
    grouped: dict[Id, list[Known]] = {}
    for fact in what_is_known(compiled.unknowns, [compiled], answer.posterior, ids):
        for one in fact.ids:
            grouped.setdefault(one, []).append(fact)
    return grouped


def _main_finding(one: Estimate, facts: Sequence[Known]) -> Finding:
    told = "; ".join(_words(fact) for fact in facts) or (
        f"they only leave {show_plain(one.low, one.unit)} to {show_plain(one.high, one.unit)}"
    )
    return Finding(
        "not determined",
        f"The readings do not determine {one.name}'s {one.quantity}: {told}",
        parts=(one.name,),
    )


def _resistances(answer: Answer, open_: Sequence[Estimate]) -> Iterator[Finding]:
    """Series resistances that cannot be told apart from nothing, in one finding."""
    small = [one for one in open_ if one.name not in answer.compiled.sheet.sources]
    if small:
        told = ", ".join(f"{one.name} {show_plain(one.high, 'ohm', 2)}" for one in small)
        yield Finding(
            "not determined",
            "The readings do not determine these series resistances; with what such parts usually "
            f"have they are at most: {told}",
            parts=tuple(one.name for one in small),
        )


def _id(one: Estimate) -> Id:
    return (one.name, one.quantity)


def _names(some: Sequence[Estimate]) -> str:
    return ", ".join(one.name for one in some)


def _is_stated(answer: Answer, one: Estimate) -> bool:
    part = answer.compiled.sheet.parts[one.name]
    return part.stated is not None or getattr(part, "made_of", None) is not None


def _unchecked(answer: Answer) -> Iterator[Finding]:
    alone = [one.label for one in strains(answer.posterior) if one.unchecked]
    if alone and len(alone) <= 6:
        yield Finding(
            "limit",
            f"Nothing else checks {'; '.join(alone)}: a slip there would not be noticed",
            readings=tuple(dict.fromkeys(label.split(":")[0] for label in alone)),
        )
    elif alone:
        yield Finding(
            "limit",
            f"Nothing else checks {len(alone)} of the readings: a slip in one "
            "of them would not be noticed",
        )


def _words(fact: Known) -> str:
    names = [name for name, _ in fact.ids]
    unit = _UNIT.get(fact.ids[0][1], "ohm")
    if fact.kind == "at most":
        return f"{names[0]} is at most {show_plain(fact.value, unit, 2)}"
    if fact.kind == "at least":
        return f"{names[0]} is at least {show_plain(fact.value, unit, 2)}"
    joined = _JOINED.get(fact.kind, "{} and {}").format(*names)
    low, high = fact.low or 0.0, fact.high or 0.0
    if fact.kind in ("sum", "difference") and fact.ids[0][1] == fact.ids[1][1]:
        return f"{joined} are {show_interval(fact.value, low, high, unit)}"
    if fact.kind == "parallel" and fact.ids[0][1] == fact.ids[1][1]:
        return f"{joined} are {show_interval(1 / fact.value, 1 / high, 1 / low, unit)}"
    return f"{joined} is {fact.value:.3g} ({low:.3g} to {high:.3g}, SI units)"


def _is_main(answer: Answer, one: Estimate) -> bool:
    part = answer.compiled.sheet.parts.get(one.name)
    return part is not None and MAIN_QUANTITY[part.kind] == one.quantity
