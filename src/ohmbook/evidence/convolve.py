"""Coverage of a sum of independent rectangles and a normal, exact.

The sum S = sum g_i e_i with e_i of unit variance: rectangles of half-width sqrt(3) |g_i|, and
normals that merge into one. Its density is even, so the interval of probability p is ±z with
P(|S| <= z) = p. The distribution function comes from the characteristic function
(Gil-Pelaez 1951, Biometrika 38: F(z) = 1/2 + (1/pi) int phi(w) sin(wz)/w dw), summed as a Fourier
series over a period longer than the support, where the sum is exact (Bohman 1961; Davies 1973).
A lone rectangle, two of them, and one with a normal have closed forms.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.tails import normal_below, normal_quantile
from ohmbook.evidence.unknown import Array, Shape

_NEARLY_NORMAL = 0.06
_LUMPED = 1e-6
_MOST = 16
_TERMS = 400
_SMALLEST = 1e-12
_REACH = 8.0

Cumulative = Callable[[float], tuple[float, float]]


def half_width(gains: Array, shapes: Sequence[Shape], probability: float = 0.95) -> float:
    """z with P(|sum gains_i e_i| <= z) = probability, e_i of unit variance and stated shape.

    Args:
        gains: shape (k,), in the unit of the sum.
        shapes: "normal" or "rectangle" for each.
        probability: between 0 and 1.

    Reference:
        JCGM 101:2008, 7.7 (probabilistically symmetric; also the shortest, the density being even).
    """
    rectangular = np.array([shape == "rectangle" for shape in shapes], dtype=bool)
    return coverage(gains, rectangular, probability)


def coverage(gains: Array, rectangular: NDArray[np.bool_], probability: float) -> float:
    """As `half_width`, the shapes as a mask."""
    u = float(np.sqrt(gains @ gains))
    if u == 0.0:
        return 0.0
    shares = np.where(rectangular, (gains / u) ** 2, 0.0)
    order = np.argsort(shares)[::-1]
    beyond = np.cumsum((shares[order] ** 2)[::-1])[::-1]
    if beyond[0] <= _NEARLY_NORMAL and abs(probability - 0.95) <= 0.05:
        return u * _cornish_fisher(float(beyond[0]), shares, probability)
    kept = min(_MOST, int(np.count_nonzero(beyond > _LUMPED * beyond[0])))
    widths = np.sqrt(3.0 * shares[order[:kept]])
    sigma = sqrt(max(0.0, 1.0 - float(widths @ widths) / 3.0))
    return u * _quantile(_cumulative(widths, sigma), widths, sigma, probability)


def _cornish_fisher(fourth: float, shares: Array, probability: float) -> float:
    """The quantile from excess kurtosis and the sixth cumulant (Cornish, Fisher 1938).

    A rectangle of unit variance has cumulants kappa4 = -6/5 and kappa6 = 48/7.
    """
    z = normal_quantile(0.5 + probability / 2.0)
    four, six = -1.2 * fourth, 48.0 / 7.0 * float((shares**3).sum())
    return (
        z
        + four * (z**3 - 3.0 * z) / 24.0
        + six * (z**5 - 10.0 * z**3 + 15.0 * z) / 720.0
        - four**2 * (3.0 * z**5 - 24.0 * z**3 + 29.0 * z) / 384.0
    )


def _cumulative(widths: Array, sigma: float) -> Cumulative:
    """z -> P(|S| <= z) and its derivative, for unit total variance."""
    if len(widths) == 0:
        return lambda z: (2.0 * normal_below(z) - 1.0, 2.0 * _bell(z))
    if len(widths) == 1:
        return lambda z: _one_rectangle(float(widths[0]), sigma, z)
    if len(widths) == 2 and sigma < 1e-3:
        return lambda z: _trapezoid(float(widths[0]), float(widths[1]), z)
    return _series(widths, sigma)


def _one_rectangle(a: float, sigma: float, z: float) -> tuple[float, float]:
    """A rectangle of half-width a and a normal of sigma: F integrates to x Phi(x) + phi(x)."""
    if sigma < 1e-6:
        return min(z / a, 1.0), 1.0 / a
    high, low = (z + a) / sigma, (z - a) / sigma
    inside = sigma / (2.0 * a) * (_ramp(high) - _ramp(low))
    return 2.0 * inside - 1.0, (normal_below(high) - normal_below(low)) / a


def _trapezoid(a: float, b: float, z: float) -> tuple[float, float]:
    """Two rectangles of half-widths a >= b: flat to a - b, then straight down to a + b."""
    if z <= a - b:
        return z / a, 1.0 / a
    rest = max(a + b - z, 0.0)
    return 1.0 - rest * rest / (4.0 * a * b), max(rest / (2.0 * a * b), 1e-9)


def _series(widths: Array, sigma: float) -> Cumulative:
    period = min(float(widths.sum()) + _REACH * sigma, _REACH)
    # beyond these the normal's factor alone is too small
    terms = min(_TERMS, 1 + int(sqrt(-2.0 * log(_SMALLEST)) * period / (np.pi * sigma + 1e-9)))
    k = np.arange(1, terms + 1)
    w = np.pi * k / period
    phi = np.exp(-0.5 * (sigma * w) ** 2) * np.prod(np.sinc(np.outer(widths, w) / np.pi), axis=0)
    last = int(np.max(np.nonzero(np.abs(phi) > _SMALLEST)[0], initial=0)) + 1
    phi, w, k = phi[:last], w[:last], k[:last]

    def cumulative(z: float) -> tuple[float, float]:
        angle = w * z
        inside = z / period + 2.0 / np.pi * float(phi / k @ np.sin(angle))
        return inside, (1.0 + 2.0 * float(phi @ np.cos(angle))) / period

    return cumulative


def _quantile(cumulative: Cumulative, widths: Array, sigma: float, probability: float) -> float:
    """Newton's steps inside a bracket that shrinks."""
    low, high = 0.0, float(widths.sum()) + _REACH * sigma
    z = min(normal_quantile(0.5 + probability / 2.0), 0.97 * high)
    for _ in range(80):
        inside, density = cumulative(z)
        miss = inside - probability
        low, high = (low, z) if miss > 0.0 else (z, high)
        step = z - miss / density if density > 1e-12 else low
        previous, z = z, step if low < step < high else 0.5 * (low + high)
        if abs(z - previous) < 1e-9:
            break
    return z


def _bell(x: float) -> float:
    return float(np.exp(-0.5 * x * x) / sqrt(2.0 * np.pi))


def _ramp(x: float) -> float:
    return x * normal_below(x) + _bell(x)
