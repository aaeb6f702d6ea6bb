"""Many draws: which blocks there are, and who works them out.

NumPy lets go of the interpreter inside its loops, so a second thread nearly halves the time where
the loops are long; each thread has its own buffers.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import numpy as np

from ohmbook.circuit.blocks import Prepared, Workspace
from ohmbook.circuit.road import empty, roads
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

POINTS = 9600
"""Points worked on at a time: as many as stay in the processor's nearest cache."""

SHARED_POINTS = 40_000
"""The same where threads share the work: they get in each other's way only between loops, so that
longer loops are worth more than the nearest cache."""

T = TypeVar("T")
Ready = list[tuple[list[int], Prepared]]


def prepared(ready: Compiled, table: Reals, omega: Reals) -> Ready:
    """What many draws are worked out by: outputs by number, and the plan that answers them.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        omega: every angular frequency there will be, rad/s.
    """
    with np.errstate(all="ignore"):
        return [
            (road.moving, Prepared(road.plan, ready, table, omega))
            for road in roads(ready)
            if road.moving
        ]


def run_many(
    ready: Compiled, table: Reals, omega: Reals, threads: int = 1
) -> tuple[Complexes, bool]:
    """Work out every output over draws and frequencies.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        omega: angular frequency, rad/s, shape (1, m) or (draws, m).
        threads: how many threads share the draws.

    Returns:
        Shape (outputs, draws, m), and whether all of it is finite.
    """
    draws, count = table.shape[1], omega.shape[1]
    values = empty(ready, (draws, count))
    plans = prepared(ready, table, omega)
    points = points_of(threads)
    width = min(count, points)
    height = min(draws, max(1, points // width))

    def some(part: slice) -> bool:
        return _run_draws(plans, omega, values, (part, height, width))

    return values, all(in_parts(some, draws, threads, height))


def points_of(threads: int) -> int:
    """How many points are worked on at a time."""
    return POINTS if threads < 2 else SHARED_POINTS


def in_parts(work: Callable[[slice], T], count: int, threads: int, step: int = 1) -> list[T]:
    """Share things out among threads, each having one run of them, a whole number of steps long."""
    size = step * -(-count // (step * max(1, threads)))
    parts = [slice(k, min(k + size, count)) for k in range(0, count, size)]
    if len(parts) < 2:
        return [work(part) for part in parts]
    with ThreadPoolExecutor(len(parts)) as pool:
        return list(pool.map(work, parts))


def _run_draws(plans: Ready, omega: Reals, values: Complexes, cut: tuple[slice, int, int]) -> bool:
    """Some of the draws, in blocks of so many draws and frequencies."""
    part, height, width = cut
    sound = True
    for moving, plan in plans:
        workspace = Workspace(plan, height * width)
        with np.errstate(all="ignore"):
            for top in range(part.start, part.stop, height):
                rows = slice(top, min(top + height, part.stop))
                for left in range(0, values.shape[2], width):
                    across = slice(left, left + width)
                    here = omega[:, across] if omega.shape[0] == 1 else omega[rows, across]
                    outs = [values[number, rows, across] for number in moving]
                    sound &= workspace.run(rows, here, outs)
    return sound


class Across:
    """All draws at a few frequencies at a time, draws side by side.

    Args:
        plans: what they are worked out by.
        points: how many points are worked on at a time.
    """

    def __init__(self, plans: Ready, points: int) -> None:
        self._points = points
        self._spaces = [(moving, Workspace(plan, points)) for moving, plan in plans]

    def run(self, omega: Reals, values: Complexes) -> bool:
        """Work out every output that is not constant.

        Args:
            omega: angular frequency, rad/s, shape (m,), m at most the points.
            values: shape (outputs, m, draws), to be filled.

        Returns:
            Whether all of it is finite.
        """
        draws = values.shape[2]
        step, sound = max(1, self._points // omega.size), True
        with np.errstate(all="ignore"):
            for moving, workspace in self._spaces:
                for k in range(0, draws, step):
                    part = slice(k, min(k + step, draws))
                    outs = [values[number, :, part] for number in moving]
                    sound &= workspace.run(part, omega[:, None], outs, upright=True)
        return sound
