"""Levenberg-Marquardt on many starts in lockstep: one evaluation serves them all.

The same descent as `fit.minimise` without its second-order helps: steps in prior units, damping by
the gain ratio (Nielsen 1999), stopped by the Newton decrement. What a small problem costs is
mostly the number of calls, so five starts together cost little more than one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.fit import LARGEST_DAMPING, Fit, Tuning, reach_of, weights_of
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array


def minimise_many(
    problem: Problem,
    starts: Sequence[Array],
    tuning: Tuning,
    held: NDArray[np.intp] | None = None,
) -> list[Fit]:
    """Minimise from every start.

    Args:
        problem: the stacked system.
        starts: t of each, shape (n,).
        tuning: iterations, tolerance, loss.
        held: for each start the one unknown that must stay where it is; none where None.

    Returns:
        One fit for each start, in order.
    """
    if not len(starts):
        return []
    crowd = _Crowd(problem, np.array(starts, dtype=float), tuning, held)
    with np.errstate(all="ignore"):
        for _ in range(tuning.iterations):
            if not crowd.walking.any():
                break
            crowd.step()
    return crowd.fits()


class _Crowd:
    """Where every descent is: points, residuals, Jacobians, damping."""

    def __init__(
        self, problem: Problem, t: Array, tuning: Tuning, held: NDArray[np.intp] | None
    ) -> None:
        self.problem, self.tuning, self.t = problem, tuning, t
        draws, n = t.shape
        self.still = np.ones((draws, n), dtype=bool)
        self.still[:, problem.touched] = False
        if held is not None:
            self.still[np.arange(draws), held] = True
        self.reach = reach_of(problem)
        self.residuals, self.matrix = problem.linearised(t)
        self.objective = self._loss(self.residuals, t)
        self.damping = np.full(draws, tuning.damping)
        self.growth = np.full(draws, 2.0)
        self.converged = np.zeros(draws, dtype=bool)
        self.walking = np.isfinite(self.objective) & ~self.still.all(axis=1)

    def fits(self) -> list[Fit]:
        """One fit for each start."""
        return [
            Fit(t, float(objective), bool(converged), matrix)
            for t, objective, converged, matrix in zip(
                self.t, self.objective, self.converged, self.matrix, strict=True
            )
        ]

    def step(self) -> None:
        """One trial step of every descent that goes on."""
        at = np.flatnonzero(self.walking)
        gradient, normal = self._linear(at)
        sound = np.isfinite(gradient).all(axis=1) & np.isfinite(normal).all(axis=(1, 2))
        self.walking[at[~sound]] = False
        at, gradient, normal = at[sound], gradient[sound], normal[sound]
        if not at.size:
            return
        step = self._damped(normal, gradient, self.damping[at])
        small = -(step * gradient).sum(axis=1) <= self.tuning.tolerance**2
        if small.any():
            full = self._damped(normal[small], gradient[small], np.zeros(int(small.sum())))
            done = -(full * gradient[small]).sum(axis=1) <= self.tuning.tolerance**2
            rest = at[small][done]
            step[np.flatnonzero(small)[done]] = full[done]
            self.converged[rest], self.walking[rest] = True, False
        step *= np.minimum(1.0, (self.reach / np.maximum(np.abs(step), 1e-300)).min(axis=1))[
            :, np.newaxis
        ]
        self._take(at, step, gradient, normal)

    def _linear(self, at: NDArray[np.intp]) -> tuple[Array, Array]:
        """Gradient (k, n) and normal matrix (k, n, n); still unknowns have only their diagonal."""
        weight = weights_of(self.residuals[at], self.tuning.tail)
        matrix = np.where(self.still[at][:, np.newaxis, :], 0.0, self.matrix[at])
        turned = np.swapaxes(matrix * weight[:, :, np.newaxis], 1, 2)
        gradient = (turned @ self.residuals[at][:, :, np.newaxis])[:, :, 0]
        gradient += np.where(self.still[at], 0.0, self._pulls(self.t[at]))
        normal = turned @ matrix
        diagonal = np.arange(normal.shape[1])
        normal[:, diagonal, diagonal] += 1.0
        return gradient, normal

    def _take(self, at: NDArray[np.intp], step: Array, gradient: Array, normal: Array) -> None:
        t = self.t[at] + step * self.problem.u
        residuals, matrix = self.problem.linearised(t)
        objective = self._loss(residuals, t)
        gain = self.objective[at] - objective
        bent = (normal @ step[:, :, np.newaxis])[:, :, 0]
        expected = -(step * (2.0 * gradient + bent)).sum(axis=1)
        rounding = 1e-12 * (1.0 + self.objective[at])
        better = (gain > 0.0) | ((np.abs(expected) < 10.0 * rounding) & (gain > -rounding))
        good = at[better]
        self.t[good], self.residuals[good] = t[better], residuals[better]
        self.matrix[good], self.objective[good] = matrix[better], objective[better]
        share = np.where(expected > rounding, gain / np.maximum(expected, 1e-300), 1.0)
        ratio = np.clip(share[better], 0.0, 1.0)
        self.damping[good] *= np.maximum(0.1, 1.0 - (2.0 * ratio - 1.0) ** 3)
        self.growth[good] = 2.0
        worse = at[~better]
        self.damping[worse] = np.maximum(self.damping[worse], 1e-7) * self.growth[worse]
        self.growth[worse] *= 2.0
        self.walking[worse] &= self.damping[worse] <= LARGEST_DAMPING

    def _damped(self, normal: Array, gradient: Array, damping: Array) -> Array:
        damped = normal.copy()
        diagonal = np.arange(normal.shape[1])
        damped[:, diagonal, diagonal] *= 1.0 + damping[:, np.newaxis]
        return np.asarray(np.linalg.solve(damped, -gradient[:, :, np.newaxis])[:, :, 0])

    def _loss(self, residuals: Array, t: Array) -> Array:
        square = residuals * residuals
        tail = self.tuning.tail
        if tail is not None:
            square = (tail + 1.0) * np.log1p(square / tail)
        total = square.sum(axis=1) + (self._pulls(t) ** 2).sum(axis=1)
        return np.where(np.isfinite(total), total, np.inf)

    def _pulls(self, t: Array) -> Array:
        return np.asarray((t - self.problem.centre) / self.problem.u)
