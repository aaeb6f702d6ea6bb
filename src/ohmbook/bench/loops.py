"""How a coil and a capacitor ring when left alone: the natural frequency of their loop."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import REFERENCE_HZ

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_STEPS = 12
_CLOSE = 1e-14
_TINY = 1e-9


def natural(*values: Floats) -> Complexes:
    """The root s = -decay + j 2 pi f of the loop's impedance, 1/s, by Newton's steps.

    Z(s) = r + s L (s / w0)^-loss, beside its winding capacitance, and the capacitor's
    ESR + (s / w0)^loss / (s C), beside the probe's capacitance, and the resistances in series.

    Args:
        values: inductance, resistance, loss and winding capacitance of the coil; capacitance,
            resistance and loss of the capacitor; the probe's capacitance across the capacitor;
            two more resistances in the loop. Each of shape (draws,), SI.
    """
    inductance, capacitance = values[0], values[4] + values[7]
    total = values[1] + values[5] + values[8] + values[9]
    decay = total / (2.0 * inductance)
    square = 1.0 / (inductance * capacitance) - decay**2
    s = np.asarray(-decay + 1j * np.sqrt(np.maximum(square, (_TINY / capacitance / total) ** 2)))
    for _ in range(_STEPS):
        step = 1e-6 * s
        middle = _loop(s, values)
        rise = (_loop(s + step, values) - _loop(s - step, values)) / (2.0 * step)
        change = np.divide(middle, rise, out=np.zeros_like(s), where=rise != 0.0)
        s = s - change
        if (np.abs(change) <= _CLOSE * np.abs(s)).all():
            break
    return np.asarray(s)


def ring_hz(*values: Floats) -> Floats:
    """The frequency of the ringing, Hz."""
    return np.asarray(np.abs(natural(*values).imag) / (2.0 * pi))


def decay_s(*values: Floats) -> Floats:
    """The time in which the envelope falls to 1/e, s."""
    return np.asarray(-1.0 / natural(*values).real)


def peak_volts(first: Floats, *values: Floats) -> Floats:
    """The n-th peak after the first: first x exp(-n x logarithmic decrement).

    Args:
        first: the first peak.
        values: those of `natural`, and n at last.
    """
    s = natural(*values[:-1])
    return np.asarray(first * np.exp(values[-1] * 2.0 * pi * s.real / np.abs(s.imag)))


def _loop(s: Complexes, values: tuple[Floats, ...]) -> Complexes:
    inductance, ohm, loss, winding, capacitance, esr, c_loss, probe, one, other = values
    turn = np.log(s / (2.0 * pi * REFERENCE_HZ))
    coil = ohm + s * inductance * np.exp(-loss * turn)
    coil = coil / (1.0 + s * winding * coil)
    capacitor = esr + np.exp(c_loss * turn) / (s * capacitance)
    return np.asarray(coil + capacitor / (1.0 + s * probe * capacitor) + one + other)
