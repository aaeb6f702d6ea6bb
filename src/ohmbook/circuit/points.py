"""Single points solved with every check: no wrong answer is passed on unseen.

The fast plan goes first (for pairs, the careful plan); its doubtful points are mended.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.adjoint import sweep, sweep_each
from ohmbook.circuit.mend import mend
from ohmbook.circuit.road import Mask, Road, Solution, blank, broken, doubtful, roads
from ohmbook.circuit.rounding import growth
from ohmbook.circuit.run import Complexes, keep, ratios
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

_SWEPT_TOGETHER = 2048
"""Outputs are swept together as long as points times outputs are no more than this."""


def first_look(ready: Compiled, leaves: Complexes) -> tuple[Complexes, Mask]:
    """The values by the first road, and which points are doubtful."""
    values = blank(ready, leaves.shape[1:])
    found = np.zeros(leaves.shape[1], np.bool_)
    for road in roads(ready):
        kept = keep(road.plan, leaves)
        values[road.numbers] = ratios(road.plan, kept)[road.within]
        found |= doubtful(road.plan, kept)
    return values, found | broken(values)


def solve_points(
    ready: Compiled, leaves: Complexes, f_hz: Reals, with_errors: bool = False
) -> Solution:
    """Solve points with their slopes, all checks made.

    Args:
        ready: the network, its source not shorted.
        leaves: shape (leaves, points).
        f_hz: shape (points,), for messages.
        with_errors: whether to work out what rounding does.

    Raises:
        ContradictionError: a point without a finite answer.
    """
    shape = (len(ready.topology.probes) + 1, leaves.shape[1])
    values = blank(ready, shape[1:])
    slopes = np.zeros((leaves.shape[0], *shape), np.complex128)
    errors = np.zeros(shape)
    doubt = np.zeros(shape[1], np.bool_)
    for road in roads(ready):
        kept = keep(road.plan, leaves)
        values[road.numbers] = ratios(road.plan, kept)[road.within]
        doubt |= doubtful(road.plan, kept)
        for numbers, slope in _swept(road, kept):
            slopes[:, numbers] = slope[: leaves.shape[0]]
            if with_errors:
                errors[numbers] = growth(road.plan, slope, kept, values[numbers])
    slopes[:, ~np.isfinite(values)] = 0.0
    where, first = np.flatnonzero(doubt | broken(values)), errors
    if where.size:
        better = mend(ready, leaves[:, where], f_hz[where], with_errors)
        values[:, where], slopes[:, :, where] = better.values, better.slopes
        errors = first.copy()
        errors[:, where] = better.errors
    return Solution(values, slopes, errors, first)


def solve_each(
    ready: Compiled,
    leaves: Complexes,
    f_hz: Reals,
    outputs: NDArray[np.intp],
    careful: bool = True,
) -> tuple[Solution, Complexes]:
    """Solve points with the slopes of one output each.

    Args:
        ready: the network, its source not shorted.
        leaves: shape (leaves, points).
        f_hz: shape (points,), for messages.
        outputs: which output at each point, the input impedance last, shape (points,).
        careful: whether to look for cancelled digits too, or only for what is not finite.

    Returns:
        The solution with one output, and the input impedance at every point.

    Raises:
        ContradictionError: a point without a finite answer.
    """
    points = np.arange(leaves.shape[1])
    values = blank(ready, points.shape)
    slopes = np.zeros((leaves.shape[0], 1, points.size), np.complex128)
    doubt = np.zeros(points.size, np.bool_)
    for road in roads(ready):
        kept = keep(road.plan, leaves)
        values[road.numbers] = ratios(road.plan, kept)[road.within]
        if careful:
            doubt |= doubtful(road.plan, kept)
        within = np.full(len(values), -1, dtype=np.intp)
        within[road.numbers] = road.within
        if (within[outputs] >= 0).any():
            own = sweep_each(road.plan, kept, within[outputs])[: leaves.shape[0]]
            slopes[:, :, within[outputs] >= 0] = own[:, :, within[outputs] >= 0]
    chosen = values[outputs, points][None]
    slopes[:, ~np.isfinite(chosen)] = 0.0
    where = np.flatnonzero(doubt | broken(values))
    if where.size:
        better = mend(ready, leaves[:, where], f_hz[where])
        values[:, where] = better.values
        chosen[0, where] = better.values[outputs[where], np.arange(where.size)]
        slopes[:, 0, where] = better.slopes[:, outputs[where], np.arange(where.size)]
    none = np.zeros(chosen.shape)
    return Solution(chosen, slopes, none, none), values[-1]


def _swept(road: Road, kept: Complexes) -> Iterator[tuple[list[int], Complexes]]:
    """Outputs by number and their slopes by every slot: together where few, else one by one."""
    step = max(1, _SWEPT_TOGETHER // max(1, kept.shape[1]))
    for k in range(0, len(road.within), step):
        slope = sweep(road.plan, kept, tuple(road.within[k : k + step]))
        yield road.numbers[k : k + step], slope
