"""Validity: whether the linearised uncertainty may be believed.

At two standard uncertainties either side of the mode the objective, with all other unknowns fitted
again, must have risen by 4 as in a linear problem. Its square root is the distance in standard
uncertainties as the readings themselves count it (Bates, Watts 1988, ch. 6: profile t); where that
is not 2 within a tenth, the interval of the linearised fit is not to be trusted, and `profile` or
`refits` give one that is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from ohmbook.evidence.fit import Fit, Tuning, minimise
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array, Id, Unknown

_DISTANCE = 2.0
_MARGIN = 0.2
_BESIDE = 0.05
_REFIT = Tuning(iterations=4, tolerance=0.02, damping=1e-6)


@dataclass(frozen=True, slots=True)
class Curvature:
    """One unknown's check.

    Args:
        id: whose.
        low: signed root of the objective's rise at mode - 2u; 2 in a linear problem.
        high: the same at mode + 2u. Negative where a better answer than the mode was met.
    """

    id: Id
    low: float
    high: float

    @property
    def holds(self) -> bool:
        """Whether the linearised interval may be believed."""
        return max(abs(self.low - _DISTANCE), abs(self.high - _DISTANCE)) <= _MARGIN


def curvature(
    unknowns: Sequence[Unknown], blocks: Sequence[Block], posterior: Posterior, ids: Sequence[Id]
) -> tuple[Curvature, ...]:
    """The check for the unknowns asked for, a few Gauss-Newton steps each side.

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: what settle gave.
        ids: which to check.
    """
    walls = Walls.of(unknowns, blocks, posterior)
    found = []
    for id_ in ids:
        place, far = posterior.index(id_), _DISTANCE * posterior.u(id_)
        low, high = (walls.root(walls.refit(place, side * far, _REFIT)) for side in (-1.0, 1.0))
        found.append(Curvature(id_, low, high))
    return tuple(found)


@dataclass(frozen=True, slots=True)
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

    def refit(self, place: int, offset: float, tuning: Tuning, start: Array | None = None) -> Fit:
        """Hold unknown `place` at mode + offset and fit the others again.

        Args:
            place: which unknown.
            offset: on its scale.
            tuning: how hard to try.
            start: t to start from; along the linearised ridge where None, a little beside it,
                since symmetry can hide a way down.
        """
        mode, covariance = self.posterior.mode, self.posterior.covariance
        beside = _BESIDE * np.sqrt(np.diag(covariance))
        beside[::2] *= -1.0
        ridge = mode + covariance[:, place] / covariance[place, place] * offset + beside
        free = self.problem.touched[self.problem.touched != place]
        fits = []
        for begin in (ridge, mode) if start is None else (start, ridge):
            t = np.where(np.isin(np.arange(len(mode)), self.problem.touched), begin, mode)
            t[place] = mode[place] + offset
            fits.append(minimise(self.problem, t, tuning, free))
            if fits[-1].converged:
                break
        return min(fits, key=lambda fit: fit.objective)

    def rise(self, fit: Fit) -> float:
        """How far the objective has risen above the mode's."""
        return fit.objective - self.posterior.objective

    def root(self, fit: Fit) -> float:
        """Signed root of the rise; infinite where nothing can be predicted."""
        rise = self.rise(fit)
        return float(np.sign(rise)) * sqrt(abs(rise)) if np.isfinite(rise) else np.inf

    def own_rise(self, place: int, fit: Fit) -> float:
        """The part of the rise that the unknown's own prior makes."""
        prior = self.posterior.unknowns[place].prior
        pulls = (np.array([fit.t[place], self.posterior.mode[place]]) - prior.centre) / prior.u
        return float(pulls[0] ** 2 - pulls[1] ** 2)
