"""What a step does in a first-order circuit: how long it takes, how far it jumps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST = 1e-12


def rise_s(tau: Floats, jump: Floats, share: float, window_s: float) -> Floats:
    """When a square wave's answer has gone a share of what is seen of it, s.

    The answer 1 - (1 - jump) exp(-t / tau) repeats every two windows, so a wave that turns before
    it has settled is seen smaller, and its parts of 63 % come sooner.

    Args:
        tau: time constant, s, shape (draws,).
        jump: the share that is there at once (a capacitor's series resistance).
        share: which share of the seen swing, 0 to 1.
        window_s: half a period of the square wave, s.
    """
    left = np.exp(-window_s / tau)
    settled = (1.0 - left) / (1.0 + left)
    swing = (1.0 - jump) * settled + jump
    rest = 1.0 - (swing * (2.0 * share - 1.0) - jump) / (1.0 - jump)
    return np.asarray(-tau * np.log(np.maximum(0.5 * rest * (1.0 + left), LEAST)))


def coil_s(*values: Floats | float) -> Floats:
    """The time read on a coil's current; `values` as `TimeConstant` hands them in."""
    henry, own, loss, _, one, other = (np.asarray(one) for one in values[:6])
    share, before, window_s, octave = (float(np.max(one)) for one in values[6:])
    tau = henry * np.exp(-loss * octave) / (own + one + other)
    return _between(tau, np.zeros_like(tau), (share, before, window_s))


def capacitor_s(*values: Floats | float) -> Floats:
    """The time read on a capacitor's voltage; `values` as `TimeConstant` hands them in."""
    farad, own, loss, probe, one, other = (np.asarray(one) for one in values[:6])
    share, before, window_s, octave = (float(np.max(one)) for one in values[6:])
    total = own + one + other
    tau = (farad * np.exp(-loss * octave) + probe) * total
    return _between(tau, own / total, (share, before, window_s))


def jump_volts(open_: Floats, esr: Floats, leads: Floats, one: Floats, other: Floats) -> Floats:
    """The jump at an edge: open x (ESR + leads) / (all resistance in the loop)."""
    own = esr + leads
    return np.asarray(open_ * own / (own + one + other))


def _between(tau: Floats, jump: Floats, told: tuple[float, float, float]) -> Floats:
    share, before, window_s = told
    found = rise_s(tau, jump, share, window_s)
    return np.asarray(found - rise_s(tau, jump, before, window_s)) if before else found
