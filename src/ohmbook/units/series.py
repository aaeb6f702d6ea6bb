"""Preferred numbers: the E series of IEC 60063, and the preferred values nearest to a value.

E3, E6, E12 and E24 are tables of the standard (E24 is not 10^(n/24) rounded: eight of its values
were kept from older practice). E48, E96 and E192 are 100 * 10^(n/N) rounded to three digits, with
one exception that the standard keeps: 920 in E192, where the formula gives 919.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Literal

from ohmbook.errors import CallError

SeriesName = Literal["E3", "E6", "E12", "E24", "E48", "E96", "E192"]

SERIES_NAMES: tuple[SeriesName, ...] = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")

# Fractions of the value. E3 has no entry: it is for whatever is wider than 20 %.
USUAL_TOLERANCE: Mapping[str, float] = MappingProxyType(
    {"E6": 0.20, "E12": 0.10, "E24": 0.05, "E48": 0.02, "E96": 0.01, "E192": 0.005}
)

# Three digits throughout, so that a value is made from a whole number and a power of ten.
# fmt: off
_E24 = (
    100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300,
    330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910,
)
# fmt: on
_SAME = 1e-9  # relative: far above the rounding of floats, far below the steps of E192


def series(name: SeriesName) -> tuple[float, ...]:
    """One decade of a series, rising from 1.0 to below 10.

    Args:
        name: "E3" to "E192".

    Returns:
        As many values as the name says.

    Raises:
        CallError: there is no such series.

    Reference: IEC 60063, preferred number series for resistors and capacitors.
    """
    return tuple(digits / 100 for digits in _digits(name))


def nearest(value: float, name: SeriesName, count: int = 1) -> tuple[float, ...]:
    """The preferred values nearest to a value by ratio, nearest first.

    Args:
        value: any positive quantity, in any unit.
        name: "E3" to "E192".
        count: how many are wanted.

    Returns:
        `count` values in the unit of `value`; of two equally near, the smaller comes first.

    Raises:
        CallError: the value is not positive and finite, or there is no such series.
    """
    size, exponent = len(_digits(name)), _exponent(value)
    decades = 2 + count // size
    candidates = (
        _scaled(digits, exponent + decade)
        for decade in range(-decades, decades + 1)
        for digits in _digits(name)
    )
    floats = (number for number in candidates if 0 < number < math.inf)
    ranked = sorted(floats, key=lambda number: (abs(math.log(number) - math.log(value)), number))
    return tuple(ranked[:count])


def is_preferred(value: float, name: SeriesName) -> bool:
    """Whether a value stands in a series, in any decade.

    Raises:
        CallError: the value is not positive and finite, or there is no such series.
    """
    return math.isclose(nearest(value, name)[0], value, rel_tol=_SAME)


@cache
def _digits(name: SeriesName) -> tuple[int, ...]:
    """The decade from 100 to below 1000."""
    if name not in SERIES_NAMES:
        raise CallError(f'"{name}" is no series of preferred values: E3 to E192 are.')
    size = int(name[1:])
    if size <= 24:
        return _E24[:: 24 // size]
    rounded = (round(100 * 10 ** (step / size)) for step in range(size))
    return tuple(920 if number == 919 else number for number in rounded)


def _exponent(value: float) -> int:
    if not (math.isfinite(value) and value > 0):
        raise CallError(f"{value} has no nearest preferred value: a positive one is needed.")
    return math.floor(math.log10(value))


def _scaled(digits: int, exponent: int) -> float:
    """The float nearest to digits/100 * 10^exponent, with no product to round."""
    return float(f"{digits}e{exponent - 2}")
