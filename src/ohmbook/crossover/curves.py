"""Points on curves over a grid of log frequency: zeros, extremes, values between the points.

A curve is a row of an array of shape (draws, m) over `x`, shape (m,), increasing: the natural
logarithm of frequency. Between grid points a cubic through the four nearest points is taken
(Lagrange; on the default grid the error is below 2e-5 dB for slopes up to fifth order), so the
answers hardly move with the grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

FLAT = 1e-9
"""Below this a difference is taken for zero: rounding makes no crossings."""

_CUBIC = 4
_CHORD_STEPS = 6
_STILL = 1e-13
"""A step in log frequency below this is rounding: the zero has been found."""


@dataclass(frozen=True, slots=True, eq=False)
class Zeros:
    """Where curves pass through zero, all rows in one list.

    Args:
        rows: shape (n,), the curve that each belongs to.
        x: shape (n,), where.
        rising: shape (n,), whether the curve goes up there.
    """

    rows: Indices
    x: Floats
    rising: NDArray[np.bool_]


def zeros(x: Floats, curves: Floats) -> Zeros:
    """Every place where a curve changes sign.

    Args:
        x: shape (m,), increasing.
        curves: shape (draws, m); NaN counts as zero.

    Returns:
        The zeros, in order of row and x. A stretch that is flat at zero is one zero.
    """
    sign = np.where(np.abs(curves) > FLAT, np.sign(curves), 0.0)
    seen = np.where(sign != 0.0, np.arange(x.size), -1)
    before = np.full_like(seen, -1)
    before[:, 1:] = np.maximum.accumulate(seen, axis=1)[:, :-1]
    sign_before = np.take_along_axis(sign, np.maximum(before, 0), axis=1)
    rows, right = np.nonzero((before >= 0) & (sign * sign_before < 0.0))
    left = before[rows, right]
    return Zeros(rows, _refined(x, curves, (rows, left, right)), sign[rows, right] > 0.0)


def _refined(x: Floats, curves: Floats, at: tuple[Indices, Indices, Indices]) -> Floats:
    rows, left, right = at
    with np.errstate(invalid="ignore"):
        fall = curves[rows, left] - curves[rows, right]
        share = curves[rows, left] / fall
    # A curve that starts or ends in a null is infinite there: the middle is as good as any.
    share = np.where(np.isfinite(share), share, 0.5)
    width = x[right] - x[left]
    found = x[left] + share * width
    neighbours = (right == left + 1) & np.isfinite(fall)
    if x.size < _CUBIC or not found.size:
        return found
    cubic = _Cubic(x, curves, rows, left)
    with np.errstate(invalid="ignore"):
        per_step = np.where(neighbours, width / np.where(neighbours, fall, 1.0), 0.0)
        for _ in range(_CHORD_STEPS):
            step = cubic.at(found) * per_step
            step = np.where(np.isfinite(step), step, 0.0)
            found = np.clip(found + step, x[left], x[right])
            if np.abs(step).max() < _STILL:
                break
    return found


class _Cubic:
    """For each of some intervals of a curve, the cubic through its four nearest points."""

    def __init__(self, x: Floats, curves: Floats, rows: Indices, left: Indices) -> None:
        near = np.clip(left - 1, 0, x.size - _CUBIC)[:, None] + np.arange(_CUBIC)
        a, b, c, d = self._points = x[near].T
        spans = (
            (a - b) * (a - c) * (a - d),
            (b - a) * (b - c) * (b - d),
            (c - a) * (c - b) * (c - d),
            (d - a) * (d - b) * (d - c),
        )
        self._factors = curves[rows[:, None], near].T / np.array(spans)

    def at(self, wanted: Floats) -> Floats:
        """The values, one in each interval; not finite beside a null."""
        a, b, c, d = wanted - self._points
        of_a, of_b, of_c, of_d = self._factors
        return np.asarray((of_a * b + of_b * a) * (c * d) + (of_c * d + of_d * c) * (a * b))


def values_at(x: Floats, curves: Floats, rows: Indices, wanted: Floats) -> Floats:
    """The value of curve `rows[i]` at `wanted[i]`, by the cubic through its four neighbours.

    Args:
        x: shape (m,), increasing.
        curves: shape (draws, m).
        rows: shape (n,).
        wanted: shape (n,), inside the range of x.

    Returns:
        Shape (n,).
    """
    count = min(_CUBIC, x.size)
    first = np.clip(np.searchsorted(x, wanted) - 2, 0, x.size - count)
    near = first[:, None] + np.arange(count)
    points, heights = x[near], curves[rows[:, None], near]
    away = wanted[:, None] - points
    total = np.zeros(wanted.shape)
    for i in range(count):
        weight = np.ones(wanted.shape)
        for j in range(count):
            if j != i:
                weight *= away[:, j] / (points[:, i] - points[:, j])
        # Beside a null a neighbour is infinite: a weight of exactly zero must silence it.
        with np.errstate(invalid="ignore"):
            total += np.where(weight == 0.0, 0.0, weight * heights[:, i])
    return total


def lowest(x: Floats, curves: Floats) -> tuple[Floats, Floats]:
    """The minimum of each curve and where it is.

    The vertex of the parabola through the lowest grid point and its neighbours; at an end of
    the grid, the end itself. Of several that are equal to within 1e-9, the first.

    Args:
        x: shape (m,), increasing.
        curves: shape (draws, m).

    Returns:
        The minima and their x, each of shape (draws,).
    """
    floor = np.min(curves, axis=1, keepdims=True)
    spot = np.argmax(curves <= floor + FLAT * np.abs(floor), axis=1)
    rows = np.arange(curves.shape[0])
    value, where = curves[rows, spot], x[spot]
    inside = np.flatnonzero((spot > 0) & (spot < x.size - 1))
    if inside.size:
        value[inside], where[inside] = _vertex(x, curves, inside, spot[inside])
    return value, where


def _vertex(x: Floats, curves: Floats, rows: Indices, spot: Indices) -> tuple[Floats, Floats]:
    middle = curves[rows, spot]
    back, ahead = x[spot] - x[spot - 1], x[spot + 1] - x[spot]
    with np.errstate(invalid="ignore", over="ignore"):
        slope_back = (middle - curves[rows, spot - 1]) / back
        slope_ahead = (curves[rows, spot + 1] - middle) / ahead
        bend = (slope_ahead - slope_back) / (back + ahead)
        slope = (slope_back * ahead + slope_ahead * back) / (back + ahead)
        shift = -slope / (2.0 * np.where(bend == 0.0, 1.0, bend))
    usable = np.isfinite(shift) & (bend != 0.0)
    shift = np.where(usable, np.clip(shift, -back, ahead), 0.0)
    with np.errstate(invalid="ignore"):
        value = np.where(usable, middle + slope * shift + bend * shift**2, middle)
    return value, x[spot] + shift
