"""Single points solved with every check: no wrong answer is passed on unseen.

The fast plan goes first (for pairs, the careful plan); its doubtful points are mended.
"""

from __future__ import annotations

import numpy as np

from ohmbook.circuit.adjoint import sweep
from ohmbook.circuit.mend import mend
from ohmbook.circuit.road import Mask, Road, Solution, blank, broken, doubtful, roads, rounding
from ohmbook.circuit.run import Complexes, keep, ratios
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

_SWEPT_TOGETHER = 2048
"""Up to this many points times outputs are swept at once; beyond, one output after another."""


def first_look(ready: Compiled, leaves: Complexes) -> tuple[Complexes, Mask]:
    """The values by the first road, and which points are doubtful."""
    values = blank(ready.topology, leaves.shape[1:])
    found = np.zeros(leaves.shape[1], np.bool_)
    for road in roads(ready.topology):
        kept = keep(road.plan, leaves)
        values[list(road.numbers)] = ratios(road.plan, kept)[list(road.within)]
        found |= doubtful(road.plan, kept)
    return values, found | broken(values)


def solve_points(ready: Compiled, leaves: Complexes, f_hz: Reals) -> Solution:
    """Solve points with slopes and error analysis, all checks made.

    Args:
        ready: the network, its source not shorted.
        leaves: shape (leaves, points).
        f_hz: shape (points,), for messages.

    Raises:
        ContradictionError: a point without a finite answer.
    """
    shape = (len(ready.topology.probes) + 1, leaves.shape[1])
    values = blank(ready.topology, shape[1:])
    slopes = np.zeros((leaves.shape[0], *shape), np.complex128)
    errors = np.zeros(shape)
    doubt = np.zeros(shape[1], np.bool_)
    for road in roads(ready.topology):
        kept = keep(road.plan, leaves)
        values[list(road.numbers)] = ratios(road.plan, kept)[list(road.within)]
        doubt |= doubtful(road.plan, kept)
        slopes[:, road.numbers], errors[list(road.numbers)] = _traced(road, kept)
    slopes[:, ~np.isfinite(values)] = 0.0
    where = np.flatnonzero(doubt | broken(values))
    if where.size:
        better = mend(ready, leaves[:, where], f_hz[where])
        values[:, where], slopes[:, :, where] = better.values, better.slopes
        errors[:, where] = better.errors
    return Solution(values, slopes, errors)


def _traced(road: Road, kept: Complexes) -> tuple[Complexes, Reals]:
    together = kept.shape[1] * len(road.within) <= _SWEPT_TOGETHER
    groups = [road.within] if together else [(one,) for one in road.within]
    slopes, errors = [], []
    for group in groups:
        slope = sweep(road.plan, kept, group)
        slopes.append(slope[: road.plan.leaves])
        errors.append(rounding(slope, kept))
    return np.concatenate(slopes, axis=1), np.concatenate(errors, axis=0)
