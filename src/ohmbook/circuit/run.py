"""Plans run on numbers, every intermediate kept."""

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
            OPERATORS[code](rows[left], rows[right], rows[result])
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


_EXPONENT = 0x7FF << 52
_LEAST, _MOST, _TURNED = 23 << 52, 0x7FD << 52, 0x7FE << 52


def _scale(n: Complexes, d: Complexes, out: Complexes) -> None:
    """The power of two that brings the larger of two magnitudes near 1, by its exponent's bits."""
    parts = np.abs(n.view(np.float64))
    np.maximum(parts, np.abs(d.view(np.float64)), out=parts)
    size = np.maximum(parts[..., ::2], parts[..., 1::2])
    bits = size.view(np.int64)
    np.bitwise_and(bits, _EXPONENT, bits)
    np.minimum(np.maximum(bits, _LEAST, out=bits), _MOST, out=bits)
    np.subtract(_TURNED, bits, bits)
    out[...] = size


OPERATORS: dict[str, Operator] = {
    "*": np.multiply,
    "+": np.add,
    "-": np.subtract,
    "scale": _scale,
}
