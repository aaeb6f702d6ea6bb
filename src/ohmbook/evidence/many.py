"""Levenberg-Marquardt on many starts in lockstep: one evaluation serves them all.

The same descent as `fit.minimise` without its second-order helps: steps in prior units, damping by
the gain ratio (Nielsen 1999), stopped by the Newton decrement. What a small problem costs is
mostly the number of calls, so five starts together cost little more than one. Where one descent
follows from another (a walk), `relay` lets each go on at once, whatever the others still do.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.fit import LARGEST_DAMPING, Fit, Tuning, reach_of, weights_of
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array

T = TypeVar("T")

_SLOW = 0.2
"""A step that is not shorter than this share of the last one is slow progress."""


Look = tuple[Array, Array]
"""Residuals (m,) and Jacobian (m, n) in prior units at a start, in the readings' own units."""


def minimise_many(
    problem: Problem,
    starts: Sequence[Array],
    tuning: Tuning,
    held: NDArray[np.intp] | None = None,
    known: Sequence[Look | None] = (),
) -> list[Fit]:
    """Minimise from every start.

    Args:
        problem: the stacked system.
        starts: t of each, shape (n,).
        tuning: iterations, tolerance, loss.
        held: for each start the one unknown that must stay where it is; none where None.
        known: for each start what a look there would show, where that is known already.

    Returns:
        One fit for each start, in order.
    """
    if not len(starts):
        return []
    crowd = _Crowd(problem, np.array(starts, dtype=float), tuning, held)
    crowd.take_in(known)
    with np.errstate(all="ignore"):
        while crowd.step():
            pass
    return [crowd.fit(k) for k in range(len(starts))]


Walk = Generator[Array, Fit, T]
"""Gives a start, is sent the fit from there, gives the next; returns what it found."""


def relay(
    problem: Problem,
    walks: Sequence[Walk[T]],
    tuning: Tuning,
    held: NDArray[np.intp] | None = None,
    *,
    then: Tuning | None = None,
    known: Sequence[Look | None] = (),
) -> list[T]:
    """Run walks side by side, one evaluation serving the steps that all of them are at.

    Args:
        problem: the stacked system.
        walks: each gives at least one start.
        tuning: of every first descent.
        held: for each walk the one unknown that must stay where it is; none where None.
        then: of every later one; the same where None. The loss is that of `tuning`.
        known: for each walk what a look at its first start would show, where that is known.

    Returns:
        What each walk returned, in order.
    """
    if not walks:
        return []
    starts = np.array([next(walk) for walk in walks], dtype=float)
    crowd = _Crowd(problem, starts, tuning, held)
    crowd.take_in(known)
    found: dict[int, T] = {}
    with np.errstate(all="ignore"):
        while len(found) < len(walks):
            crowd.step()
            for k in np.flatnonzero(~(crowd.walking | crowd.fresh)).tolist():
                if k in found:
                    continue
                try:
                    crowd.begin(k, walks[k].send(crowd.fit(k)), then or tuning)
                except StopIteration as end:
                    found[k] = end.value
    return [found[k] for k in range(len(walks))]


def _diagonal(stack: Array) -> Array:
    """The diagonals of matrices, shape (k, n, n), as a view: shape (k, n)."""
    n = stack.shape[1]
    return stack.reshape(len(stack), n * n)[:, :: n + 1]


def _along(normal: Array, one: Array, other: Array) -> Array:
    """one^T N other of each of a stack, shapes (k, n, n), (k, n) and (k, n)."""
    return np.asarray(((normal @ other[:, :, np.newaxis])[:, :, 0] * one).sum(axis=1))


_HELD = 1e-10
"""Of a coordinate's own size: what is added where a step would be singular."""


class _Crowd:
    """Where every descent is: points, residuals, Jacobians, damping."""

    def __init__(
        self, problem: Problem, t: Array, tuning: Tuning, held: NDArray[np.intp] | None
    ) -> None:
        self.problem, self.tuning, self.t, self.held = problem, tuning, t, held
        draws, n = t.shape
        still = np.ones((draws, n), dtype=bool)
        still[:, problem.touched] = False
        if held is not None:
            still[np.arange(draws), held] = True
        self.stuck, self.free = np.asarray(still.all(axis=1)), np.where(still, 0.0, 1.0)
        self.reach = reach_of(problem)
        m = len(problem.observed)
        self.residuals, self.matrix = np.zeros((draws, m)), np.zeros((draws, m, n))
        self.objective = np.full(draws, np.inf)
        self.damping = np.full(draws, tuning.damping)
        self.growth = np.full(draws, 2.0)
        self.left = np.full(draws, tuning.iterations)
        self.enough = np.full(draws, tuning.tolerance**2)
        self.converged = np.zeros(draws, dtype=bool)
        self.walking = np.zeros(draws, dtype=bool)
        self.fresh = np.ones(draws, dtype=bool)
        self.looked = np.zeros(draws, dtype=bool)
        self.before = np.full((draws, n), np.nan)
        self.wanted = np.full((draws, n), np.nan)

    def take_in(self, known: Sequence[Look | None]) -> None:
        """Set out from where a look was taken before, under another whitening."""
        for k, look in enumerate(known):
            if look is not None:
                self.residuals[k], self.matrix[k] = map(self.problem.whitening.whiten, look)
                self.objective[k] = self._loss(self.residuals[k : k + 1], self.t[k : k + 1])[0]
                self.walking[k] = np.isfinite(self.objective[k]) and not self.stuck[k]
                self.fresh[k], self.looked[k] = False, True

    def begin(self, k: int, t: Array, tuning: Tuning) -> None:
        """Set one descent out anew."""
        self.t[k], self.fresh[k], self.looked[k] = t, True, False
        self.damping[k], self.growth[k] = tuning.damping, 2.0
        self.left[k], self.converged[k] = tuning.iterations, False
        self.enough[k], self.wanted[k] = tuning.tolerance**2, np.nan

    def fit(self, k: int) -> Fit:
        """Where one descent is."""
        return Fit(
            self.t[k].copy(),
            float(self.objective[k]),
            bool(self.converged[k]),
            self.matrix[k].copy(),
            self.residuals[k].copy() if self.looked[k] else None,
        )

    def step(self) -> bool:
        """One trial step of every descent that goes on, and a first look for those that set out;
        whether any of them goes on."""
        at = np.flatnonzero(self.walking)
        gradient, normal = self._linear(at)
        # what is not finite in the matrix is so in its squares, on the diagonal
        sound = np.isfinite(gradient).all(axis=1) & np.isfinite(_diagonal(normal)).all(axis=1)
        if not sound.all():
            self.walking[at[~sound]] = False
            at, gradient, normal = at[sound], gradient[sound], normal[sound]
        step = self._damped(normal, gradient, self.damping[at])
        going = self._going(at, step, gradient, normal)
        if not going.all():
            at, step, gradient, normal = at[going], step[going], gradient[going], normal[going]
        reached = self.reach / np.maximum(np.abs(step), 1e-300)
        step *= reached.min(axis=1, initial=1.0)[:, np.newaxis]
        mixed = self._mixed(at, step, normal)
        mended = np.asarray(np.isfinite(mixed).all(axis=1))
        self.before[at], self.wanted[at] = self.t[at], step
        self._take(at, np.where(mended[:, np.newaxis], mixed, step), gradient, normal, mended)
        return bool(self.walking.any())

    def _going(
        self, at: NDArray[np.intp], step: Array, gradient: Array, normal: Array
    ) -> NDArray[np.bool_]:
        """Which descents go on. Those whose undamped step is short enough end with it: what it
        gains is foretold as well as a further look would tell."""
        enough = self.enough[at]
        going = np.asarray(-(step * gradient).sum(axis=1) > enough)
        near = np.flatnonzero(~going)
        if near.size:
            full = self._damped(normal[near], gradient[near], np.zeros(near.size))
            gain = -(full * gradient[near]).sum(axis=1)
            done = gain <= enough[near]
            rest = at[near[done]]
            self.t[rest] += full[done] * self.problem.u
            self.objective[rest] -= gain[done]
            self.converged[rest], self.walking[rest], self.looked[rest] = True, False, False
            going[near[~done]] = True
        return going

    def _mixed(self, at: NDArray[np.intp], step: Array, normal: Array) -> Array:
        """Steps that make up for what the last ones missed; NaN where there is no call for it.

        Where the readings bend, what the linearised system leaves out makes the descent swing or
        creep about its end. Two steps running tell how, and the next goes where the swing would
        end (D. G. Anderson, J. ACM 12, 1965, of depth 1; lengths are in standard uncertainties).
        Only near the end, within one standard uncertainty, so as not to change the valley.
        """
        last = self.wanted[at]
        length = _along(normal, step, step)
        near = (length < 1.0) & (length > 1e-9 * (1.0 + self.objective[at]))
        near &= np.isfinite(last).all(axis=1)
        if not near.any():
            return np.full_like(step, np.nan)
        change = step - last
        turned = (normal @ np.stack([change, last], axis=2)).swapaxes(1, 2)
        call = near & (length > _SLOW**2 * (turned[:, 1] * last).sum(axis=1))
        size = (turned[:, 0] * change).sum(axis=1)
        share = (turned[:, 0] * step).sum(axis=1) / np.where(call & (size > 0.0), size, np.nan)
        moved = (self.t[at] - self.before[at]) / self.problem.u
        mixed = step - share[:, np.newaxis] * (moved + change)
        mixed[np.asarray((np.abs(mixed) > self.reach).any(axis=1))] = np.nan
        return np.asarray(mixed)

    def _linear(self, at: NDArray[np.intp]) -> tuple[Array, Array]:
        """Gradient (k, n) and normal matrix (k, n, n); still unknowns have only their diagonal."""
        tail = self.tuning.tail
        weight = None if tail is None else weights_of(self.residuals[at], tail)
        matrix = self.matrix[at]
        if self.held is not None:
            matrix[np.arange(at.size), :, self.held[at]] = 0.0
        turned = np.swapaxes(matrix if weight is None else matrix * weight[:, :, None], 1, 2)
        gradient = (turned @ self.residuals[at][:, :, np.newaxis])[:, :, 0]
        gradient += self._pulls(self.t[at]) * self.free[at]
        normal = turned @ matrix
        diagonal = _diagonal(normal)
        diagonal += 1.0
        return gradient, normal

    def _take(
        self,
        at: NDArray[np.intp],
        step: Array,
        gradient: Array,
        normal: Array,
        mended: NDArray[np.bool_],
    ) -> None:
        """Look ahead, and at those that set out; move where that is better."""
        new = np.flatnonzero(self.fresh)
        t = self.t[at] + step * self.problem.u
        if new.size:
            t = np.concatenate([t, self.t[new]])
        if not len(t):
            return
        residuals, matrix = self.problem.linearised(t)
        objective, old = self._loss(residuals, t), at.size
        gain = self.objective[at] - objective[:old]
        expected = -2.0 * (step * gradient).sum(axis=1) - _along(normal, step, step)
        rounding = 1e-12 * (1.0 + self.objective[at])
        still = (np.abs(expected) < 10.0 * rounding) & (gain > -rounding)
        better = np.asarray((gain > 0.0) | still)
        kept: slice | NDArray[np.bool_] = slice(None)
        if not better.all():
            kept = np.concatenate([better, np.ones(new.size, dtype=bool)])
        moved = np.concatenate([at, new])[kept]
        self.t[moved], self.residuals[moved] = t[kept], residuals[kept]
        self.matrix[moved], self.objective[moved] = matrix[kept], objective[kept]
        self.looked[moved] = True
        share = np.where(expected > rounding, gain / np.maximum(expected, 1e-300), 1.0)
        self._adapt(at[~mended], better[~mended], share[~mended])
        self.wanted[at[~better]] = np.nan
        self.left[at] -= 1
        self.walking[at] &= self.left[at] > 0
        self.walking[new] = np.isfinite(objective[old:]) & ~self.stuck[new]
        self.fresh[new] = False

    def _adapt(self, at: NDArray[np.intp], better: NDArray[np.bool_], share: Array) -> None:
        """More or less damping, by the share of the gain that was expected (Nielsen 1999)."""
        good, worse = at[better], at[~better]
        ratio = np.minimum(np.maximum(share[better], 0.0), 1.0)
        self.damping[good] *= np.maximum(0.1, 1.0 - (2.0 * ratio - 1.0) ** 3)
        self.growth[good] = 2.0
        if not worse.size:
            return
        self.damping[worse] = np.maximum(self.damping[worse], 1e-7) * self.growth[worse]
        self.growth[worse] *= 2.0
        self.walking[worse] &= self.damping[worse] <= LARGEST_DAMPING

    def _damped(self, normal: Array, gradient: Array, damping: Array) -> Array:
        damped = normal.copy()
        diagonal = _diagonal(damped)
        diagonal *= 1.0 + damping[:, np.newaxis]
        try:
            return np.asarray(np.linalg.solve(damped, -gradient[:, :, np.newaxis])[:, :, 0])
        except np.linalg.LinAlgError:
            return _solved_by_size(damped, gradient)

    def _loss(self, residuals: Array, t: Array) -> Array:
        square = residuals * residuals
        tail = self.tuning.tail
        if tail is not None:
            square = (tail + 1.0) * np.log1p(square / tail)
        total = square.sum(axis=1) + (self._pulls(t) ** 2).sum(axis=1)
        return np.where(np.isfinite(total), total, np.inf)

    def _pulls(self, t: Array) -> Array:
        return np.asarray((t - self.problem.centre) / self.problem.u)


def _solved_by_size(normal: Array, gradient: Array) -> Array:
    """The same step where sizes differ so much that plain elimination finds nothing to divide by.

    Each coordinate is measured by the root of its own diagonal, and what is then still singular is
    held by a share of it.
    """
    size = np.sqrt(_diagonal(normal))
    size = np.where((size > 0.0) & np.isfinite(size), size, 1.0)
    even = np.nan_to_num(normal / (size[:, :, np.newaxis] * size[:, np.newaxis]))
    even += _HELD * np.eye(size.shape[1])
    step = np.linalg.solve(even, -np.nan_to_num(gradient / size)[:, :, np.newaxis])[:, :, 0]
    return np.asarray(step / size)
