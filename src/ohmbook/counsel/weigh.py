"""Weigh a hypothesis: a changed sheet, refitted from values at hand, with its log evidence.

A hypothesis about what went wrong (a slip of the pen, another sketch) is a changed sheet. Its
weight is the density of the readings under it, the unknowns integrated over what was believed
before (Laplace's approximation: D. J. C. MacKay, Neural Computation 4, 1992, 415; Kass, Raftery
1995, JASA 90, eq. 5). Two of them compare by the difference of log evidence, as long as the same
readings count in both. Where a hypothesis rewrites a reading, its density is that of the rewritten
number; `stretch` says how much wider the rewritten numbers lie than the written ones.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import log

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.documents.reading import Sheet
from ohmbook.evidence.consistency import Consistency, consistency
from ohmbook.evidence.fit import Fit, Tuning, minimise
from ohmbook.evidence.many import minimise_many
from ohmbook.evidence.modes import ranked
from ohmbook.evidence.posterior import Mode, Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.scale import coordinate
from ohmbook.evidence.search import modes_of, posterior_of, search
from ohmbook.evidence.starts import SCREENED, SCREENED_WELL, cooled, robust, starts
from ohmbook.evidence.unknown import Array, Id

QUICK = Tuning(iterations=15, tolerance=1e-2, damping=1e-6)
"""From values at hand; the evidence is then within 1e-4 of its resting place."""

DISAGREE = 1e-3
"""A quick refit whose readings disagree so much may have stuck: a robust search then follows."""

HOPELESS = 30.0
"""Objective by reading above which a hypothesis is not brought to rest."""

SEED = 1
ANCHORS = 5
MANY_ANCHORS = 25
"""Starts of the heavy-tailed fit."""


@dataclass(frozen=True)
class Weighed:
    """A hypothesis refitted.

    Args:
        compiled: the changed sheet's observations.
        mode: the best answer found: coordinates, objective, log evidence (natural logarithm).
        problem: the stacked system, without the readings set aside.
        aside: labels of the readings left out.
    """

    compiled: Compiled
    mode: Mode
    problem: Problem = field(repr=False)
    aside: tuple[str, ...] = ()

    @property
    def log_evidence(self) -> float:
        """ln of the density of the readings in use."""
        return self.mode.log_evidence

    @property
    def values(self) -> dict[Id, float]:
        """Every unknown's value, natural units: where a further hypothesis may begin."""
        x = self.problem.scales.natural(self.mode.t)
        return dict(zip(self.compiled.ids, (float(v) for v in x), strict=True))

    @cached_property
    def posterior(self) -> Posterior:
        """The joint answer at the refit (one Jacobian and a QR more)."""
        return posterior_of(self.problem, (self.mode,), self.aside)

    @cached_property
    def consistency(self) -> Consistency:
        """Chi-squared of the readings under the hypothesis, degrees of freedom, p-value."""
        return consistency(self.posterior)

    @property
    def chi_squared(self) -> float:
        """Of the readings and influences, as told by `consistency`."""
        return self.consistency.chi_squared

    @property
    def answer(self) -> Answer:
        """The refit as an answer, for estimates and further hypotheses."""
        return Answer(self.compiled, self.posterior, {}, None)


def weigh(
    sheet: Sheet,
    near: Answer,
    *,
    aside: Collection[str] = (),
    begins: Sequence[Mapping[Id, float]] = (),
    robust: int = 0,
) -> Weighed | None:
    """Refit a changed sheet, and say how probable it makes its readings.

    Args:
        sheet: the changed sheet.
        near: the joint answer of the sheet as it was; the refit begins at its values, and its
            markings' beliefs are kept.
        aside: labels (of the changed sheet's rows) that don't count.
        begins: further values to begin from, natural units; what they leave out is as in `near`.
        robust: starts of a search through cooled readings, where the quick refit's readings
            disagree (p < 0.001); 0 for none.

    Returns:
        The refit; None where nothing finite can be predicted from any start.

    Raises:
        OhmbookError: the changed sheet cannot be modelled.
    """
    compiled = compile_sheet(sheet, beliefs=near.compiled.beliefs)
    return weigh_compiled(compiled, near, aside=aside, begins=begins, robust=robust)


def weigh_compiled(
    compiled: Compiled,
    near: Answer,
    *,
    aside: Collection[str] = (),
    begins: Sequence[Mapping[Id, float]] = (),
    robust: int = 0,
) -> Weighed | None:
    """The same for a sheet that is compiled already."""
    problem = Problem.of(compiled.unknowns, [compiled], frozenset(aside))
    settled = dict(zip(near.posterior.ids, (float(v) for v in near.posterior.x), strict=True))
    best = _best(problem, [beginning(problem, {**settled, **extra}) for extra in ({}, *begins)])
    left = tuple(label for label in compiled.labels if label in frozenset(aside))
    found = _weighed(compiled, problem, best, left) if np.isfinite(best.objective) else None
    if robust and (found is None or _disagrees(found)):
        begin = best.t if found else problem.centre
        modes = modes_of(problem, search(problem, begin, robust, SEED))
        if modes and (found is None or modes[0].log_evidence > found.log_evidence):
            return Weighed(compiled, modes[0], problem, left)
    return found


def anchors(answer: Answer, *, wide: bool = False) -> tuple[dict[Id, float], ...]:
    """Values that a heavy-tailed fit of all readings leads to, the best few: what most readings
    agree about, whichever the odd ones are. Where hypotheses about odd readings may begin.

    Args:
        answer: of all readings, whatever it is worth.
        wide: whether to search from many beginnings instead of few.
    """
    compiled = answer.compiled
    problem = Problem.of(compiled.unknowns, [compiled])
    here = answer.posterior.mode
    count, screened = (MANY_ANCHORS, SCREENED_WELL) if wide else (ANCHORS, SCREENED)
    chosen = starts(problem, here, count, SEED + wide, screened)
    fits = robust(problem, [*cooled(problem, chosen), here])[: 3 if wide else 2]
    ids = [one.id for one in problem.unknowns]
    return tuple(
        dict(zip(ids, (float(v) for v in problem.scales.natural(fit.t)), strict=True))
        for fit in fits
    )


def _best(problem: Problem, starts: Sequence[Array]) -> Fit:
    """The best of quick descents, all in lockstep; brought to rest by the careful way where it may
    be near."""
    best = min(minimise_many(problem, starts, QUICK), key=lambda fit: fit.objective)
    if best.converged or best.objective > HOPELESS * len(problem.observed):
        return best
    return minimise(problem, best.t, QUICK)


def beginning(problem: Problem, values: Mapping[Id, float]) -> Array:
    """Coordinates of the values that a problem knows; prior centres for the rest, shape (n,)."""
    t = problem.centre.copy()
    for place, unknown in enumerate(problem.unknowns):
        x = values.get(unknown.id)
        if x is not None and (unknown.scale != "log" or x > 0.0):
            t[place] = coordinate(unknown.scale, x)
    return t


def stretch(written: Compiled, rewritten: Compiled) -> float:
    """ln of how much wider the rewritten readings' last digits are than those as written.

    Add it to the log evidence of a hypothesis that multiplies readings (a prefix, a convention):
    the chance of the digits on the page is the density times the width of the last of them. Rows
    correspond in order; a row that only moves by digits of the same place adds nothing, so this
    is for hypotheses that multiply.
    """
    pairs = zip(written.rows, rewritten.rows, strict=True)
    return sum(
        log(abs(after.observed / before.observed))
        for before, after in pairs
        if before.observed and after.observed
    )


def _weighed(
    compiled: Compiled, problem: Problem, fit: Fit, aside: tuple[str, ...]
) -> Weighed | None:
    modes = ranked(problem, [fit])
    return Weighed(compiled, modes[0], problem, aside) if modes else None


def _disagrees(found: Weighed) -> bool:
    p_value = found.consistency.p_value
    return p_value is not None and p_value < DISAGREE
