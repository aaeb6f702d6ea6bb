"""An axis for values and their intervals: straight where they lie close, by factors where not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_plain

_BY_FACTORS_FROM = 4.0
"""Highest by lowest of what is shown, above which the axis goes by factors."""

_ROOM = 0.06
_MOST_TICKS = 6
_FARTHEST = 12.0
"""How many of the narrowest intervals an axis reaches out; what lies farther runs off it."""

_STEPS = (1.0, 2.0, 5.0, 10.0)
_MARKS = ((1.0, 2.0, 5.0), (1.0, 3.0), (1.0,))


@dataclass(frozen=True, slots=True)
class Ruler:
    """An axis from 0 (its low end) to 1.

    Args:
        low, high: its ends, SI.
        by_factors: whether it is logarithmic.
        ticks: place and text of each.
    """

    low: float
    high: float
    by_factors: bool
    ticks: tuple[tuple[float, str], ...]

    def place(self, value: float) -> float:
        """Where a value lies; below 0 or above 1 beyond the ends."""
        return _place(value, self.low, self.high, by_factors=self.by_factors)


def ruler(intervals: Sequence[tuple[float, float, float]], unit: Unit) -> Ruler:
    """An axis on which all values can be seen, and the narrower intervals whole.

    Args:
        intervals: low, value, high of each, SI and positive.
        unit: their unit, for the ticks.
    """
    values = [one for _, one, _ in intervals]
    centre = sorted(values)[len(values) // 2]
    width = _FARTHEST * min(max(high - low, 1e-9 * one) for low, one, high in intervals)
    low = max(min(one for one, _, _ in intervals), min([*values, centre - width]))
    high = min(max(one for _, _, one in intervals), max([*values, centre + width]))
    if high <= low:
        low, high = 0.9 * low, 1.1 * high
    by_factors = low > 0.0 and high / low > _BY_FACTORS_FROM
    if by_factors:
        room = (high / low) ** _ROOM
        low, high = low / room, high * room
    else:
        room = (high - low) * _ROOM
        low, high = low - room, high + room
    at = _factors(low, high) if by_factors else _even(low, high)
    places = [_place(one, low, high, by_factors=by_factors) for one in at]
    texts = _texts(at, unit, alike=not by_factors)
    return Ruler(low, high, by_factors, tuple(zip(places, texts, strict=True)))


def _place(value: float, low: float, high: float, *, by_factors: bool) -> float:
    if by_factors:
        return log10(value / low) / log10(high / low) if value > 0.0 else -1.0
    return (value - low) / (high - low)


def _even(low: float, high: float) -> list[float]:
    """Round values so far apart that there are few of them."""
    ideal = (high - low) / _MOST_TICKS
    power = 10.0 ** floor(log10(ideal))
    step = next(one * power for one in _STEPS if one * power >= ideal * 0.999)
    return [k * step for k in range(ceil(low / step), floor(high / step) + 1)]


def _factors(low: float, high: float) -> list[float]:
    for marks in _MARKS:
        found = list(_within(marks, low, high))
        if len(found) <= _MOST_TICKS:
            return found
    decades = len(found) // _MOST_TICKS + 1
    return found[::decades]


def _within(marks: Iterable[float], low: float, high: float) -> Iterable[float]:
    for decade in range(floor(log10(low)), ceil(log10(high)) + 1):
        for mark in marks:
            value = float(f"{mark:g}e{decade}")
            if low <= value <= high:
                yield value


def _texts(values: Sequence[float], unit: Unit, *, alike: bool) -> list[str]:
    """Round values without the noughts that nobody needs; with as many places each, if alike."""
    shown = [show_plain(one, unit, 4).partition(" ") for one in values]
    needless = [len(text) - len(text.rstrip("0")) if "." in text else 0 for text, _, _ in shown]
    one_unit = len({unit_text for _, _, unit_text in shown}) == 1
    least = min(needless, default=0)
    found = []
    for (text, _, unit_text), more in zip(shown, needless, strict=True):
        cut = least if alike and one_unit else more
        short = (text[:-cut] if cut else text).rstrip(".")
        found.append(f"{short} {unit_text}".strip())
    return found
