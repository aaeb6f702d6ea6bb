"""Where a circuit's amplitude is largest or smallest, and where it is 3 dB from that.

Everything is sought on the log of the frequency, many draws side by side: by signs on a grid, by
ever finer grids between them, and at last by Newton's steps, whose slope the circuit itself gives.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import slopes_each
from ohmbook.circuit.network import Id, Network

Floats = NDArray[np.float64]

REACH = 0.8
"""How far from the ideal resonance an extreme is looked for, in ln f: a factor of 2.2."""

FAR = 4.0
"""How far from the extreme the 3 dB points are looked for, in ln f."""

_FIRST, _FINER, _ROUNDS, _POLISH = 41, 9, 4, 4
_NEAREST = 1e-5
_HALF = 0.5 * float(np.log(2.0))
_AROUND = 1e-4


class Amplitude:
    """The log of a network's first probe's amplitude, and its slope by ln f, for many draws.

    Args:
        network: what is solved.
        known: the ids that have a value.
        values: theirs, shape (k, draws).
    """

    def __init__(self, network: Network, known: tuple[Id, ...], values: Floats) -> None:
        self.network, self.known, self.values = network, known, values

    def __call__(self, log_f: Floats) -> tuple[Floats, Floats]:
        """ln|H| and its slope; `log_f` has the shape (draws, points)."""
        points = log_f.shape[1]
        here = dict(zip(self.known, np.repeat(self.values, points, axis=1), strict=True))
        flat = np.exp(log_f).ravel()
        first = np.zeros(flat.size, dtype=np.intp)
        found = slopes_each(self.network, here, flat, first, False)
        tiny = np.maximum(np.abs(found.value), 1e-300)
        slope = (found.by_log_f * np.conj(found.value)).real / tiny**2
        return np.log(tiny).reshape(log_f.shape), slope.reshape(log_f.shape)


def summit(amplitude: Amplitude, near: Floats, largest: bool) -> Floats:
    """ln f of the extreme of each draw; `near` itself where there is none within reach."""
    sign = 1.0 if largest else -1.0

    def slope(log_f: Floats) -> Floats:
        return sign * amplitude(log_f)[1]

    grid = near[:, None] + np.linspace(-REACH, REACH, _FIRST)
    low, high, found = _bracket(slope(grid), grid, near)
    low, high = _closer(slope, low, high)
    at = 0.5 * (low + high)
    for _ in range(_POLISH):
        three = slope(at[:, None] + np.array([-_AROUND, 0.0, _AROUND]) * _narrow(high - low))
        bend = (three[:, 2] - three[:, 0]) / (2.0 * _AROUND * _narrow(high - low)[:, 0])
        step = np.divide(three[:, 1], bend, out=np.zeros_like(at), where=bend < 0.0)
        at = np.clip(at - step, low, high)
    return np.where(found, at, near)


def half_power(amplitude: Amplitude, top: Floats, largest: bool) -> tuple[Floats, Floats]:
    """ln f on either side where the amplitude is a factor of sqrt 2 from its extreme.

    Where it never gets so far, the ends of what is looked at stand in.
    """
    sign = 1.0 if largest else -1.0
    level = sign * amplitude(top[:, None])[0][:, 0] - _HALF
    below, above = (_crossing(amplitude, top, level, (sign, side)) for side in (-1.0, 1.0))
    return below, above


def _crossing(
    amplitude: Amplitude, top: Floats, level: Floats, signs: tuple[float, float]
) -> Floats:
    sign, side = signs

    def over(distance: Floats) -> Floats:
        return np.asarray(sign * amplitude(top[:, None] + side * distance)[0] - level[:, None])

    grid = np.broadcast_to(np.geomspace(_NEAREST, FAR, 2 * _FIRST), (top.size, 2 * _FIRST))
    low, high, found = _bracket(over(grid), grid, np.full(top.size, FAR))
    low, high = _closer(over, low, high)
    at = 0.5 * (low + high)
    for _ in range(_POLISH):
        size, slope = amplitude(top[:, None] + side * at[:, None])
        rest, rise = sign * size[:, 0] - level, sign * side * slope[:, 0]
        step = np.divide(rest, rise, out=np.zeros_like(at), where=rise < 0.0)
        at = np.clip(at - step, low, high)
    return np.asarray(top + side * np.where(found, at, FAR))


def _bracket(
    values: Floats, grid: Floats, otherwise: Floats
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """The first cell of the grid where values go from above 0 to below; and whether there is."""
    falls = (values[:, :-1] > 0.0) & (values[:, 1:] <= 0.0)
    found: NDArray[np.bool_] = np.asarray(falls.any(axis=1))
    cell = np.argmax(falls, axis=1)
    rows = np.arange(grid.shape[0])
    low, high = grid[rows, cell], grid[rows, cell + 1]
    return np.where(found, low, otherwise), np.where(found, high, otherwise), found


def _closer(
    function: Callable[[Floats], Floats], low: Floats, high: Floats
) -> tuple[Floats, Floats]:
    """A bracket narrowed by ever finer grids."""
    share = np.linspace(0.0, 1.0, _FINER)
    for _ in range(_ROUNDS):
        grid = low[:, None] + (high - low)[:, None] * share
        new_low, new_high, found = _bracket(function(grid), grid, low)
        low, high = np.where(found, new_low, low), np.where(found, new_high, high)
    return low, high


def _narrow(width: Floats) -> Floats:
    """A column of scales for differences: within the bracket, and never nothing."""
    return np.maximum(width, 1e-3)[:, None]
