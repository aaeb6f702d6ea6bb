"""Plans run on numbers: once with every intermediate kept, or over many draws in blocks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.element import add_series, fill_reactances
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

Complexes = NDArray[np.complex128]
Operator = Callable[..., object]

BLOCK = 2048
"""Points worked on at a time, so that the buffers stay in the processor's cache."""


def leaves_at(ready: Compiled, table: Reals, omega: Reals) -> tuple[Complexes, Complexes]:
    """Every leaf, point by point.

    Args:
        ready: the network.
        table: values by row, shape (rows, points) or (rows, 1).
        omega: angular frequency, rad/s, shape (points,).

    Returns:
        The leaves, shape (leaves, points), and the reactances alone, before the series
        resistance of coils.
    """
    bank = ready.bank
    leaves = np.empty((bank.leaves, omega.size), np.complex128)
    fill_reactances(bank, table, omega, leaves[: bank.reactances])
    reactances = leaves[: bank.reactances].copy()
    add_series(bank, table, leaves)
    leaves[bank.varying :] = table[bank.resistance]
    return leaves, reactances


def keep(plan: Plan, leaves: Complexes) -> Complexes:
    """Run a plan and keep every slot, shape (slots, points)."""
    kept = np.empty((plan.slots, leaves.shape[1]), np.complex128)
    kept[: plan.leaves] = leaves
    kept[plan.leaves] = 1.0
    rows = list(kept)
    result = plan.leaves + 1
    with np.errstate(all="ignore"):
        for code, left, right in plan.operations:
            _OPERATORS[code](rows[left], rows[right], rows[result])
            result += 1
    return kept


def ratios(plan: Plan, kept: Complexes) -> Complexes:
    """The outputs from kept slots, shape (outputs, points); infinite or NaN over a zero."""
    found = np.zeros((len(plan.outputs), kept.shape[1]), np.complex128)
    for k, output in enumerate(plan.outputs):
        if output is not None:
            quotient(kept[output.n], kept[output.d], output.sign, found[k])
    return found


def quotient(n: Complexes, d: Complexes, sign: int, out: Complexes) -> None:
    """sign * n / d; infinite where only d is zero, NaN where both are."""
    with np.errstate(all="ignore"):
        np.divide(n, d, out=out)
        if sign < 0:
            np.negative(out, out=out)
    if not np.isfinite(out).all():
        poles = np.where(n == 0.0, np.nan, np.inf)
        out[...] = np.where(d == 0.0, poles, out)


def run_blocks(
    plan: Plan, ready: Compiled, table: Reals, omega: Reals, outs: list[Complexes | None]
) -> None:
    """Run a plan over draws and frequencies.

    Args:
        plan: the plan.
        ready: the network.
        table: values by row, shape (rows, draws).
        omega: angular frequency, rad/s, shape (1, m) or (draws, m).
        outs: for each output an array of shape (draws, m) to be filled, or None.
    """
    draws, count = table.shape[1], omega.shape[1]
    height, width = min(draws, max(1, BLOCK // max(1, count))), min(count, BLOCK)
    workspace = _Workspace(plan, ready, (height, width))
    with np.errstate(all="ignore"):
        for top in range(0, draws, height):
            rows = slice(top, min(top + height, draws))
            for left in range(0, count, width):
                columns = slice(left, min(left + width, count))
                here = omega[:, columns] if omega.shape[0] == 1 else omega[rows, columns]
                block = [None if out is None else out[rows, columns] for out in outs]
                workspace.run(table[:, rows, None], here, block)


class _Workspace:
    """Buffers for one plan and blocks up to one shape, used again for every block."""

    def __init__(self, plan: Plan, ready: Compiled, shape: tuple[int, int]) -> None:
        self._plan, self._ready = plan, ready
        self._slots = np.zeros((plan.lines.places, *shape), np.complex128)
        self._slots[plan.leaves] = 1.0
        self._places: list[Complexes] = []
        self._shape = (0, 0)

    def run(self, table: Reals, omega: Reals, outs: list[Complexes | None]) -> None:
        bank, lines = self._ready.bank, self._plan.lines
        self._cut(table.shape[1], omega.shape[1])
        places = self._places
        leaves = self._slots[: bank.leaves, : table.shape[1], : omega.shape[1]]
        fill_reactances(bank, table, omega, leaves[: bank.reactances])
        add_series(bank, table, leaves)
        # The imaginary part of a resistance is zero from the start and stays so.
        leaves.real[bank.varying :] = table[bank.resistance]
        for code, left, right, result in lines.steps:
            _OPERATORS[code](places[left], places[right], places[result])
        made = [(one, out) for one, out in zip(self._plan.outputs, outs, strict=True) if one]
        for (output, out), (n, d) in zip(made, lines.answers, strict=True):
            if out is not None:
                quotient(places[n], places[d], output.sign, out)

    def _cut(self, height: int, width: int) -> None:
        """The places cut to the size of a block; the last one may be smaller."""
        if self._shape != (height, width):
            self._places = list(self._slots[:, :height, :width])
            self._shape = (height, width)


def _scale(n: Complexes, d: Complexes, out: Complexes) -> None:
    """The power of two that brings the larger of two magnitudes near 1."""
    largest = np.maximum(np.maximum(np.abs(n.real), np.abs(n.imag)), np.abs(d.real))
    _, exponent = np.frexp(np.maximum(largest, np.abs(d.imag)))
    out[...] = np.ldexp(1.0, np.minimum(-exponent, 1000))


_OPERATORS: dict[str, Operator] = {
    "*": np.multiply,
    "+": np.add,
    "-": np.subtract,
    "scale": _scale,
}
