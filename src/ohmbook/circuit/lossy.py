"""The leaves with a loss exponent, filled a block at a time by one matrix product.

Such a leaf is c + s w e^(-loss ln(w/w0)) with c real and s complex, both by draw. In the loss, over
the little that it varies from draw to draw, the exponential is all but a polynomial: it is
interpolated there between a few values of the loss, at the zeros of a Chebyshev polynomial, to the
last digit (L. N. Trefethen, Approximation Theory and Approximation Practice, 2013, ch. 8). What is
left to do at every point is a sum of products.
"""

from __future__ import annotations

from functools import partial
from math import factorial, pi

import numpy as np

from ohmbook.circuit.element import Bank, log_reference
from ohmbook.circuit.polynomials import Fill
from ohmbook.circuit.values import Reals

_TOGETHER = 1.0
"""All leaves share their losses between which they are interpolated while half the range of the
losses, times the largest |ln(w/w0)|, is below this; else each has its own."""

_REACH = 3.0
"""Beyond this, interpolation would cost digits: there the exponential itself is worked out."""

_ROUNDING = 1e-17
_KEPT = 2_000_000
"""Coefficients that are kept from one block of draws for the next time; else made again."""


def lossy_leaves(bank: Bank) -> frozenset[int]:
    """The slots of the leaves with a loss exponent: reactances, and numerators made of them."""
    first = bank.reactances - bank.lossy_capacitor.size
    lossy = bank.lossy.tolist()
    return frozenset([*lossy, *(k + bank.lossy_capacitor.size for k in lossy if k >= first)])


class LossyLeaves:
    """What every lossy leaf that a plan's lines read is made of.

    Args:
        bank: where the leaves come from.
        wanted: their slots.
        table: values by row, shape (rows, draws), SI.
        omega: every angular frequency there will be, rad/s.
    """

    def __init__(self, bank: Bank, wanted: tuple[int, ...], table: Reals, omega: Reals) -> None:
        self._parts: list[_Some] = []
        if not wanted:
            return
        reach = float(np.abs(log_reference(omega)).max(initial=0.0))
        slots = np.array(wanted, dtype=np.intp)
        numerator = slots >= bank.reactances
        source = np.where(numerator, slots - bank.lossy_capacitor.size, slots)
        size, loss = table[bank.main[source]], table[bank.loss[source]]
        constant = np.zeros_like(size)
        coil = slots < bank.coil.size
        constant[coil] = table[bank.coil[slots[coil]]]
        constant[numerator] = 1.0
        # A capacitor's 1 + rY falls with the frequency as its Y does.
        size[numerator] *= table[bank.lossy_capacitor[slots[numerator] - bank.reactances]]
        together = 0.5 * (loss.max() - loss.min()) * reach <= _TOGETHER
        cuts = [slice(0, len(size))] if together else [slice(k, k + 1) for k in range(len(size))]
        self._parts = [_Some(constant[cut], size[cut], loss[cut], reach) for cut in cuts]

    def fills(self, draws: slice, omega: Reals, upright: bool) -> list[Fill]:
        """What fills each leaf in one block, as for `Polynomials.fills`."""
        return [one for some in self._parts for one in some.fills(draws, omega, upright)]


class _Some:
    """Leaves that share the losses between which they are interpolated; (leaves, draws) each."""

    def __init__(self, constant: Reals, size: Reals, loss: Reals, reach: float) -> None:
        self._all = constant, size, loss
        middle, half = 0.5 * (loss.max() + loss.min()), 0.5 * (loss.max() - loss.min())
        self._count = _terms(half * reach) if half * reach <= _REACH else 0
        angle = pi * (np.arange(self._count) + 0.5) / max(1, self._count)
        self._losses = middle + half * np.cos(angle)
        self._scale = middle, half or 1.0
        self._turn = np.cos(np.arange(self._count)[:, None] * angle) * (2.0 / max(1, self._count))
        self._turn[:1] *= 0.5
        self._kept: dict[tuple[int, int, bool], Reals] = {}

    def fills(self, draws: slice, omega: Reals, upright: bool) -> list[Fill]:
        """As for `LossyLeaves.fills`."""
        if not self._count or (not upright and omega.shape[0] > 1):
            turn = (None, draws) if upright else (draws, None)
            return [
                partial(_directly, [one[k][turn] for one in self._all], omega)
                for k in range(len(self._all[0]))
            ]
        factors = self._factors(draws, upright)
        grid = omega[:, 0] if upright else omega[0]
        basis = np.ones((self._count + 1, grid.size))
        basis[:-1] = grid * np.exp(-self._losses[:, None] * log_reference(grid))
        if upright:
            return [partial(np.matmul, basis.T, one) for one in factors]
        sides = np.zeros((2, self._count + 1, grid.size, 2))
        sides[0, :, :, 0] = sides[1, :, :, 1] = basis
        right = sides.reshape(2 * self._count + 2, -1)[:-1]
        return [partial(np.matmul, one, right) for one in factors]

    def _factors(self, draws: slice, upright: bool) -> Reals:
        """For each leaf and draw the weight of each loss in the real and in the imaginary part,
        and the constant: shape (leaves, draws, 2 losses + 1), or upright (leaves, losses + 1,
        2 draws)."""
        key = draws.start, draws.stop, upright
        if key in self._kept:
            return self._kept[key]
        constant, size, loss = (one[:, draws] for one in self._all)
        place = np.clip((loss - self._scale[0]) / self._scale[1], -1.0, 1.0)
        weights = _chebyshev(place, self._count) @ self._turn
        real = weights * (size * np.sin(0.5 * pi * loss))[..., None]
        imaginary = weights * (size * np.cos(0.5 * pi * loss))[..., None]
        if upright:
            found = np.zeros((len(size), self._count + 1, size.shape[1], 2))
            found[:, :-1, :, 0], found[:, :-1, :, 1] = real.swapaxes(1, 2), imaginary.swapaxes(1, 2)
            found[:, -1, :, 0] = constant
            found = np.reshape(found, (len(size), self._count + 1, -1))
        else:
            # In the order of the basis: real parts, the constant, imaginary parts.
            found = np.concatenate([real, constant[..., None], imaginary], axis=-1)
        if sum(one.size for one in self._kept.values()) + found.size <= _KEPT:
            self._kept[key] = found
        return found


def _directly(leaf: list[Reals], omega: Reals, out: Reals) -> None:
    constant, size, loss = leaf
    fall = size * omega * np.exp(-loss * log_reference(omega))
    out[:, ::2] = constant + fall * np.sin(0.5 * pi * loss)
    out[:, 1::2] = fall * np.cos(0.5 * pi * loss)


def _chebyshev(place: Reals, count: int) -> Reals:
    """The first Chebyshev polynomials, shape (*place.shape, count)."""
    found = np.ones((count, *place.shape))
    found[1:2] = place
    for k in range(2, count):
        found[k] = 2.0 * place * found[k - 1] - found[k - 2]
    return np.moveaxis(found, 0, -1)


def _terms(x: float) -> int:
    """How many terms e^(xt), |t| <= 1, needs: its Chebyshev coefficients fall as (x/2)^k / k!."""
    count = 1
    while 2.0 * (0.5 * x) ** count / factorial(count) > _ROUNDING:
        count += 1
    return count
