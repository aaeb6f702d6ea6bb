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
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.scale import natural
from ohmbook.evidence.unknown import Id, Unknown
from ohmbook.evidence.validity import Walls

_REFIT = Tuning(iterations=40, tolerance=3e-2, damping=1e-6)
_CLOSE = 1e-2
_STEPS = 40


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


def profile_interval(
    unknowns: Sequence[Unknown],
    blocks: Sequence[Block],
    posterior: Posterior,
    id_: Id,
    probability: float = 0.95,
) -> ProfileInterval:
    """The interval by walking the objective both ways from the mode.

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: what settle gave.
        id_: whose interval.
        probability: between 0 and 1.
    """
    walls, place = Walls.of(unknowns, blocks, posterior), posterior.index(id_)
    factor = coverage(posterior.gain[place], posterior.rectangular, probability) / posterior.u(id_)
    low, high = (_bound(walls, place, side, factor) for side in (-1.0, 1.0))
    scale = posterior.unknowns[place].scale
    return ProfileInterval(
        natural(scale, float(low.t[place])),
        natural(scale, float(high.t[place])),
        _from_prior(walls, place, low),
        _from_prior(walls, place, high),
        min(walls.rise(low), walls.rise(high)) > 0.0,
    )


def _bound(walls: Walls, place: int, side: float, factor: float) -> Fit:
    """Aim at the offset where the root is the factor until it is met, as for a smooth curve."""
    u = float(np.sqrt(walls.posterior.covariance[place, place]))
    seen = [(0.0, 0.0)]
    distance, start = factor * u, None
    for _ in range(_STEPS):
        fit = walls.refit(place, side * distance, _REFIT, start)
        root = walls.root(walls.rise(fit))
        if abs(root - factor) < _CLOSE * factor or walls.rise(fit) < -1e-3:
            break
        seen.append((distance, root))
        distance = _aim(seen, factor)
        start = fit.t if np.isfinite(fit.objective) else None
    return fit


def _aim(seen: list[tuple[float, float]], factor: float) -> float:
    """Where the root should be the factor: inverse interpolation through the nearest points.

    Kept inside the bracket, and within a factor of three beyond what has been seen (Brent 1973,
    ch. 4, for the safeguards).
    """
    inner = max(distance for distance, root in seen if root < factor)
    beyond = [distance for distance, root in seen if root >= factor]
    finite = [(distance, root) for distance, root in seen if np.isfinite(root)]
    nearest = sorted(finite, key=lambda point: abs(point[1] - factor))[:3]
    guess = _inverse(nearest, factor)
    if not beyond:
        return min(max(guess, 1.02 * inner), 3.0 * inner)
    outer = min(beyond)
    room = 0.05 * (outer - inner)
    return min(max(guess, inner + room), outer - room)


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
