"""Sifting: many changed sheets, few of which can explain the readings.

Every change is fitted to readings made vague (an own error of some 30 % of their size) under a
heavy-tailed loss, a few steps at a time; those that fit worst go each time. What is left is
taken at its word and weighed by its evidence (`weigh`). Successive halving (Jamieson, Talwalkar
2016, AISTATS) keeps the cost to a few seconds for some 260 changes of a two-way board.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.counsel.change import Change
from ohmbook.counsel.weigh import Weighed, beginning, weigh_compiled
from ohmbook.errors import OhmbookError
from ohmbook.evidence.fit import Tuning, minimise
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.starts import starts, vague
from ohmbook.evidence.unknown import Array, Id

Values = Mapping[Id, float]

TAIL = 3.0
VAGUE, LESS_VAGUE, NEARLY_SHARP = 0.3, 0.06, 0.015
ROUNDS = ((VAGUE, 3, 100), (VAGUE, 4, 40), (LESS_VAGUE, 8, 20), (NEARLY_SHARP, 8, 14))
"""Vagueness, steps, how many stay: the sieves, one after the other."""

SEARCHED = 6
"""How many of the foremost are searched for from afresh where their readings still disagree."""

SHARP = Tuning(iterations=40, tolerance=1e-2)

SEED, STARTS = 1, 5


@dataclass(frozen=True, slots=True)
class Suspect:
    """A change with its problem and where its fit stands."""

    change: Change
    compiled: Compiled
    problem: Problem
    t: Array
    objective: float = np.inf

    def closer(self, vagueness: float, steps: int) -> Suspect:
        """A few steps further down, the readings so vague."""
        tuning = Tuning(iterations=steps, tolerance=0.05, tail=TAIL)
        fit = minimise(vague(self.problem, vagueness), self.t, tuning)
        return replace(self, t=fit.t, objective=fit.objective)


@dataclass(frozen=True, slots=True)
class Weighty:
    """A change that was weighed."""

    change: Change
    weighed: Weighed


def sift(answer: Answer, changes: Sequence[Change]) -> tuple[Weighty, ...]:
    """The changes that come nearest to explaining the readings, weighed, best evidence first.

    Args:
        answer: of the sheet as it is.
        changes: what may really be so.
    """
    begin = loosely(answer)
    here = [one for change in changes if (one := _suspect(answer, change, begin)) is not None]
    for vagueness, steps, stay in ROUNDS:
        here = [one.closer(vagueness, steps) for one in here]
        here = sorted(here, key=lambda one: one.objective)[:stay]
    return _weighed(answer, here)


def loosely(answer: Answer) -> Values:
    """Values that fit the readings as drawn when these are taken as vague: where to begin from.

    The settled values themselves are no good beginning where the sketch is wrong: they have been
    bent to fit it.
    """
    compiled = answer.compiled
    problem = Problem.of(compiled.unknowns, [compiled])
    loose, tuning = vague(problem, VAGUE), Tuning(iterations=8, tolerance=0.1, tail=TAIL)
    chosen = [*starts(problem, problem.centre, STARTS, SEED), answer.posterior.mode]
    best = min((minimise(loose, one, tuning) for one in chosen), key=lambda fit: fit.objective)
    return _values(problem, best.t)


def _values(problem: Problem, t: Array) -> Values:
    ids = [one.id for one in problem.unknowns]
    return dict(zip(ids, (float(x) for x in problem.scales.natural(t)), strict=True))


def _suspect(answer: Answer, change: Change, begin: Values) -> Suspect | None:
    """None where the change leaves no circuit, or other readings than there are."""
    try:
        compiled = compile_sheet(change.sheet, beliefs=answer.compiled.beliefs)
    except OhmbookError:
        return None
    if len(compiled.rows) != len(answer.compiled.rows):
        return None
    # what a reading's own error is does not hang on the circuit: columns that a change makes
    # repeats of each other would else gain by agreeing
    compiled = replace(compiled, covariance=answer.compiled.covariance)
    problem = Problem.of(compiled.unknowns, [compiled])
    return Suspect(change, compiled, problem, beginning(problem, begin))


def _weighed(answer: Answer, suspects: Sequence[Suspect]) -> tuple[Weighty, ...]:
    found: list[Weighty] = []
    for place, one in enumerate(suspects):
        sharp = minimise(one.problem, one.t, SHARP)
        weighed = weigh_compiled(
            one.compiled,
            answer,
            begins=[_values(one.problem, sharp.t)],
            robust=STARTS if place < SEARCHED else 0,
        )
        if weighed is not None:
            found.append(Weighty(one.change, weighed))
    return tuple(sorted(found, key=lambda one: -one.weighed.log_evidence))
