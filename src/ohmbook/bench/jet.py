"""Values that carry their slopes: the chain rule from unknowns to a predicted reading.

A `Jet` is evaluated for many draws, with slopes or without; the same expression serves both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Slope = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Jet:
    """m values, real or complex.

    Args:
        value: shape (draws, m).
        slope: shape (draws, m, n), or (1, m, n) where it is the same in every draw: the derivative
            by each unknown; None where none is wanted.
    """

    value: NDArray[Any]
    slope: Slope | None = None

    def __add__(self, other: Jet | float) -> Jet:
        if not isinstance(other, Jet):
            return Jet(self.value + other, self.slope)
        if self.slope is None or other.slope is None:
            return Jet(self.value + other.value)
        return Jet(self.value + other.value, self.slope + other.slope)

    __radd__ = __add__

    def __mul__(self, other: Jet | float | NDArray[np.float64]) -> Jet:
        if not isinstance(other, Jet):
            factor = np.asarray(other)
            return Jet(self.value * factor, _scaled(self.slope, factor))
        value = self.value * other.value
        if self.slope is None or other.slope is None:
            return Jet(value)
        return Jet(value, self.slope * other.value[..., None] + other.slope * self.value[..., None])

    __rmul__ = __mul__

    def magnitude(self) -> Jet:
        """The absolute value; at an exact null its slope is 0."""
        size = np.abs(self.value)
        if self.slope is None:
            return Jet(size)
        unit = np.divide(self.value, size, out=np.zeros_like(self.value), where=size > 0)
        return Jet(size, (np.conj(unit)[..., None] * self.slope).real)

    def degrees(self) -> Jet:
        """The angle in degrees, -180 to 180; at an exact null it is 0 with slope 0."""
        angle = np.degrees(np.angle(self.value))
        if self.slope is None:
            return Jet(angle)
        inverse = np.zeros_like(self.value)
        np.divide(1.0, self.value, out=inverse, where=self.value != 0)
        return Jet(angle, np.degrees((inverse[..., None] * self.slope).imag))

    def real(self) -> Jet:
        """The real part."""
        return Jet(self.value.real, None if self.slope is None else self.slope.real)

    def exp(self) -> Jet:
        """The exponential."""
        value = np.exp(self.value)
        return Jet(value, None if self.slope is None else self.slope * value[..., None])

    def log(self) -> Jet:
        """The natural logarithm of positive values."""
        slope = None if self.slope is None else self.slope / self.value[..., None]
        return Jet(np.log(self.value), slope)

    def pick(self, rows: NDArray[np.intp]) -> Jet:
        """Some of the values, by index, in the order given."""
        if np.array_equal(rows, np.arange(self.value.shape[1])):
            return self
        return Jet(self.value[:, rows], None if self.slope is None else self.slope[:, rows])


def _scaled(slope: Slope | None, factor: NDArray[Any]) -> Slope | None:
    if slope is None:
        return None
    return np.asarray(slope * (factor if factor.ndim == 0 else factor[..., None]))


def concatenate(jets: list[Jet]) -> Jet:
    """All values of several jets in one, in order."""
    if len(jets) == 1:
        return jets[0]
    value = np.concatenate([jet.value for jet in jets], axis=1)
    slopes = [jet.slope for jet in jets if jet.slope is not None]
    if len(slopes) < len(jets):
        return Jet(value)
    draws = max(len(slope) for slope in slopes)
    even = [np.broadcast_to(slope, (draws, *slope.shape[1:])) for slope in slopes]
    return Jet(value, np.concatenate(even, axis=1))
