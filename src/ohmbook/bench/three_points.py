"""A driver's resonance from its impedance curve by three points, and the curve from ratios.

    r0 = Zmax / Re,  f1 and f2 where |Z| = Re sqrt(r0),  fs = sqrt(f1 f2)
    Qms = fs sqrt(r0) / (f2 - f1),  Qes = Qms / (r0 - 1),  Qts = Qms / r0

Reference: R. H. Small, J. Audio Eng. Soc. 20 (5), 1972.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Curve = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Resonance:
    """What three points tell: in Hz, ohm and bare numbers."""

    fs_hz: float
    f1_hz: float
    f2_hz: float
    highest_ohm: float
    r0: float
    qms: float
    qes: float
    qts: float


def three_points(curve: Curve, re_ohm: float) -> Resonance | None:
    """The recipe on a curve of (frequency, |Z|), rising; None where it has no such peak."""
    sizes = [size for _, size in curve]
    top = int(np.argmax(sizes))
    r0 = sizes[top] / re_ohm
    if not 0 < top < len(curve) - 1 or r0 <= 1.0:
        return None
    level = re_ohm * sqrt(r0)
    below, above = _meets(curve[top::-1], level), _meets(curve[top:], level)
    if below is None or above is None:
        return None
    fs = sqrt(below * above)
    qms = fs * sqrt(r0) / (above - below)
    return Resonance(fs, below, above, sizes[top], r0, qms, qms / (r0 - 1.0), qms / r0)


def across_driver(*values: Floats) -> Floats:
    """Volts across the driver: E |Z| / |R + Z| + excess; see `DriverImpedance`."""
    open_, size, cosine, source, series = values[:5]
    behind = source + series
    total = np.sqrt(behind**2 + size**2 + 2.0 * behind * size * cosine)
    return np.asarray(open_ * size / total + _excess(values[5:]))


def across_known(*values: Floats) -> Floats:
    """Volts across the known resistor in the driver's place."""
    open_, known, source, series = values[:4]
    return np.asarray(open_ * known / (source + series + known) + _excess(values[4:]))


def _excess(values: tuple[Floats, ...]) -> Floats:
    return np.asarray(values[0] * values[2] + values[1] * values[3])


def _meets(curve: Curve, level: float) -> float | None:
    """Where a curve that falls from its first point meets a level; straight on the log axis."""
    for (f, size), (after, lower) in pairwise(curve):
        if size >= level >= lower and size > lower:
            share = log(size / level) / log(size / lower)
            return exp(log(f) + share * log(after / f))
    return None
