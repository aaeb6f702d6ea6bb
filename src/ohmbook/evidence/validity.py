"""Validity: whether the linearised uncertainty may be believed.

At two standard uncertainties either side of the mode the objective, with all other unknowns fitted
again, must have risen by 4 as in a linear problem. Its square root is the distance in standard
uncertainties as the readings themselves count it (Bates, Watts 1988, ch. 6: profile t); where that
is not 2 within a tenth, the interval of the linearised fit is not to be trusted, and `profile` or
`refits` give one that is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.fit import Fit, Tuning
from ohmbook.evidence.many import Walk, relay
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array, Id, Unknown

DISTANCE = 2.0
_MARGIN = 0.2
_BESIDE = 0.05
_CHORDS = 5
_AT_REST = 0.15
_BENDS = 0.1
_GOT_SOMEWHERE = 100.0
_REFIT = Tuning(iterations=6, tolerance=0.02, damping=1e-6)


@dataclass(frozen=True, slots=True)
class Curvature:
    """One unknown's check.

    Args:
        id: whose.
        low: signed root of the objective's rise at mode - 2u; 2 in a linear problem.
        high: the same at mode + 2u. Negative where a better answer than the mode was met.
        at: where the others were at either, on their scales.
        rest: whether they were at rest there.
    """

    id: Id
    low: float
    high: float
    at: tuple[Array, Array] = field(repr=False, compare=False)
    rest: tuple[bool, bool] = (True, True)

    @property
    def holds(self) -> bool:
        """Whether the linearised interval may be believed."""
        return max(abs(self.low - DISTANCE), abs(self.high - DISTANCE)) <= _MARGIN


def curvature(
    unknowns: Sequence[Unknown], blocks: Sequence[Block], posterior: Posterior, ids: Sequence[Id]
) -> tuple[Curvature, ...]:
    """The check for the unknowns asked for.

    First all of them at once with the mode's Jacobian, in a few predictions; those that do not
    come to rest or are off by half the margin again one by one, a few Gauss-Newton steps (and all
    of them where the readings bend right beside the mode, as on a saddle). So checking every
    unknown costs little more than checking the curved ones.

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: what settle gave.
        ids: which to check.
    """
    walls = Walls.of(unknowns, blocks, posterior)
    places = np.repeat([posterior.index(id_) for id_ in ids], 2).astype(np.intp)
    offsets = DISTANCE * np.sqrt(np.diag(posterior.covariance))[places]
    offsets[::2] *= -1.0
    rises, lengths, points = walls.chords(places, offsets)
    if walls.bends_nearby():
        lengths[:] = np.inf
    roots = [walls.root(float(rise)) for rise in rises]
    near = np.abs(np.array(roots) - DISTANCE) < 0.5 * _MARGIN
    again = np.flatnonzero(~((lengths < _AT_REST) & near))
    rest = [True] * len(roots)
    walks = [
        walls.once(place, offset, start)
        for place, offset, start in zip(
            places[again].tolist(),
            offsets[again].tolist(),
            walls.begun(rises, points, again),
            strict=True,
        )
    ]
    for k, fit in zip(again, relay(walls.problem, walks, _REFIT, places[again]), strict=True):
        roots[k], points[k], rest[k] = walls.root(walls.rise(fit)), fit.t, fit.converged
    return tuple(
        Curvature(
            id_,
            roots[2 * k],
            roots[2 * k + 1],
            (points[2 * k], points[2 * k + 1]),
            (rest[2 * k], rest[2 * k + 1]),
        )
        for k, id_ in enumerate(ids)
    )


@dataclass(frozen=True)
class Walls:
    """The objective around the mode, one unknown held and the others fitted again."""

    problem: Problem
    posterior: Posterior

    @classmethod
    def of(
        cls, unknowns: Sequence[Unknown], blocks: Sequence[Block], posterior: Posterior
    ) -> Walls:
        """Around the posterior's mode, without the readings it set aside."""
        problem = Problem.of(unknowns, blocks, frozenset(posterior.set_aside))
        return cls(problem, posterior)

    def refits(
        self,
        places: NDArray[np.intp],
        offsets: Array,
        tuning: Tuning,
        starts: Sequence[Array | None] = (),
    ) -> list[Fit]:
        """Hold each of some unknowns at mode + offset and fit the others again, all in lockstep.

        Args:
            places: which unknown each.
            offsets: on its scale.
            tuning: how hard to try.
            starts: t to start from; along the linearised ridge where None, a little beside it,
                since symmetry can hide a way down.
        """
        given = [*starts, *[None] * (len(places) - len(starts))]
        walks = [
            self.refitting(place, offset, start)
            for place, offset, start in zip(places.tolist(), offsets.tolist(), given, strict=True)
        ]
        return relay(self.problem, walks, tuning, places)

    def once(self, place: int, offset: float, start: Array | None) -> Walk[Fit]:
        """A refit from one start, wherever it gets."""
        ridge = self.posterior.mode + self._step(place, offset) + self._beside
        return (yield self._held(ridge if start is None else start, place, offset))

    def refitting(self, place: int, offset: float, start: Array | None) -> Walk[Fit]:
        """A refit as part of a walk: where it does not come to rest, from another start too."""
        ridge = self.posterior.mode + self._step(place, offset) + self._beside
        fit = yield self._held(ridge if start is None else start, place, offset)
        if fit.converged:
            return fit
        other = self.posterior.mode if start is None else ridge
        again = yield self._held(other, place, offset)
        return min(fit, again, key=lambda one: one.objective)

    def refit(self, place: int, offset: float, tuning: Tuning, start: Array | None = None) -> Fit:
        """One unknown held at mode + offset, as `refits`."""
        places = np.array([place], dtype=np.intp)
        return self.refits(places, np.array([offset]), tuning, [start])[0]

    def _held(self, begin: Array, place: int, offset: float) -> Array:
        """A start with the held unknown in its place, and what no reading touches at the mode."""
        mode, touched = self.posterior.mode, self.problem.touched
        t = mode.copy()
        t[touched] = begin[touched]
        t[place] = mode[place] + offset
        return t

    def chords(self, places: NDArray[np.intp], offsets: Array) -> tuple[Array, Array, Array]:
        """Hold each place at its offset and fit the others with the mode's own Jacobian, all in a
        few predictions.

        Returns:
            The objective's rises; the length (in standard uncertainties) of the step that would
            come next, by which a reader may tell whether the fit is at rest; and where it ended.
        """
        posterior, problem = self.posterior, self.problem
        covariance, count = posterior.covariance, np.arange(len(places))
        columns = covariance[:, places] / covariance[places, places]
        points = posterior.mode + (columns * offsets).T
        rises, lengths = np.full(len(places), np.inf), np.full(len(places), np.inf)
        with np.errstate(all="ignore"):
            for _ in range(_CHORDS):
                off = (problem.guess(points) - problem.observed).T
                residuals = problem.whitening.whiten(off).T
                pulls = (points - problem.centre) / problem.u
                rises = (residuals**2).sum(axis=1) + (pulls**2).sum(axis=1) - posterior.objective
                gradients = residuals @ posterior.sensitivity + pulls / problem.u
                steps = -gradients @ covariance
                steps -= (columns * steps[count, places]).T
                lengths = np.sqrt(np.maximum(-(steps * gradients).sum(axis=1), 0.0))
                points = points + steps
        return rises, np.where(np.isfinite(rises), lengths, np.inf), points

    def begun(self, rises: Array, points: Array, which: NDArray[np.intp]) -> list[Array | None]:
        """Where refits begin: where the chords ended if they got anywhere, a little beside it."""
        good = np.abs(rises) < _GOT_SOMEWHERE
        return [points[k] + self._beside if good[k] else None for k in which.tolist()]

    def bends_nearby(self) -> bool:
        """Whether the readings leave the linear model even a twentieth of u beside the mode."""
        beside = self._beside
        mode = self.posterior.mode
        here, there = self.problem.guess(np.stack([mode, mode + beside]))
        bent = self.problem.whitening.whiten(there - here) - self.posterior.sensitivity @ beside
        return not float(np.linalg.norm(bent)) < _BENDS

    @cached_property
    def _beside(self) -> Array:
        beside = _BESIDE * np.sqrt(np.diag(self.posterior.covariance))
        beside[::2] *= -1.0
        return beside

    def _step(self, place: int, offset: float) -> Array:
        """From the mode along the linearised ridge of one unknown."""
        column = self.posterior.covariance[:, place]
        return np.asarray(column / column[place] * offset)

    def rise(self, fit: Fit) -> float:
        """How far the objective has risen above the mode's."""
        return fit.objective - self.posterior.objective

    def root(self, rise: float) -> float:
        """Signed root of a rise; infinite where nothing can be predicted."""
        return float(np.sign(rise)) * sqrt(abs(rise)) if np.isfinite(rise) else np.inf

    def own_rise(self, place: int, fit: Fit) -> float:
        """The part of the rise that the unknown's own prior makes."""
        prior = self.posterior.unknowns[place].prior
        pulls = (np.array([fit.t[place], self.posterior.mode[place]]) - prior.centre) / prior.u
        return float(pulls[0] ** 2 - pulls[1] ** 2)
