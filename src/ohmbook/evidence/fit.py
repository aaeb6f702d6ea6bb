"""Levenberg-Marquardt on the whitened system (Levenberg 1944, Marquardt 1963).

Steps are taken in prior units, s = (t - centre)/u, where the normal matrix is B^T B + I. Damping
follows the gain ratio (Nielsen 1999). Converged means that the undamped step is a tiny share of
the standard uncertainties the fit itself would state (the Newton decrement), so the criterion is
free of units.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array

_LONGEST_STEP = 3.0
_LONGEST_LOG = 3.0
LARGEST_DAMPING = 1e12
_PROBE = 0.1
_CALM = 1e-8


@dataclass(frozen=True, slots=True)
class Tuning:
    """How hard to try.

    Args:
        iterations: at most so many Jacobians.
        tolerance: the decrement, in standard uncertainties of the fit, that counts as converged.
        damping: to begin with, relative to the normal matrix's diagonal.
        tail: degrees of freedom of a Student-t loss for the readings; None for the normal.
    """

    iterations: int = 60
    tolerance: float = 1e-6
    damping: float = 1e-3
    tail: float | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """Where a minimisation ended: t, the objective there (a sum of squares), how, and the whitened
    Jacobian there or a last step before, if it was worked out; the whitened residuals only if the
    last look was at t itself."""

    t: Array
    objective: float
    converged: bool
    matrix: Array | None = None
    residuals: Array | None = None


def minimise(
    problem: Problem, start: Array, tuning: Tuning, free: NDArray[np.intp] | None = None
) -> Fit:
    """Minimise the sum of squares (or the Student-t loss) from `start`.

    Args:
        problem: the stacked system.
        start: t, shape (n,).
        tuning: iterations, tolerance, loss.
        free: columns that may move; all touched by a reading where None.
    """
    walk = _Walk(problem, tuning, problem.touched if free is None else free, start)
    with np.errstate(all="ignore"):
        for _ in range(tuning.iterations):
            if walk.over or not np.isfinite(walk.objective):
                break
            walk.step()
    return Fit(walk.t, walk.objective, walk.converged)


def loss(problem: Problem, t: Array, tail: float | None = None) -> float:
    """The objective at one t: infinite where a prediction is not finite."""
    return _loss(problem.residuals(t), problem.pulls(t), tail)


def _loss(residuals: Array, pulls: Array, tail: float | None) -> float:
    with np.errstate(all="ignore"):
        square = residuals * residuals
        if tail is not None:
            square = (tail + 1.0) * np.log1p(square / tail)
        total = float(square.sum() + pulls @ pulls)
    return total if np.isfinite(total) else np.inf


class _Walk:
    """One descent: the point, its residuals, the damping and the curvature seen so far."""

    def __init__(
        self, problem: Problem, tuning: Tuning, free: NDArray[np.intp], start: Array
    ) -> None:
        self.problem, self.tuning, self.free = problem, tuning, free
        self.t = start.copy()
        self.residuals = problem.nearly(start)
        self.objective = _loss(self.residuals, problem.pulls(start), tuning.tail)
        self.damping, self.growth = tuning.damping, 2.0
        self.over = self.converged = len(free) == 0
        self.reach = reach_of(problem)[free]
        self.secant = Secant.none(len(free))
        self.last: tuple[Array, Array, Array] | None = None

    def step(self) -> None:
        """Linearise here and move to the first better point along the damped path."""
        slope = self._linearise()
        if slope is None:
            self.over = True
            return
        while not self.over and not self._try(slope):
            self.over = self.damping > LARGEST_DAMPING

    def _linearise(self) -> Slope | None:
        matrix = self.problem.linearised(self.t[np.newaxis])[1][0][:, self.free]
        root = np.sqrt(weights_of(self.residuals, self.tuning.tail))
        matrix, residuals = matrix * root[:, np.newaxis], self.residuals * root
        gradient = matrix.T @ residuals + self.problem.pulls(self.t)[self.free]
        normal = matrix.T @ matrix
        normal[np.diag_indices_from(normal)] += 1.0
        if not (np.isfinite(gradient).all() and np.isfinite(normal).all()):
            return None
        if self.last is not None:
            step, old_matrix, old_gradient = self.last
            bend = matrix.T @ residuals - old_matrix.T @ residuals
            self.secant = self.secant.updated(step, bend, gradient - old_gradient)
        return Slope(matrix, gradient, normal)

    def _try(self, slope: Slope) -> bool:
        """Try one damped step: True where it was taken or the descent is over."""
        model = slope.normal + self.secant.matrix if self.secant.trusted else slope.normal
        step = _solve(model, slope.gradient, self.damping)
        if step is None:
            self._retreat()
            self.secant = replace(self.secant, trusted=False)
            return False
        predicted = -float(slope.gradient @ step)
        if predicted <= self.tuning.tolerance**2:
            full = _solve(model, slope.gradient, 0.0)
            if full is not None and -float(slope.gradient @ full) <= self.tuning.tolerance**2:
                self.over = self.converged = True
                step = full
        step *= min(1.0, float(np.min(self.reach / np.maximum(np.abs(step), 1e-300))))
        if self._take(slope, step, step) or self.converged:
            return True
        if predicted > _CALM:
            bend = self._bend(slope, model, step)
            if bend is not None and self._take(slope, step, step + bend):
                return True
        self._retreat()
        return False

    def _bend(self, slope: Slope, model: Array, step: Array) -> Array | None:
        """Half the second-order correction of a step that failed, to follow a curved valley.

        Transtrum, Sethna (2012), arXiv:1201.5885: geodesic acceleration, with the second
        directional derivative of the residuals by one more prediction.
        """
        t = self.t.copy()
        t[self.free] += _PROBE * step * self.problem.u[self.free]
        ahead = self.problem.nearly(t)
        if not np.isfinite(ahead).all():
            return None
        root = np.sqrt(weights_of(self.residuals, self.tuning.tail))
        change = root * (ahead - self.residuals)
        second = 2.0 / _PROBE * (change / _PROBE - slope.matrix @ step)
        turn = _damped_solve(model, slope.matrix.T @ second, 0.0)
        if turn is None or not np.all(np.abs(turn) < 2.0 * self.reach):
            return None
        return 0.5 * turn

    def _take(self, slope: Slope, step: Array, moved: Array) -> bool:
        """Move if that lowers the objective; `step` is what the model foretold `moved` by."""
        t = self.t.copy()
        t[self.free] += moved * self.problem.u[self.free]
        residuals = self.problem.nearly(t)
        objective = _loss(residuals, self.problem.pulls(t), self.tuning.tail)
        gain = self.objective - objective
        straight = -float(step @ (2.0 * slope.gradient + slope.normal @ step))
        bent = straight - float(step @ self.secant.matrix @ step)
        expected = bent if self.secant.trusted else straight
        # Below the rounding of the objective itself a comparison says nothing: trust the step.
        rounding = 1e-12 * (1.0 + self.objective)
        if not (gain > 0.0 or (abs(expected) < 10.0 * rounding and gain > -rounding)):
            return False
        if not self.converged:
            self.last = (moved, slope.matrix, slope.gradient)
            if abs(expected) > 10.0 * rounding:
                trusted = abs(gain - bent) < abs(gain - straight)
                self.secant = replace(self.secant, trusted=trusted)
        self.t, self.residuals, self.objective = t, residuals, objective
        ratio = float(np.clip(gain / expected, 0.0, 1.0)) if expected > rounding else 1.0
        self.damping *= max(0.1, 1.0 - (2.0 * ratio - 1.0) ** 3)
        self.growth = 2.0
        return True

    def _retreat(self) -> None:
        self.damping, self.growth = max(self.damping, 1e-7) * self.growth, self.growth * 2.0


@dataclass(frozen=True, slots=True)
class Slope:
    """The linearised system at one point: weighted Jacobian, gradient, normal matrix."""

    matrix: Array
    gradient: Array
    normal: Array


@dataclass(frozen=True, slots=True)
class Secant:
    """The part of the Hessian that the linearised system leaves out, learnt from its changes.

    Dennis, Gay, Welsch (1981), ACM TOMS 7(3), "An adaptive nonlinear least-squares algorithm":
    the secant update with sizing; trusted where it foretold the last step better.
    """

    matrix: Array
    trusted: bool

    @classmethod
    def none(cls, n: int) -> Secant:
        """Nothing learnt yet."""
        return cls(np.zeros((n, n)), False)

    def updated(self, step: Array, bend: Array, change: Array) -> Secant:
        """After a step: `bend` is (J+ - J)^T r+, `change` that of the gradient."""
        along = float(change @ step)
        if not along > 0.0:
            return self
        curvature = float(step @ self.matrix @ step)
        size = min(1.0, abs(float(step @ bend)) / abs(curvature)) if curvature else 1.0
        matrix = self.matrix * size
        miss = bend - matrix @ step
        cross = np.outer(miss, change)
        matrix += (cross + cross.T) / along
        matrix -= float(step @ miss) / along**2 * np.outer(change, change)
        return replace(self, matrix=matrix)


def reach_of(problem: Problem) -> Array:
    """The longest step of each unknown, in prior units: within a factor of 20 on a log scale."""
    curved = problem.scales.log | problem.scales.logit
    return np.where(curved, np.minimum(_LONGEST_STEP, _LONGEST_LOG / problem.u), _LONGEST_STEP)


def weights_of(residuals: Array, tail: float | None) -> Array:
    """How much each squared residual counts, under a Student-t loss or the normal."""
    if tail is None:
        return np.ones_like(residuals)
    with np.errstate(over="ignore"):
        return (tail + 1.0) / (tail + residuals * residuals)


def _solve(normal: Array, gradient: Array, damping: float) -> Array | None:
    """The damped step; None where there is none, or it leads uphill."""
    step = _damped_solve(normal, gradient, damping)
    return step if step is not None and float(gradient @ step) <= 0.0 else None


def _damped_solve(normal: Array, gradient: Array, damping: float) -> Array | None:
    damped = normal.copy()
    damped[np.diag_indices_from(damped)] += damping * np.abs(np.diag(normal))
    try:
        return np.asarray(np.linalg.solve(damped, -gradient), dtype=np.float64)
    except np.linalg.LinAlgError:
        return None
