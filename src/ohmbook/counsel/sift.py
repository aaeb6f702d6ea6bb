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
from ohmbook.counsel.steps import Progress, Steps
from ohmbook.counsel.weigh import Weighed, beginning
from ohmbook.errors import OhmbookError
from ohmbook.evidence.fit import Fit, Tuning, minimise
from ohmbook.evidence.many import minimise_many
from ohmbook.evidence.modes import ranked
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.starts import cooled, distinct, starts, vague
from ohmbook.evidence.unknown import Array, Id

Values = Mapping[Id, float]

TAIL = 3.0
VAGUE, LESS_VAGUE = 0.3, 0.06
ROUNDS = ((VAGUE, 4, 0.25), (VAGUE, 6, 0.1), (LESS_VAGUE, 10, 0.05))
"""Vagueness, steps, what share of all stays: the sieves, one after the other."""

KEPT = 2
"""Of so many beginnings of a change the best are followed."""

LEAST = 6
"""How many stay at the very least."""

SHARP, SHARPER = Tuning(iterations=12, tolerance=1e-2), Tuning(iterations=40, tolerance=1e-2)

SEARCHED = 4
"""How many of the foremost are searched for from afresh where they still do not fit."""

FITS = 1.3
"""Objective by reading up to which a fit may be at its best already."""

HOPELESS = 3.0
"""How many times as much is beyond hope: not brought to rest."""

BEGINNINGS = 2
"""Of the values that fit vaguely so many are begun from, besides what was believed before."""

SEED, STARTS, AFRESH = 1, 5, 5


@dataclass(frozen=True, slots=True)
class Suspect:
    """A change with its problem and where its fits stand, the best first."""

    change: Change
    compiled: Compiled
    problem: Problem
    points: tuple[Array, ...]
    objective: float = np.inf

    @property
    def t(self) -> Array:
        """Where the best fit stands."""
        return self.points[0]

    def closer(self, vagueness: float, steps: int) -> Suspect:
        """A few steps further down, the readings so vague."""
        tuning = Tuning(iterations=steps, tolerance=0.05, tail=TAIL)
        fits = minimise_many(vague(self.problem, vagueness), self.points, tuning)
        fits.sort(key=lambda fit: fit.objective)
        points = tuple(fit.t for fit in fits[:KEPT])
        return replace(self, points=points, objective=fits[0].objective)


@dataclass(frozen=True, slots=True)
class Weighty:
    """A change that was weighed."""

    change: Change
    weighed: Weighed


def sift(
    answer: Answer,
    changes: Sequence[Change],
    progress: Progress | None = None,
    like: Compiled | None = None,
) -> tuple[Weighty, ...]:
    """The changes that come nearest to explaining the readings, weighed, best evidence first.

    Args:
        answer: of the sheet as it is.
        changes: what may really be so.
        progress: called with (done, of) on the way.
        like: whose readings count, with their own errors; the answer's where None.
    """
    told = Steps(progress, 3 * len(changes))
    begins = loosely(answer)
    here = []
    for change in changes:
        here += (
            [one] if (one := _suspect(like or answer.compiled, change, begins)) is not None else []
        )
        told.step()
    count = len(here)
    for vagueness, steps, share in ROUNDS:
        closer = []
        for one in here:
            closer.append(one.closer(vagueness, steps))
            told.step()
        stay = max(LEAST, round(share * count))
        here = sorted(closer, key=lambda one: one.objective)[:stay]
    return _weighed(here)


def loosely(answer: Answer) -> tuple[Values, ...]:
    """Values that fit the readings as drawn when these are taken as vague: where to begin from.

    The settled values themselves are no good beginning where the sketch is wrong: they have been
    bent to fit it. The best few, and what was believed before.
    """
    compiled = answer.compiled
    problem = Problem.of(compiled.unknowns, [compiled])
    loose, tuning = vague(problem, VAGUE), Tuning(iterations=8, tolerance=0.1, tail=TAIL)
    chosen = [*starts(problem, problem.centre, STARTS, SEED), answer.posterior.mode]
    best = distinct(loose, minimise_many(loose, chosen, tuning))[:BEGINNINGS]
    return tuple(_values(problem, t) for t in (*(fit.t for fit in best), problem.centre))


def _values(problem: Problem, t: Array) -> Values:
    ids = [one.id for one in problem.unknowns]
    return dict(zip(ids, (float(x) for x in problem.scales.natural(t)), strict=True))


def _suspect(like: Compiled, change: Change, begins: Sequence[Values]) -> Suspect | None:
    """None where the change leaves no circuit, or other readings than there are."""
    try:
        compiled = compile_sheet(change.sheet, beliefs=like.beliefs)
    except OhmbookError:
        return None
    if len(compiled.rows) != len(like.rows):
        return None
    # what a reading's own error is does not hang on the circuit: columns that a change makes
    # repeats of each other would else gain by agreeing
    compiled = replace(compiled, covariance=like.covariance)
    problem = Problem.of(compiled.unknowns, [compiled])
    points = tuple(beginning(problem, begin) for begin in begins)
    return Suspect(change, compiled, problem, points)


def _weighed(suspects: Sequence[Suspect]) -> tuple[Weighty, ...]:
    """Suspects at their word; those in front that do not fit yet are searched for from afresh,
    since the sieve follows one beginning only."""
    fits = [minimise_many(one.problem, [one.t], SHARP)[0] for one in suspects]
    found = []
    for place, (one, fit) in enumerate(zip(suspects, fits, strict=True)):
        best = _closest(one, fit, place < SEARCHED)
        if np.isfinite(best.objective):
            mode = ranked(one.problem, [best])[0]
            found.append(Weighty(one.change, Weighed(one.compiled, mode, one.problem)))
    return tuple(sorted(found, key=lambda one: -one.weighed.log_evidence))


def _closest(one: Suspect, fit: Fit, afresh: bool) -> Fit:
    """A fit at rest where it fits; the best of a few other beginnings too where it does not."""
    enough = FITS * len(one.problem.observed)
    if afresh and fit.objective >= enough:
        chosen = starts(one.problem, one.problem.centre, AFRESH, SEED)
        others = minimise_many(one.problem, cooled(one.problem, chosen), SHARP)
        fit = min([fit, *others], key=lambda other: other.objective)
    if fit.converged or fit.objective > HOPELESS * enough:
        return fit
    return minimise(one.problem, fit.t, SHARPER)
