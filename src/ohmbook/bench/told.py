"""What the joint answer has to tell besides its values: findings, in plain words."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from math import exp

from ohmbook.bench.estimates import Answer
from ohmbook.bench.row import Row
from ohmbook.bench.unsettled import undetermined
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence import consistency, strains
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_plain

STRAINED = 3.5
MANY = 1000.0
DISAGREE = 0.01
"""Probability of the readings below which those that strain are told."""

DOUBT = 1e-3
"""Below which they are told to disagree with a sketch as a whole: `counsel.doubts` looks sooner."""

SHARE_OF_ANOTHER_ANSWER = 0.02
_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}


_LATER = Finding(
    "limit",
    "While the readings contradict the sketch, no value is to be trusted, and what they leave open "
    "is not told: put that right first, then settle again",
)


def findings(
    answer: Answer,
    estimates: Sequence[Estimate],
    explained: Collection[str] = (),
    accused: Collection[str] = (),
    *,
    contradicted: bool = False,
) -> tuple[Finding, ...]:
    """Everything worth telling, the gravest first.

    Args:
        answer: the joint answer.
        estimates: every quantity.
        explained: labels of observations that are told elsewhere.
        accused: labels of those among them that are likely wrong: something does check them.
        contradicted: whether the readings contradict the sketch: what they leave open is then not
            looked into.
    """
    return (
        *_set_aside(answer, explained),
        *_strained(answer, explained),
        *_two_answers(answer),
        *((_LATER,) if contradicted else undetermined(answer, estimates)),
        *_unchecked(answer, accused),
    )


def _set_aside(answer: Answer, explained: Collection[str]) -> Iterator[Finding]:
    for label in answer.posterior.set_aside:
        if label in explained:
            continue
        row = next(row for row in answer.compiled.rows if row.label == label)
        should = float(
            answer.compiled.predict(answer.posterior.x[None, :])[0, answer.compiled.rows.index(row)]
        )
        yield Finding(
            "strained",
            f"{label} does not fit all the others: {_shown(row, row.observed)} was read, "
            f"{_shown(row, should)} is expected. The values leave it out; look at it again, "
            'correct it or strike it (struck = "why")',
            readings=(row.reading,),
        )


def _shown(row: Row, value: float) -> str:
    return show_plain(value, row.unit, 3, "pp" if row.unit == "V" else None)


def _many(count: float) -> str:
    return show_plain(count, "1", 2) if count < MANY else f"over {MANY:.0f}"


def _strained(answer: Answer, explained: Collection[str]) -> Iterator[Finding]:
    p_value = consistency(answer.posterior).p_value
    if p_value is None or p_value > DISAGREE:
        return
    reading_of = {row.label: row.reading for row in answer.compiled.rows}
    worst = sorted(strains(answer.posterior), key=lambda one: -abs(one.residual))
    strained = [one for one in worst if abs(one.residual) > STRAINED][:4]
    drawn = any(part.between for part in answer.compiled.sheet.parts.values())
    if not strained and (p_value < DOUBT or not drawn):
        yield _as_a_whole(p_value, drawn)
    told = [one for one in strained if one.label not in explained]
    if told:
        said = "; ".join(
            f"{one.label} is {_many(abs(one.residual))} times its uncertainty "
            f"{'above' if one.residual > 0 else 'below'} what the others make of it"
            for one in told
        )
        it = "it" if len(told) == 1 else "them"
        yield Finding(
            "strained",
            f"{said}. Look at {it} again, read {it} once more, then correct {it} or strike {it} "
            '(struck = "why"); where many fit badly, doubt the sketch and the clips first',
            readings=tuple(dict.fromkeys(reading_of[one.label] for one in told)),
        )


def _as_a_whole(p_value: float, drawn: bool) -> Finding:
    stands = f"(probability {p_value:.1g}), and no single one stands out"
    if drawn:
        return Finding(
            "sketch doubt",
            f"The readings do not agree with the sketch as a whole {stands}: check the "
            "sketch, where the clips were, and what was detached",
        )
    return Finding(
        "strained",
        f"The readings do not agree with each other {stands}: look at each again, first at what "
        "several of them share (the source's open amplitude, the resistor, the leads)",
    )


def _two_answers(answer: Answer) -> Iterator[Finding]:
    modes = answer.posterior.modes
    for other in modes[1:]:
        if other.share < SHARE_OF_ANOTHER_ANSWER:
            continue
        here, there, parts = [], [], []
        for name, part in answer.compiled.sheet.parts.items():
            one = (name, MAIN_QUANTITY[part.kind])
            if one not in answer.posterior.ids:
                continue
            k = answer.posterior.index(one)
            if abs(float(other.t[k] - modes[0].t[k])) > max(0.1, 3 * answer.posterior.u(one)):
                unit = _UNIT[one[1]]
                here.append(f"{name} {show_plain(exp(float(modes[0].t[k])), unit)}")
                there.append(f"{name} {show_plain(exp(float(other.t[k])), unit)}")
                parts.append(name)
        if parts:
            yield Finding(
                "two answers",
                f"Two answers fit: {', '.join(here)}, or {', '.join(there)}. The first is shown",
                parts=tuple(parts),
                explanations=(
                    Explanation(f"{', '.join(here)} (as shown)", "", modes[0].share),
                    Explanation(", ".join(there), "", other.share),
                ),
            )


def _unchecked(answer: Answer, accused: Collection[str]) -> Iterator[Finding]:
    """Readings that nothing else checks, every one by name: a slip there goes unnoticed."""
    alone = [
        one.label
        for one in strains(answer.posterior)
        if one.unchecked and abs(one.residual) < STRAINED and one.label not in accused
    ]
    reading_of = {row.label: row.reading for row in answer.compiled.rows}
    if alone:
        yield Finding(
            "limit",
            f"Nothing else checks {_together(alone)}: a slip there would not be noticed",
            readings=tuple(dict.fromkeys(reading_of[label] for label in alone)),
        )


def _together(labels: Sequence[str]) -> str:
    """Labels in a row, those of one reading together, those that differ in the frequency alone as
    one: "reading 2: w at 1 kHz, 2 kHz and m at 1 kHz; reading 1: open"."""
    readings: dict[str, dict[str, list[str]]] = {}
    for label in labels:
        reading, _, what = label.rpartition(": ")
        place, _, at = what.partition(" at ")
        readings.setdefault(reading, {}).setdefault(place, []).append(at)
    return "; ".join(
        f"{reading}: {' and '.join(_place(*one) for one in places.items())}"
        for reading, places in readings.items()
    )


def _place(place: str, at: Sequence[str]) -> str:
    return f"{place} at {', '.join(at)}" if at[0] else place
