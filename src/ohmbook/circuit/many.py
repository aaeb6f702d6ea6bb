"""Many draws: which blocks there are, and who works them out."""

from __future__ import annotations

import numpy as np

from ohmbook.circuit.blocks import Workspace
from ohmbook.circuit.road import empty, roads
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

POINTS = 2400
"""Points worked on at a time."""


def run_many(ready: Compiled, table: Reals, omega: Reals) -> tuple[Complexes, bool]:
    """Work out every output over draws and frequencies.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        omega: angular frequency, rad/s, shape (1, m) or (draws, m).

    Returns:
        Shape (outputs, draws, m), and whether all of it is finite.
    """
    draws, count = table.shape[1], omega.shape[1]
    values = empty(ready, (draws, count))
    width = min(count, POINTS)
    height = min(draws, max(1, POINTS // width))
    sound = True
    for road in roads(ready):
        numbers = road.moving
        if not numbers:
            continue
        workspace = Workspace(road.plan, ready, table, height * width)
        with np.errstate(all="ignore"):
            for top in range(0, draws, height):
                rows = slice(top, min(top + height, draws))
                for left in range(0, count, width):
                    across = slice(left, left + width)
                    here = omega[:, across] if omega.shape[0] == 1 else omega[rows, across]
                    outs = [values[number, rows, across] for number in numbers]
                    sound &= workspace.run(rows, here, outs)
    return values, sound
