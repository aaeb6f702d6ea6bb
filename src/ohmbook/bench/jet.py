"""Values that carry their slopes: the chain rule from unknowns to a predicted reading.

A `Jet` is evaluated either for many draws without slopes, or for one set of values with them; the
same expression serves both.
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
        value: shape (draws, m); draws is 1 where slopes are carried.
        slope: shape (m, n), the derivative by each unknown; None for draws.
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
        return Jet(
            value, self.slope * other.value[0][:, None] + other.slope * self.value[0][:, None]
        )

    __rmul__ = __mul__

    def magnitude(self) -> Jet:
        """The absolute value; at an exact null its slope is 0."""
        size = np.abs(self.value)
        if self.slope is None:
            return Jet(size)
        unit = np.divide(self.value, size, out=np.zeros_like(self.value), where=size > 0)
        return Jet(size, (np.conj(unit[0])[:, None] * self.slope).real)

    def degrees(self) -> Jet:
        """The angle in degrees, -180 to 180; at an exact null it is 0 with slope 0."""
        angle = np.degrees(np.angle(self.value))
        if self.slope is None:
            return Jet(angle)
        inverse = np.zeros_like(self.value)
        np.divide(1.0, self.value, out=inverse, where=self.value != 0)
        return Jet(angle, np.degrees((inverse[0][:, None] * self.slope).imag))

    def real(self) -> Jet:
        """The real part."""
        return Jet(self.value.real, None if self.slope is None else self.slope.real)

    def exp(self) -> Jet:
        """The exponential."""
        value = np.exp(self.value)
        return Jet(value, None if self.slope is None else self.slope * value[0][:, None])

    def log(self) -> Jet:
        """The natural logarithm of positive values."""
        slope = None if self.slope is None else self.slope / self.value[0][:, None]
        return Jet(np.log(self.value), slope)

    def pick(self, rows: NDArray[np.intp]) -> Jet:
        """Some of the values, by index, in the order given."""
        return Jet(self.value[:, rows], None if self.slope is None else self.slope[rows])


def _scaled(slope: Slope | None, factor: NDArray[Any]) -> Slope | None:
    if slope is None:
        return None
    return np.asarray(slope * (factor if factor.ndim == 0 else factor[:, None]))


def concatenate(jets: list[Jet]) -> Jet:
    """All values of several jets in one, in order."""
    value = np.concatenate([jet.value for jet in jets], axis=1)
    slopes = [jet.slope for jet in jets if jet.slope is not None]
    return Jet(value, np.concatenate(slopes, axis=0) if len(slopes) == len(jets) else None)
