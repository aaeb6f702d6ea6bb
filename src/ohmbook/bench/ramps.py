"""How the current rises in a coil that saturates, when a steady voltage is put across it.

    L(i) di/dt = V - R i,    L(i) = L0 / (1 + (3/7) (i / I30)^n)

so that the inductance has fallen by 30 % at the current I30; how sharply it bends is n.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_STEPS = 12
_AT_30 = 3.0 / 7.0


def shunt_volts(*values: Floats | float) -> Floats:
    """The voltage on the shunt at a time after switching on, by Runge and Kutta's fourth order.

    Args:
        values: the coil's inductance, resistance and loss, I30 and n; the shunt, what else is in
            series, the supply's voltage; each of shape (draws,), SI. At last the time, s, and
            ln(f / 1 kHz) of the rise.
    """
    henry, own, loss, i_30, bend, shunt, series, volts = (np.asarray(one) for one in values[:8])
    time_s, octave = (float(np.max(one)) for one in values[8:])
    start = henry * np.exp(-loss * octave)
    total = own + shunt + series

    def rise(current: Floats) -> Floats:
        fall = 1.0 + _AT_30 * (np.maximum(current, 0.0) / i_30) ** bend
        return np.asarray((volts - total * current) / start * fall)

    step = time_s / _STEPS
    current = np.zeros(np.broadcast(henry, i_30, volts, shunt).shape)
    for _ in range(_STEPS):
        one = rise(current)
        two = rise(current + 0.5 * step * one)
        three = rise(current + 0.5 * step * two)
        four = rise(current + step * three)
        current = current + step / 6.0 * (one + 2.0 * two + 2.0 * three + four)
    return np.asarray(current * shunt)


def current_at(fall: float, i_30: float, bend: float) -> float:
    """The current at which the inductance has fallen by a share, A."""
    return float(i_30 * (fall / (1.0 - fall) / _AT_30) ** (1.0 / bend))
