"""A resonance in a complex transmission: its frequency and Q by a fit to all points.

S(f) = leak + peak / (1 + 2j Q (f/f0 - 1)): six real parameters, of which leak and peak are linear,
so that the search goes over f0 and Q alone (variable projection). Source of the model and of the
unloaded Q: A. P. Gregory, NPL Report MAT 58, 2021.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ohmbook.captures.capture import Floats
from ohmbook.captures.sine import Complex
from ohmbook.errors import CaptureError

_MOST_TURNS = 100


@dataclass(frozen=True, slots=True, eq=False)
class Resonance:
    """What a resonance is.

    Args:
        f_hz: the loaded frequency, and its standard uncertainty.
        q: the loaded Q, and its standard uncertainty.
        peak: transmission at the resonance, without the leak.
        leak: what goes past it.
        rms: root mean square of what is left, as a share of the peak.
    """

    f_hz: tuple[float, float]
    q: tuple[float, float]
    peak: complex
    leak: complex
    rms: float

    def unloaded_q(self, through: float) -> float:
        """The Q of the resonator alone.

        Args:
            through: transmission of the leads alone, with the resonator bridged.
        """
        return self.q[0] / (1.0 - abs(self.peak) / through)


def resonance(f_hz: Floats, s: Complex) -> Resonance:
    """Fit a resonance.

    Args:
        f_hz: frequencies, shape (n,).
        s: complex transmission, shape (n,).

    Raises:
        CaptureError: no resonance is there.
    """
    if len(f_hz) < 8:
        raise CaptureError("the resonance", f"{len(f_hz)} points are too few", "measure more")
    top = int(np.argmax(np.abs(s)))
    wide = f_hz[np.abs(s) > np.abs(s[top]) / np.sqrt(2.0)]
    width = float(np.ptp(wide)) or float(np.ptp(f_hz)) / 4.0
    at = np.array([0.0, np.log(f_hz[top] / width)])
    centre = float(f_hz[top])
    for _ in range(_MOST_TURNS):
        basis, slopes, _, left = _projected(f_hz, s, centre, at)
        step = _step(basis, slopes, left)
        at = at + np.clip(step, [-width / centre, -0.5], [width / centre, 0.5])
        if abs(step[0]) * np.exp(at[1]) < 1e-9 and abs(step[1]) < 1e-9:
            return _told(f_hz, s, centre, at)
    raise CaptureError("the resonance", "no single resonance fits", "measure around one peak")


def _projected(
    f_hz: Floats, s: Complex, centre: float, at: Floats
) -> tuple[Complex, Complex, Complex, Complex]:
    """Basis (n, 2), slopes of the model by (ln f0, ln Q) (n, 2), coefficients, residuals."""
    f0, q = centre * np.exp(at[0]), np.exp(at[1])
    off = f_hz / f0 - 1.0
    below = 1.0 + 2j * q * off
    basis = np.asarray(np.column_stack([np.ones_like(below), 1.0 / below]))
    best, *_ = np.linalg.lstsq(basis, s, rcond=None)
    by_f = best[1] * 2j * q * (f_hz / f0) / below**2
    by_q = -best[1] * 2j * q * off / below**2
    slopes = np.asarray(np.column_stack([by_f, by_q]), dtype=complex)
    return basis, slopes, np.asarray(best, dtype=complex), np.asarray(s - basis @ best)


def _free(basis: Complex, slopes: Complex) -> Complex:
    """Slopes without what leak and peak can take up."""
    taken, *_ = np.linalg.lstsq(basis, slopes, rcond=None)
    return np.asarray(slopes - basis @ taken)


def _real(values: Complex) -> Floats:
    return np.concatenate([values.real, values.imag])


def _step(basis: Complex, slopes: Complex, left: Complex) -> Floats:
    step, *_ = np.linalg.lstsq(_real(_free(basis, slopes)), _real(left), rcond=None)
    return np.asarray(step)


def _told(f_hz: Floats, s: Complex, centre: float, at: Floats) -> Resonance:
    basis, slopes, best, left = _projected(f_hz, s, centre, at)
    free = _real(_free(basis, slopes))
    variance = float(np.sum(np.abs(left) ** 2)) / (2 * len(f_hz) - 6)
    u = np.sqrt(np.diag(np.linalg.inv(free.T @ free)) * variance)
    f0, q = centre * float(np.exp(at[0])), float(np.exp(at[1]))
    rms = float(np.sqrt(np.mean(np.abs(left) ** 2)) / abs(best[1]))
    return Resonance(
        (f0, f0 * float(u[0])), (q, q * float(u[1])), complex(best[1]), complex(best[0]), rms
    )
