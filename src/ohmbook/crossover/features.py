"""What a response comes to: crossings, lowest impedance, levels, corners and slopes.

Each is found the same way on the curve of the best values and on the curve of every draw, so a
value and its interval can't disagree in method. Intervals are the 2.5 % and 97.5 % quantiles of
the draws (JCGM 101:2008, 7.7, probabilistically symmetric).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from math import exp, log, log10
from typing import Any, Literal

import numpy as np

from ohmbook.crossover.curves import Floats, Indices, Zeros, lowest, values_at, zeros
from ohmbook.units.show import show_plain

LOW, HIGH = 0.025, 0.975
"""The quantiles of a 95 % interval."""

DEPTHS = {"minus_3_db": 10.0 * log10(2.0), "minus_6_db": 20.0 * log10(2.0)}
"""Corners are told where half the power (-3.0103 dB) and half the voltage (-6.0206 dB) of the
output's highest level is left."""

SLOPE_OCTAVES = 3.0
"""The slope is taken over the octave that ends this many octaves beyond the -3 dB corner, or at
the end of the grid; nearer than `SLOPE_OCTAVES_LEAST` the curve still bends, and none is told."""
SLOPE_OCTAVES_LEAST = 2.0


@dataclass(frozen=True, slots=True)
class Bounded:
    """A value with its 95 % interval; no interval (None) where there were no draws."""

    value: float
    low: float | None = None
    high: float | None = None

    def document(self) -> dict[str, Any]:
        """The value and its interval, or null for the interval."""
        interval = None if self.low is None or self.high is None else [self.low, self.high]
        return {"value": self.value, "interval": interval}


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where the gains of two outputs cross.

    Args:
        between: the two outputs; below the crossing the first is the louder.
        frequency_hz: where.
        gain_db: the gain that both have there; None beside a null.
        draws: how many draws there were.
        draws_without: how many of them have no such crossing; the interval leaves them out.
    """

    between: tuple[str, str]
    frequency_hz: Bounded
    gain_db: float | None
    draws: int = 0
    draws_without: int = 0

    def document(self) -> dict[str, Any]:
        """The crossing as a JSON object."""
        return {
            "between": list(self.between),
            "frequency_hz": self.frequency_hz.document(),
            "gain_db": self.gain_db,
            "draws": self.draws,
            "draws_without": self.draws_without,
        }


@dataclass(frozen=True, slots=True)
class Minimum:
    """The lowest magnitude of the input impedance, ohms, and where it is."""

    ohm: Bounded
    frequency_hz: float

    def document(self) -> dict[str, Any]:
        """The minimum as a JSON object."""
        return {"ohm": self.ohm.document(), "frequency_hz": self.frequency_hz}


@dataclass(frozen=True, slots=True)
class Corner:
    """Where an output has fallen by a stated depth below its highest level.

    Args:
        depth: "minus_3_db" or "minus_6_db".
        side: "below": it falls towards lower frequencies; "above": towards higher ones.
        frequency_hz: the outermost place, so that ripple inside doesn't count.
    """

    depth: str
    side: Literal["below", "above"]
    frequency_hz: Bounded

    def document(self) -> dict[str, Any]:
        """The corner as a JSON object."""
        return {
            "depth": self.depth,
            "side": self.side,
            "frequency_hz": self.frequency_hz.document(),
        }


@dataclass(frozen=True, slots=True)
class Slope:
    """How steeply an output falls beyond a corner.

    Args:
        side: on which side of the corner.
        db_per_octave: change of gain per octave away from the corner; negative when it falls.
        corner_hz: the -3 dB corner.
        octave_hz: the octave over which it was taken.
        words: the same in words.
    """

    side: Literal["below", "above"]
    db_per_octave: float
    corner_hz: float
    octave_hz: tuple[float, float]
    words: str

    def document(self) -> dict[str, Any]:
        """The slope as a JSON object."""
        return {
            "side": self.side,
            "db_per_octave": self.db_per_octave,
            "corner_hz": self.corner_hz,
            "octave_hz": list(self.octave_hz),
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class Traits:
    """What one output does: its highest level, its corners, its slopes."""

    level_db: Bounded | None
    corners: tuple[Corner, ...]
    slopes: tuple[Slope, ...]


def crossings(x: Floats, gains: dict[str, Floats]) -> tuple[Crossing, ...]:
    """Every place where the gains of two outputs cross.

    Args:
        x: shape (m,), natural logarithm of frequency in hertz.
        gains: decibels by output, each of shape (1 + draws, m); row 0 is the best values.

    Returns:
        The crossings, pair by pair, in order of frequency.
    """
    found: list[Crossing] = []
    for a, b in combinations(gains, 2):
        found.extend(_crossings_of_pair(x, (a, b), gains[a], gains[b]))
    return tuple(found)


def _crossings_of_pair(
    x: Floats, names: tuple[str, str], gain_a: Floats, gain_b: Floats
) -> Iterator[Crossing]:
    with np.errstate(invalid="ignore"):
        every = zeros(x, gain_a - gain_b)
    best = np.flatnonzero(every.rows == 0)
    draws = gain_a.shape[0] - 1
    for index in best:
        place, rising = every.x[index : index + 1], bool(every.rising[index])
        gain = values_at(x, gain_a, np.zeros(1, np.intp), place)[0]
        drawn = _same_crossing(every, best, int(index), draws)
        yield Crossing(
            names[::-1] if rising else names,
            _bounded(_hertz(place[0]), np.exp(drawn)),
            float(gain) if np.isfinite(gain) else None,
            draws,
            draws - drawn.size,
        )


def _same_crossing(every: Zeros, best: Indices, index: int, draws: int) -> Floats:
    """Each draw's own crossing of the same direction that lies nearest, one a draw at most."""
    alike = best[every.rising[best] == every.rising[index]]
    usable = np.flatnonzero((every.rows > 0) & (every.rising == every.rising[index]))
    distance = np.abs(every.x[usable, None] - every.x[alike])
    usable = usable[alike[np.argmin(distance, axis=1)] == index] if usable.size else usable
    nearest = np.full(draws + 1, np.inf)
    offset = every.x[usable] - every.x[index]
    for row, shift in zip(every.rows[usable], offset, strict=True):
        if abs(shift) < abs(nearest[row]):
            nearest[row] = shift
    found: Floats = every.x[index] + nearest[np.isfinite(nearest)]
    return found


def minimum_impedance(x: Floats, magnitude_ohm: Floats) -> Minimum:
    """The lowest magnitude of the input impedance over the grid.

    Args:
        x: shape (m,), natural logarithm of frequency in hertz.
        magnitude_ohm: shape (1 + draws, m); row 0 is the best values.
    """
    value, where = lowest(x, magnitude_ohm)
    return Minimum(_bounded(float(value[0]), value[1:]), _hertz(where[0]))


def traits(x: Floats, gain_db: Floats) -> Traits:
    """Level, corners and slopes of one output.

    Args:
        x: shape (m,), natural logarithm of frequency in hertz.
        gain_db: shape (1 + draws, m); row 0 is the best values.

    Returns:
        The traits; none where the output is silent at every frequency.
    """
    if not np.any(np.isfinite(gain_db[0])):
        return Traits(None, (), ())
    top = -lowest(x, -gain_db)[0]
    corners = tuple(_corners(x, gain_db, top))
    slopes = (_slope(x, gain_db[:1], one) for one in corners if one.depth == "minus_3_db")
    level = _bounded(float(top[0]), top[1:])
    return Traits(level, corners, tuple(one for one in slopes if one is not None))


def _corners(x: Floats, gain_db: Floats, top: Floats) -> Iterator[Corner]:
    for depth, drop_db in DEPTHS.items():
        below, above = _outermost(x, gain_db - (top - drop_db)[:, None])
        if np.isfinite(below[0]):
            yield Corner(depth, "below", _bounded(_hertz(below[0]), np.exp(below[1:])))
        if np.isfinite(above[0]):
            yield Corner(depth, "above", _bounded(_hertz(above[0]), np.exp(above[1:])))


def _outermost(x: Floats, height: Floats) -> tuple[Floats, Floats]:
    """For each row the first rise above zero and the last fall below; NaN where it has none."""
    found = zeros(x, height)
    first = np.full(height.shape[0], np.inf)
    last = np.full(height.shape[0], -np.inf)
    np.minimum.at(first, found.rows[found.rising], found.x[found.rising])
    np.maximum.at(last, found.rows[~found.rising], found.x[~found.rising])
    # A rise that isn't preceded by silence, or a fall with a rise after it, is ripple.
    first = np.where(np.isfinite(first) & (height[:, 0] < 0.0), first, np.nan)
    last = np.where(np.isfinite(last) & (height[:, -1] < 0.0), last, np.nan)
    return first, last


def _slope(x: Floats, gain_db: Floats, corner: Corner) -> Slope | None:
    octave, corner_hz = log(2.0), corner.frequency_hz.value
    sign = 1.0 if corner.side == "above" else -1.0
    end = x[-1] if corner.side == "above" else x[0]
    far = min(SLOPE_OCTAVES * octave, sign * (float(end) - log(corner_hz)))
    if far < SLOPE_OCTAVES_LEAST * octave:
        return None
    places = log(corner_hz) + sign * np.array([far - octave, far])
    near_db, far_db = values_at(x, gain_db, np.zeros(2, np.intp), places)
    change = float(far_db - near_db)
    if not np.isfinite(change):
        return None
    low_hz, high_hz = sorted(np.exp(places).tolist())
    words = _slope_words(change, corner)
    return Slope(corner.side, change, corner_hz, (low_hz, high_hz), words)


def _slope_words(change_db: float, corner: Corner) -> str:
    verb = "falls" if change_db < 0.0 else "rises"
    place = show_plain(corner.frequency_hz.value, "Hz")
    return f"{verb} {abs(change_db):.0f} dB per octave {corner.side} {place}"


def _hertz(x: float) -> float:
    """From the log grid back, without the last digits that the logarithm spoils."""
    return float(f"{exp(x):.13g}")


def _bounded(value: float, drawn: Floats) -> Bounded:
    """The value with the draws' quantiles, widened where needed to hold the value itself.

    The lowest point of a drawn curve lies below that of the best curve wherever the curve is
    nearly flat, and the highest above it; an interval without its own value would mislead.
    """
    usable = drawn[np.isfinite(drawn)]
    if not usable.size:
        return Bounded(value)
    low, high = np.quantile(usable, (LOW, HIGH))
    return Bounded(value, min(float(low), value), max(float(high), value))
