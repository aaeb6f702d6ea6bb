"""Rank the readings that could be taken next by what they would teach.

Every kind offers its candidates (`counsel.offers`). The one that lowers the expected loss most for
its cost is taken (`counsel.plan`: Chaloner and Verdinelli 1995, Bayesian experimental design), the
answer is updated as if it had been read, and the next best is looked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log
from typing import Any

import numpy as np

from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import NORMAL_95, Answer
from ohmbook.bench.kind import Reading
from ohmbook.bench.kinds import KINDS
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.counsel.aims import Aim, Target
from ohmbook.counsel.choice import Choice
from ohmbook.counsel.enough import Enough, enough
from ohmbook.counsel.offers import Option, Outlook, Progress, Surveyor
from ohmbook.counsel.plan import chosen, refined
from ohmbook.counsel.wants import aim_at
from ohmbook.documents.reading import ReadingBase
from ohmbook.evidence.unknown import Array
from ohmbook.units.show import show_spread

MANY = 1000
WORTH_TELLING = 0.95
"""What falls to less than this share of its uncertainty is named as improved."""


@dataclass(frozen=True, slots=True)
class Improvement:
    """One quantity's relative standard uncertainty now and after."""

    name: str
    quantity: str
    now: float
    after: float


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A reading worth taking.

    Args:
        reading: the reading without its result, as a sheet would have it.
        expected: what it should show.
        improves: which quantities it would improve, most improved first.
        why: in words.
        words: what to do, in words.
        cost: in units of one more number at the same clips and frequency.
        cautions: what to mind before anything is connected for it.
    """

    reading: dict[str, Any]
    expected: dict[str, str]
    improves: tuple[Improvement, ...]
    why: str
    words: str
    cost: float = 1.0
    cautions: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """The suggestion as a JSON object (a contract: add to it, rename nothing)."""
        improves: dict[str, dict[str, Any]] = {}
        for one in self.improves:
            improves.setdefault(one.name, {})[one.quantity] = {"now": one.now, "after": one.after}
        return {
            "reading": self.reading,
            "expected": self.expected,
            "improves": improves,
            "why": self.why,
            "words": self.words,
            "cost": self.cost,
            "cautions": list(self.cautions),
        }


@dataclass(frozen=True, slots=True)
class NextReadings:
    """Suggestions, the best first; each assumes that those before it were taken."""

    suggestions: tuple[Suggestion, ...]
    enough: Enough | None = None

    def document(self) -> dict[str, Any]:
        """The `--json` document (a contract: add to it, rename nothing)."""
        told = None if self.enough is None else self.enough.document()
        return {
            "suggestions": [one.document() for one in self.suggestions],
            "good_enough": told,
        }


def rank(
    answer: Answer, count: int, aim: Aim | None = None, progress: Progress | None = None
) -> NextReadings:
    """The best next readings, greedily.

    Args:
        answer: the joint answer to the readings so far.
        count: how many at most.
        aim: what is wanted; every part where None.
        progress: called with (done, of) of the whole work.
    """
    aim = aim or aim_at(answer)
    told = enough(answer, aim)
    surveyor = Surveyor(answer, KINDS, progress)
    if not aim.targets or not surveyor.offers:
        return NextReadings((), told)
    choice = refined(surveyor, chosen(surveyor, aim, MANY, count), after_all=False)
    surveyor.report(1.0)
    return NextReadings(tuple(_suggestions(answer, choice)), told)


def shown_by(option: Option, outlook: Outlook) -> dict[str, str]:
    """What an option should show, in words."""
    value = float(outlook.shown[option.rows[-1]])
    return option.make().reading.expecting(value)[1]


def cautions(answer: Answer, readings: Iterable[ReadingBase]) -> tuple[str, ...]:
    """What to mind at everything that is to be connected for some readings, each once."""
    desk = Desk(answer.compiled.sheet, answer.compiled.beliefs)
    found = dict.fromkeys(
        caution
        for reading in readings
        if isinstance(reading, Reading)
        for set_up in reading.set_ups(desk)
        for caution in set_up.cautions
    )
    return tuple(found)


def _suggestions(answer: Answer, choice: Choice) -> Iterable[Suggestion]:
    """Each chosen reading with what it improves, at the settled values, after those before it."""
    settled = Choice(choice.survey, choice.aim)
    outlook, targets = choice.survey.outlooks[0], choice.aim.targets
    weights = _weights(answer, settled, targets)
    known = _Spreads(answer)
    for option in choice.taken:
        cost = settled.cost(option)
        before = _u(settled, weights)
        settled.take(option)
        improved = _improved(targets, before, _u(settled, weights))
        if not improved:
            continue
        candidate = option.make()
        told = [f"{one.name} from {known.of(one)} to {known.after(one)}" for one in improved]
        why = f"improves {', '.join(told[:3])}"
        words = shown_by(option, outlook)
        minded = cautions(answer, [candidate.reading])
        yield Suggestion(candidate.blank, words, improved, why, candidate.words, cost, minded)


def _weights(answer: Answer, choice: Choice, targets: Sequence[Target]) -> Array:
    """Each target where its value is told: ln L - loss ln(f / reference), by row."""
    ids = choice.survey.outlooks[0].ids
    weights = choice.foresight.weights[0, : len(targets)].copy()
    for k, target in enumerate(targets):
        loss = _loss(target)
        f_hz = None if target.one is None else answer.frequency(target.one)
        if f_hz is not None and loss in ids:
            weights[k, ids.index(loss)] = -np.log(f_hz / REFERENCE_HZ)
    return weights


def _loss(target: Target) -> Id:
    return (target.name, "loss")


def _u(choice: Choice, weights: Array) -> Array:
    squares = np.einsum("kn,nm,km->k", weights, choice.foresight.covariance[0], weights)
    return np.asarray(np.sqrt(np.maximum(squares, 1e-18)))


def _improved(targets: Sequence[Target], before: Array, after: Array) -> tuple[Improvement, ...]:
    order = np.argsort(after / before)
    return tuple(
        Improvement(targets[k].name, targets[k].quantity, float(before[k]), float(after[k]))
        for k in order
        if after[k] < WORTH_TELLING * before[k]
    )


class _Spreads:
    """How well each quantity is known, in the measure that settle tells, as readings are added:
    its interval shrinks about its value as its uncertainty does."""

    def __init__(self, answer: Answer) -> None:
        self._ends = {
            (one.name, one.quantity): (log(one.low / one.value), log(one.high / one.value))
            for one in answer.estimates()
            if one.low > 0.0
        }

    def of(self, one: Improvement) -> str:
        """Before the reading."""
        low, high = self._now(one)
        return show_spread(1.0, exp(low), exp(high))

    def after(self, one: Improvement) -> str:
        """With it; kept for what follows."""
        share = one.after / one.now
        low, high = self._now(one)
        self._ends[one.name, one.quantity] = low * share, high * share
        return self.of(one)

    def _now(self, one: Improvement) -> tuple[float, float]:
        half = NORMAL_95 * one.now
        return self._ends.get((one.name, one.quantity), (-half, half))
