"""The leaves that vary with frequency, filled a block at a time.

Each of them is c0 + c1 w e^(-loss ln(w/w0)) with c0 real: two small arrays of coefficients by draw,
and for a whole block one matrix product of coefficients and powers of the frequency.
"""

from __future__ import annotations

from functools import cached_property
from math import pi

import numpy as np

from ohmbook.circuit.element import Bank, log_reference
from ohmbook.circuit.lines import Lines
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.values import Reals

_UNIT = np.array([1.0, 0.0])


class Bins:
    """The coefficients of every varying leaf that a plan reads.

    Args:
        bank: where the leaves come from.
        divided: which leaves there are, their places being 0, 1, 2, ... in order.
        table: values by row, shape (rows, draws), SI.
    """

    def __init__(self, bank: Bank, divided: Lines, table: Reals) -> None:
        slots = np.array([slot for slot, _ in divided.leaves], dtype=np.intp)
        numerator = slots >= bank.reactances
        source = np.where(numerator, slots - bank.lossy_capacitor.size, slots)
        loss = table[bank.loss[source]]
        size = table[bank.main[source]]
        constant = np.zeros_like(size)
        coil = slots < bank.coil.size
        constant[coil] = table[bank.coil[slots[coil]]]
        constant[numerator] = 1.0
        size[numerator] *= table[bank.lossy_capacitor[slots[numerator] - bank.reactances]]
        self._lossy = np.flatnonzero(loss.any(axis=1)).tolist()
        # A capacitor's 1 + rY falls with the frequency as its Y does.
        sources = list(dict.fromkeys(source[self._lossy].tolist()))
        self._falls = [sources.index(source[k]) for k in self._lossy]
        self._power = -table[bank.loss[sources]]
        self._spare = np.empty(0)
        self._addend = [(k, constant[k].copy()) for k in self._lossy if constant[k].any()]
        constant[self._lossy] = 0.0
        # (leaf, draw, power): the constant, and the two parts of the factor of w.
        angle = 0.5 * pi * loss
        self._by_draw = np.stack([constant, size * np.sin(angle), size * np.cos(angle)], axis=-1)

    @cached_property
    def _flat(self) -> Reals:
        """(leaf, power, 2 draws): real and imaginary parts side by side."""
        by_draw = self._by_draw
        leaves, draws, _ = by_draw.shape
        flat = np.zeros((leaves, 3, draws, 2))
        flat[:, :2, :, 0] = by_draw[:, :, :2].swapaxes(1, 2)
        flat[:, 2, :, 1] = by_draw[:, :, 2]
        return flat.reshape(leaves, 3, 2 * draws)

    def fill(self, out: Complexes, draws: slice, omega: Reals, upright: bool) -> None:
        """Fill the leaves of one block.

        Args:
            out: shape (leaves, *block), without gaps.
            draws: which draws.
            omega: angular frequency, rad/s; broadcasts with the block.
            upright: whether frequencies go down and draws across.
        """
        if not len(out):
            return
        if upright:
            powers = np.concatenate([np.ones_like(omega), omega, omega], axis=1)
            pairs = slice(2 * draws.start, 2 * draws.stop)
            np.matmul(powers, self._flat[:, :, pairs], out.view(np.float64))
        elif omega.shape[0] == 1:
            factors = self._by_draw[:, draws].reshape(-1, 3)
            flat = out.view(np.float64).reshape(factors.shape[0], -1)
            np.matmul(factors, _powers(omega[0]), flat)
        else:
            part = self._by_draw[:, draws, :, None]
            np.multiply(part[:, :, 1], omega, out.real)
            out.real += part[:, :, 0]
            np.multiply(part[:, :, 2], omega, out.imag)
        if self._lossy:
            self._lose(out, draws, omega, upright)

    def _lose(self, out: Complexes, draws: slice, omega: Reals, upright: bool) -> None:
        """Multiply in the falls with frequency, the same for real and imaginary parts."""
        falls = self._exponents(draws, omega, upright)
        np.exp(falls, falls)
        for k, fall in zip(self._lossy, self._falls, strict=True):
            for part in (out[k].real, out[k].imag):
                np.multiply(part, falls[fall], part)
        turn = (None, draws) if upright else (draws, None)
        for k, addend in self._addend:
            out[k].real += addend[turn]

    def _exponents(self, draws: slice, omega: Reals, upright: bool) -> Reals:
        """-loss ln(w/w0), shape (sources, *block); in buffers, the library is quicker with two
        terms than with one."""
        power, logs = self._power[:, draws], log_reference(omega)
        count = power.shape[1]
        if upright:
            shape: tuple[int, ...] = (len(power), logs.shape[0], count)
            left, right = np.hstack([logs, 0.0 * logs]), power[:, None] * _UNIT[:, None]
        elif omega.shape[0] == 1:
            shape = (len(power) * count, logs.shape[1])
            left, right = power.reshape(-1, 1) * _UNIT, np.vstack([logs, 0.0 * logs])
        else:
            return np.multiply(power[:, :, None], logs)
        size = int(np.prod(shape))
        if self._spare.size < size:
            self._spare = np.empty(size)
        found = self._spare[:size].reshape(shape)
        np.matmul(left, right, found)
        return found.reshape(len(power), *(shape[1:] if upright else (count, -1)))


def _powers(omega: Reals) -> Reals:
    """Shape (3, 2 m): 1 and w in the real parts, w in the imaginary ones."""
    found = np.zeros((3, omega.size, 2))
    found[0, :, 0] = 1.0
    found[1, :, 0] = omega
    found[2, :, 1] = omega
    return found.reshape(3, -1)
