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

_FIRST, _FINER, _POLISH = 25, 25, 6
_CLOSE = 1e-9  # the step after one so small is of its square
_NEAREST = 1e-5
_HALF = 0.5 * float(np.log(2.0))
_AROUND = 2e-5
"""Of differences along ln f: small beside a resonance of Q = 1000."""


class Amplitude:
    """The log of a network's first probe's amplitude, and its slope by ln f, for many draws.

    Args:
        network: what is solved.
        known: the ids that have a value.
        values: theirs, shape (k, draws).
    """

    def __init__(self, network: Network, known: tuple[Id, ...], values: Floats) -> None:
        self.network, self.known, self.values = network, known, values

    def moved(self, relative: NDArray[np.bool_], step: float) -> Amplitude:
        """The same with each value moved up, then down: 2 k times as many draws."""
        k, draws = self.values.shape
        size = np.where(relative[:, None], step * np.abs(self.values), step)
        values = np.repeat(self.values[:, None], 2 * k, axis=1)
        for j in range(k):
            values[j, 2 * j] += size[j]
            values[j, 2 * j + 1] -= size[j]
        return Amplitude(self.network, self.known, values.reshape(k, 2 * k * draws))

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
        three = slope(at[:, None] + _AROUND * np.array([-1.0, 0.0, 1.0]))
        bend = (three[:, 2] - three[:, 0]) / (2.0 * _AROUND)
        step = np.divide(three[:, 1], bend, out=np.zeros_like(at), where=bend < 0.0)
        at = np.clip(at - step, low, high)
        if (np.abs(step) <= _CLOSE).all():
            break
    return np.where(found, at, near)


def bend_at(amplitude: Amplitude, log_f: Floats) -> Floats:
    """The second derivative of ln|H| by ln f, shape (draws,)."""
    two = amplitude(log_f[:, None] + _AROUND * np.array([-1.0, 1.0]))[1]
    return np.asarray((two[:, 1] - two[:, 0]) / (2.0 * _AROUND))


def half_power(amplitude: Amplitude, top: Floats, largest: bool) -> tuple[Floats, Floats]:
    """ln f on either side where the amplitude is a factor of sqrt 2 from its extreme.

    Where it never gets so far, the ends of what is looked at stand in.
    """
    sign, draws = 1.0 if largest else -1.0, top.size
    level = np.tile(sign * amplitude(top[:, None])[0][:, 0] - _HALF, 2)
    both = Amplitude(amplitude.network, amplitude.known, np.tile(amplitude.values, 2))
    side = np.repeat([-1.0, 1.0], draws)
    distance = _crossing(both, (np.tile(top, 2), side), level, sign)
    return np.asarray(top - distance[:draws]), np.asarray(top + distance[draws:])


def _crossing(
    amplitude: Amplitude, start: tuple[Floats, Floats], level: Floats, sign: float
) -> Floats:
    """How far from `start` (ln f, and to which side) the level is met; `FAR` where it is not."""
    top, side = start

    def over(distance: Floats) -> Floats:
        where = top[:, None] + side[:, None] * distance
        return np.asarray(sign * amplitude(where)[0] - level[:, None])

    grid = np.broadcast_to(np.geomspace(_NEAREST, FAR, _FIRST), (top.size, _FIRST))
    low, high, found = _bracket(over(grid), grid, np.full(top.size, FAR))
    low, high = _closer(over, low, high)
    at = 0.5 * (low + high)
    for _ in range(_POLISH):
        size, slope = amplitude((top + side * at)[:, None])
        rest, rise = sign * size[:, 0] - level, sign * side * slope[:, 0]
        step = np.divide(rest, rise, out=np.zeros_like(at), where=rise < 0.0)
        at = np.clip(at - step, low, high)
        if (np.abs(step) <= _CLOSE).all():
            break
    return np.where(found, at, FAR)


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
    """A bracket narrowed by a finer grid."""
    grid = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, _FINER)
    new_low, new_high, found = _bracket(function(grid), grid, low)
    return np.where(found, new_low, low), np.where(found, new_high, high)
