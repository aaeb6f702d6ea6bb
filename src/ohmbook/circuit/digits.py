"""How many digits of an answer rounding can cost, and where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ohmbook.circuit.element import omega_of
from ohmbook.circuit.network import Network, Values
from ohmbook.circuit.points import solve_points
from ohmbook.circuit.response import frequencies, ready_for
from ohmbook.circuit.run import leaves_at
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals, inventory, tabulate
from ohmbook.errors import CallError

ALL_DIGITS = 16.0
"""Digits of a float: no more can be lost."""


@dataclass(frozen=True, slots=True)
class DigitsLost:
    """The worst place.

    Args:
        digits: of about 16 that a float has, how many rounding can cost there.
        owner: the part whose values the answer hangs on most, there; empty where it hangs on none.
        f_hz: the frequency, hertz.
    """

    digits: float
    owner: str
    f_hz: float


def digits_lost(network: Network, values: Values, f_hz: ArrayLike) -> DigitsLost:
    """The digits that the worst of a network's answers can have lost.

    The sum over all operations of |slope of the answer by the result * result|, over the answer:
    the first-order bound of rounding error analysis (N. J. Higham, Accuracy and Stability of
    Numerical Algorithms, 2nd ed. 2002, ch. 3), with the slopes of the reverse sweep.

    Args:
        network: as for `respond`.
        values: as for `respond`, of one draw.
        f_hz: hertz, 0 or above, shape (m,), not empty.

    Raises:
        CircuitError: as for `respond`.
        CallError: more than one draw, or frequencies that cannot be.
    """
    needs = inventory(network)
    table, grid = tabulate(needs, values), frequencies(f_hz)
    if table.shape[1] != 1 or grid.ndim != 1 or not grid.size:
        raise CallError("Digits lost are of one set of values and a list of frequencies.")
    worst = DigitsLost(0.0, "", float(grid[0]))
    for at_dc in (False, True):
        here = grid[(grid == 0.0) == at_dc]
        if here.size:
            found = _worst(ready_for(needs, table, at_dc), table, here)
            worst = max(worst, found, key=lambda one: one.digits)
    return worst


def _worst(ready: Compiled, table: Reals, f_hz: Reals) -> DigitsLost:
    if not ready.topology.source:
        return DigitsLost(0.0, "", float(f_hz[0]))
    leaves, _ = leaves_at(ready, table, omega_of(f_hz))
    solved = solve_points(ready, leaves, f_hz, with_errors=True)
    size = np.abs(solved.values)
    with np.errstate(all="ignore"):
        lost = np.log10(np.maximum(solved.errors, size) / size)
    lost = np.where(np.isfinite(size) & (solved.errors > 0.0), np.minimum(lost, ALL_DIGITS), 0.0)
    output, point = np.unravel_index(int(np.argmax(lost)), lost.shape)
    share = np.abs(solved.slopes[:, output, point] * leaves[:, point])
    owner = ready.owners[int(np.argmax(share))] if share.any() else ""
    return DigitsLost(float(lost[output, point]), owner, float(f_hz[point]))
