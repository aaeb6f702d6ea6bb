"""From a capture's samples to phasors over frequency: one sine, stepped sines, or a swept sine.

What two channels share cancels in their ratio. What they don't share (gain, time skew) is a cause
of its own and not in the covariance here: it goes into the fit by name, once for all frequencies.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ohmbook.captures.sine import SineFit


def time_skew(fits: Sequence[SineFit], over: int, under: int) -> tuple[float, float]:
    """How much later one channel is than another that is on the same node, in seconds.

    The phase of the ratio is -w skew: weighted least squares over all frequencies.

    Args:
        fits: of records at one frequency or more.
        over: the channel that may be late.
        under: the channel that it is compared with.

    Returns:
        (skew, its standard uncertainty).
    """
    w = np.array([2.0 * np.pi * one.f_hz for one in fits])
    phase, variance = np.empty(len(fits)), np.empty(len(fits))
    for k, one in enumerate(fits):
        h, covariance = one.ratio(over, under)
        across = np.array([-h.imag, h.real]) / abs(h) ** 2
        phase[k], variance[k] = np.angle(h), across @ covariance @ across
    down = float(np.sum(w**2 / variance))
    return float(np.sum(-w * phase / variance)) / down, down**-0.5
