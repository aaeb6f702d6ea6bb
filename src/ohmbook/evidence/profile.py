"""Profile interval: where the linearised one fails, walk the objective itself.

The bound on each side is where the signed root of the objective's rise, all other unknowns fitted
again, reaches the coverage factor (likelihood ratio; Bates, Watts 1988, ch. 6; Pawitan 2001, 3.4).
The factor is that of the convolved inputs, so a dominant rectangle keeps its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.evidence.convolve import coverage
from ohmbook.evidence.fit import Fit, Tuning
from ohmbook.evidence.many import Walk, relay
from ohmbook.evidence.modes import normal_matrix
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.scale import natural
from ohmbook.evidence.unknown import Array, Id, Unknown
from ohmbook.evidence.validity import DISTANCE, Curvature, Walls

_REFIT = Tuning(iterations=40, tolerance=3e-2, damping=1e-6)
_CLOSE = 0.03
"""A root so near the factor, relatively, that the rest of the way is interpolated."""
_STEPS = 40
_SHUT = 1e-3
"""A gap between two distances, relatively, in which nothing is looked for."""
_JUMPED = 1.5
"""How many times the factor a root is from which a fit belongs to another valley."""
_STRETCHED = 0.25
"""How far ahead, by the way from the last point, a bend is followed."""

Point = tuple[float, Array]
"""A distance from the mode, and where all unknowns are there."""


@dataclass(frozen=True, slots=True)
class ProfileInterval:
    """Bounds in natural units, and what holds them.

    Args:
        low: lower bound.
        high: upper bound.
        low_from_prior: the lower bound is the prior's: the readings would let the value go lower.
        high_from_prior: likewise upwards.
        holds: False where a better answer than the mode was met on the way: settle again.
    """

    low: float
    high: float
    low_from_prior: bool
    high_from_prior: bool
    holds: bool


def profile_intervals(
    unknowns: Sequence[Unknown],
    blocks: Sequence[Block],
    posterior: Posterior,
    ids: Sequence[Id],
    probability: float = 0.95,
    checked: Sequence[Curvature] = (),
) -> tuple[ProfileInterval, ...]:
    """Intervals by walking the objective both ways from the mode, all in lockstep.

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: what settle gave.
        ids: whose intervals.
        probability: between 0 and 1.
        checked: curvature checks already made, to begin from.
    """
    walls = Walls.of(unknowns, blocks, posterior)
    known = {one.id: one for one in checked}
    walks = [_Walk(walls, id_, side, probability) for id_ in ids for side in (-1.0, 1.0)]
    for walk, id_ in zip(walks, [id_ for id_ in ids for _ in (0, 1)], strict=True):
        if id_ in known:
            walk.begin(known[id_])
    places = np.array([walk.place for walk in walks], dtype=np.intp)
    relay(walls.problem, [walk.walked() for walk in walks], _REFIT, places)
    return tuple(_interval(walls, *walks[2 * k : 2 * k + 2]) for k in range(len(ids)))


def profile_interval(
    unknowns: Sequence[Unknown],
    blocks: Sequence[Block],
    posterior: Posterior,
    id_: Id,
    probability: float = 0.95,
) -> ProfileInterval:
    """The interval of one unknown, as `profile_intervals`."""
    return profile_intervals(unknowns, blocks, posterior, [id_], probability)[0]


def _interval(walls: Walls, low: _Walk, high: _Walk) -> ProfileInterval:
    scale = walls.posterior.unknowns[low.place].scale
    return ProfileInterval(
        natural(scale, low.bound),
        natural(scale, high.bound),
        _from_prior(walls, low.place, low.fit),
        _from_prior(walls, high.place, high.fit),
        min(walls.rise(low.fit), walls.rise(high.fit)) > 0.0,
    )


class _Walk:
    """One bound: aims at the offset where the root is the factor until it is met."""

    def __init__(self, walls: Walls, id_: Id, side: float, probability: float) -> None:
        posterior = walls.posterior
        self.walls, self.side, self.place = walls, side, posterior.index(id_)
        gain = posterior.gain[self.place]
        self.factor = coverage(gain, posterior.rectangular, probability) / posterior.u(id_)
        u = float(np.sqrt(posterior.covariance[self.place, self.place]))
        self.seen = [(0.0, 0.0)]
        self.last: Point = (0.0, posterior.mode)
        self.within = posterior.mode
        self.distance, self.going, self.closed = self.factor * u, True, False
        self.start: Array | None = None
        self.fit: Fit = Fit(posterior.mode, posterior.objective, True)

    def begin(self, checked: Curvature) -> None:
        """From where the curvature check ended at its distance."""
        below = self.side < 0.0
        root, end = (checked.low if below else checked.high), 0 if below else 1
        if not 0.0 < root < np.inf:
            return
        self.start = checked.at[end]
        known = (DISTANCE * self.distance / self.factor, root)
        self.distance = _aim([*self.seen, known], self.factor)
        if checked.rest[end]:
            self.seen.append(known)
            here, self.last = self.last, (known[0], checked.at[end])
            ridge = self._along(self.walls.posterior.covariance[:, self.place])
            self.start = _led(here, ridge, self.last, self.distance)
            if root < self.factor:
                self.within = self.last[1]

    def walked(self) -> Walk[None]:
        """From offset to offset until the bound is met."""
        for _ in range(_STEPS):
            if not self.going:
                return
            self.arrive((yield from self.walls.refitting(self.place, self.offset, self.start)))

    @property
    def bound(self) -> float:
        """The bound on the unknown's scale: where the root should be the factor, by all seen."""
        posterior = self.walls.posterior
        # The rest of the way is straight, or it is not known: the last point then stands.
        distance = _inverse(_nearest(self.seen, self.factor)[:2], self.factor)
        if not abs(distance - self.distance) < 2.0 * _CLOSE * self.distance:
            distance = self.distance
        return float(posterior.mode[self.place] + self.side * distance)

    @property
    def offset(self) -> float:
        """Where to hold the unknown, from the mode, on its scale."""
        return self.side * self.distance

    def arrive(self, fit: Fit) -> None:
        """Take in a fit at the offset, and aim again if that was not it."""
        self.fit, rise = fit, self.walls.rise(fit)
        root = self.walls.root(rise)
        if rise < -1e-3:
            self.going = False
            return
        here = (self.distance, fit.t)
        self.seen.append((self.distance, root))
        if abs(root - self.factor) < _CLOSE * self.factor or not self._open():
            self.going = False
            return
        self.distance = _aim(self.seen, self.factor)
        if root > _JUMPED * self.factor:
            # Another valley than the one the walk came along: back to where it was left.
            self.start = self.within
            return
        self.start = _led(here, self._ridge(fit), self.last, self.distance)
        self.last = here
        if root < self.factor:
            self.within = fit.t

    def _open(self) -> bool:
        """Whether there is room between the points on either side of the factor.

        Where there is none, a fit beyond was a worse answer than its neighbour leads to: it is
        forgotten, once, and the walk goes on.
        """
        inner, outer = _bracket(self.seen, self.factor)
        if outer == np.inf or outer - inner > _SHUT * outer:
            return True
        again, self.closed = not self.closed, True
        if again:
            self.seen = [(distance, root) for distance, root in self.seen if distance < outer]
        return again

    def _ridge(self, fit: Fit) -> Array:
        """How all unknowns move with the held one where a fit ended, per unit of distance."""
        problem = self.walls.problem
        matrix = problem.jacobian(fit.t) if fit.matrix is None else fit.matrix
        held = (np.arange(len(fit.t)) == self.place).astype(float)
        return self._along(np.linalg.solve(normal_matrix(matrix), held) * problem.u)

    def _along(self, column: Array) -> Array:
        """A column of a covariance as a direction, outwards."""
        return np.asarray(column * (self.side / column[self.place]))


def _led(here: Point, ridge: Array, other: Point, aim: float) -> Array:
    """Where a path leads at a distance: through one point along its ridge (per unit of distance),
    bent so as to pass through another; straight where that would be stretched too far."""
    (distance, t), (far, passed) = here, other
    back, ahead = far - distance, aim - distance
    straight = t + ahead * ridge
    if distance and abs(ahead) >= _STRETCHED * abs(back):
        return np.asarray(straight)
    return np.asarray(straight + (ahead / back) ** 2 * (passed - t - back * ridge))


def _bracket(seen: list[tuple[float, float]], factor: float) -> tuple[float, float]:
    """The farthest distance whose root is below the factor, and the nearest beyond (or inf)."""
    inner = max(distance for distance, root in seen if root < factor)
    return inner, min((distance for distance, root in seen if root >= factor), default=np.inf)


def _aim(seen: list[tuple[float, float]], factor: float) -> float:
    """Where the root should be the factor: inverse interpolation through the nearest points.

    Kept inside the bracket, and within a factor of three beyond what has been seen (Brent 1973,
    ch. 4, for the safeguards).
    """
    inner, outer = _bracket(seen, factor)
    guess = _inverse(_nearest(seen, factor), factor)
    if outer == np.inf:
        return min(max(guess, 1.02 * inner), 3.0 * inner)
    room = 0.05 * (outer - inner)
    return min(max(guess, inner + room), outer - room)


def _nearest(seen: list[tuple[float, float]], factor: float) -> list[tuple[float, float]]:
    finite = [(distance, root) for distance, root in seen if np.isfinite(root)]
    return sorted(finite, key=lambda point: abs(point[1] - factor))[:3]


def _inverse(points: list[tuple[float, float]], root: float) -> float:
    """The distance at a root, by the polynomial through (root, distance) points (Lagrange)."""
    total = 0.0
    for k, (distance, own) in enumerate(points):
        others = [r for j, (_, r) in enumerate(points) if j != k]
        if any(own == other for other in others):
            return points[0][0]
        for other in others:
            distance *= (root - other) / (own - other)
        total += distance
    return total


def _from_prior(walls: Walls, place: int, fit: Fit) -> bool:
    return walls.own_rise(place, fit) > 0.5 * walls.rise(fit)
