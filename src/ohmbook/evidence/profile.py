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
    """Grow the offset until the root passes the factor, then close in (Illinois method)."""
    offset = side * factor * float(np.sqrt(walls.posterior.covariance[place, place]))
    inner, inner_miss, outer, outer_miss = 0.0, -factor, np.inf, np.inf
    fit = walls.refit(place, offset, _REFIT)
    for _ in range(_STEPS):
        miss = walls.root(walls.rise(fit)) - factor
        if abs(miss) < _CLOSE * factor or walls.rise(fit) < -1e-3:
            break
        if miss < 0.0:
            inner, inner_miss, outer_miss = offset, miss, 0.5 * outer_miss
        else:
            outer, outer_miss, inner_miss = offset, miss, 0.5 * inner_miss
        offset = _next(inner, inner_miss, outer, outer_miss, offset)
        start = fit.t if np.isfinite(fit.objective) else None
        fit = walls.refit(place, offset, _REFIT, start)
    return fit


def _next(inner: float, inner_miss: float, outer: float, outer_miss: float, offset: float) -> float:
    if not np.isfinite(outer):
        return 1.5 * offset
    if not np.isfinite(outer_miss):
        return 0.5 * (inner + outer)
    share = -inner_miss / (outer_miss - inner_miss)
    return inner + min(max(share, 0.05), 0.95) * (outer - inner)


def _from_prior(walls: Walls, place: int, fit: Fit) -> bool:
    return walls.own_rise(place, fit) > 0.5 * walls.rise(fit)
