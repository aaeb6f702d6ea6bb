"""Many draws: which blocks there are, and who works them out.

NumPy lets go of the interpreter inside its loops, so a second thread nearly halves the time; each
thread has its own buffers.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import numpy as np

from ohmbook.circuit.blocks import Workspace
from ohmbook.circuit.road import empty, roads
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

POINTS = 3200
"""Points worked on at a time."""

T = TypeVar("T")


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
    draws = table.shape[1]
    values = empty(ready, (draws, omega.shape[1]))

    def some(part: slice) -> bool:
        here = omega if omega.shape[0] == 1 else omega[part]
        return _run_draws(ready, table[:, part], here, values[:, part])

    return values, all(in_parts(some, draws, threads))


def in_parts(work: Callable[[slice], T], count: int, threads: int) -> list[T]:
    """Share things out among threads, each having one run of them."""
    size = -(-count // max(1, threads))
    parts = [slice(k, min(k + size, count)) for k in range(0, count, size)]
    if len(parts) < 2:
        return [work(part) for part in parts]
    with ThreadPoolExecutor(len(parts)) as pool:
        return list(pool.map(work, parts))


def _run_draws(ready: Compiled, table: Reals, omega: Reals, values: Complexes) -> bool:
    draws, count = values.shape[1:]
    width = min(count, POINTS)
    height = min(draws, max(1, POINTS // width))
    sound = True
    for road in roads(ready):
        if not road.moving:
            continue
        workspace = Workspace(road.plan, ready, table, height * width)
        with np.errstate(all="ignore"):
            for top in range(0, draws, height):
                rows = slice(top, min(top + height, draws))
                for left in range(0, count, width):
                    across = slice(left, left + width)
                    here = omega[:, across] if omega.shape[0] == 1 else omega[rows, across]
                    outs = [values[number, rows, across] for number in road.moving]
                    sound &= workspace.run(rows, here, outs)
    return sound


class Across:
    """All draws at a few frequencies at a time, draws side by side.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
    """

    def __init__(self, ready: Compiled, table: Reals) -> None:
        self._draws = table.shape[1]
        self._spaces = [
            (road.moving, Workspace(road.plan, ready, table, POINTS))
            for road in roads(ready)
            if road.moving
        ]

    def run(self, omega: Reals, values: Complexes) -> bool:
        """Work out every output that is not constant.

        Args:
            omega: angular frequency, rad/s, shape (m,), m at most `POINTS`.
            values: shape (outputs, m, draws), to be filled.

        Returns:
            Whether all of it is finite.
        """
        step, sound = max(1, POINTS // omega.size), True
        with np.errstate(all="ignore"):
            for moving, workspace in self._spaces:
                for k in range(0, self._draws, step):
                    part = slice(k, min(k + step, self._draws))
                    outs = [values[number, :, part] for number in moving]
                    sound &= workspace.run(part, omega[:, None], outs, upright=True)
        return sound
