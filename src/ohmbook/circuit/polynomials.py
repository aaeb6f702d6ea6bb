"""Polynomials in jw: coefficients once a draw, values a block at a time by one matrix product."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from ohmbook.circuit.element import Bank
from ohmbook.circuit.lines import Lines
from ohmbook.circuit.values import Reals

Fill = Callable[[Reals], object]
"""Fills a block, given as shape (down, 2 across): real and imaginary parts side by side."""

_Coefficients = tuple[Reals | None, ...]
"""By power, from 0; None is zero throughout."""


class Polynomials:
    """The polynomials that a plan's lines read.

    Args:
        bank: where the leaves come from.
        divided: which polynomials there are.
        leaves: how many leaves; the slot of that number holds 1.
        table: values by row, shape (rows, draws), SI.
    """

    def __init__(self, bank: Bank, divided: Lines, leaves: int, table: Reals) -> None:
        found = _made(bank, divided, leaves, table)
        wanted = [found[slot] for slot in divided.filled]
        # In matrix products the library is quicker with two terms than with one.
        self._powers = max((len(one) for one in wanted), default=2)
        self._powers = max(2, self._powers)
        self._by_draw = np.zeros((len(wanted), table.shape[1], self._powers))
        for k, one in enumerate(wanted):
            for power, row in enumerate(one):
                if row is not None:
                    # j^2 = -1, so that two powers are real, two imaginary, by turns of the sign.
                    self._by_draw[k, :, power] = row if power % 4 < 2 else -row
        self._flat = np.empty((0, 0, 0))

    def fills(self, draws: slice, omega: Reals, upright: bool) -> list[Fill]:
        """What fills each polynomial in one block.

        Args:
            draws: which draws.
            omega: angular frequency, rad/s; broadcasts with the block.
            upright: whether frequencies go down and draws across.
        """
        if upright:
            pairs = slice(2 * draws.start, 2 * draws.stop)
            powers = omega ** np.arange(self._powers)
            return [partial(np.matmul, powers, one[:, pairs]) for one in self._side_by_side()]
        if omega.shape[0] == 1:
            powers = _in_pairs(omega[0], self._powers)
            return [partial(np.matmul, one, powers) for one in self._by_draw[:, draws]]
        return [partial(_directly, one, omega) for one in self._by_draw[:, draws]]

    def _side_by_side(self) -> Reals:
        """(polynomial, power, 2 draws): even powers in the real parts, odd in the imaginary."""
        if not self._flat.size:
            count, draws, powers = self._by_draw.shape
            flat = np.zeros((count, powers, draws, 2))
            for power in range(powers):
                flat[:, power, :, power % 2] = self._by_draw[:, :, power]
            self._flat = flat.reshape(count, powers, 2 * draws)
        return self._flat


def _directly(by_draw: Reals, omega: Reals, out: Reals) -> None:
    """Each draw at frequencies of its own."""
    out[...] = 0.0
    for power, row in enumerate(by_draw.T):
        out[:, power % 2 :: 2] += row[:, None] * omega**power


def _in_pairs(omega: Reals, powers: int) -> Reals:
    """Shape (powers, 2 m): even powers of w in the real parts, odd in the imaginary ones."""
    found = np.zeros((powers, omega.size, 2))
    for power in range(powers):
        found[power, :, power % 2] = omega**power
    return found.reshape(powers, -1)


def _made(bank: Bank, divided: Lines, leaves: int, table: Reals) -> dict[int, _Coefficients]:
    read = {slot for step in divided.apart for slot in step[1:3]} | {*divided.filled}
    found: dict[int, _Coefficients] = {
        slot: _leaf(bank, table, slot) for slot in read if slot < leaves
    }
    found[leaves] = (np.ones(table.shape[1]),)
    for code, left, right, result in divided.apart:
        one, other = found[left], found[right]
        found[result] = _times(one, other) if code == "*" else _plus(one, other, code == "-")
    return found


def _leaf(bank: Bank, table: Reals, slot: int) -> _Coefficients:
    """r + jwL, jwC, 1 + jwrC or R."""
    if slot >= bank.varying:
        return (table[bank.resistance[slot - bank.varying]],)
    if slot >= bank.reactances:
        series = table[bank.lossy_capacitor[slot - bank.reactances]]
        main = table[bank.main[slot - bank.lossy_capacitor.size]]
        return np.ones_like(series), series * main
    constant = table[bank.coil[slot]] if slot < bank.coil.size else None
    return constant, table[bank.main[slot]]


def _times(one: _Coefficients, other: _Coefficients) -> _Coefficients:
    found: list[Reals | None] = [None] * (len(one) + len(other) - 1)
    for i, left in enumerate(one):
        for j, right in enumerate(other):
            if left is not None and right is not None:
                part, there = left * right, found[i + j]
                found[i + j] = part if there is None else there + part
    return tuple(found)


def _plus(one: _Coefficients, other: _Coefficients, minus: bool) -> _Coefficients:
    longer = max(len(one), len(other))
    padded = [(*some, *(None,) * (longer - len(some))) for some in (one, other)]
    return tuple(_sum(left, right, minus) for left, right in zip(*padded, strict=True))


def _sum(left: Reals | None, right: Reals | None, minus: bool) -> Reals | None:
    if right is None:
        return left
    if left is None:
        return -right if minus else right
    return left - right if minus else left + right
