"""What the crossover does, in a page: levels, corners, slopes, crossings, lowest impedance."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

import numpy as np
from rich.console import RenderableType

from ohmbook.crossover.behaviour import Band, Behaviour, OutputCurve
from ohmbook.crossover.curves import Floats
from ohmbook.crossover.features import Bounded, Corner, Crossing, Traits
from ohmbook.report.layout import INDENT, Adaptive, bullets, joined, section, table
from ohmbook.report.words import decibels
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval, show_plain, show_spread

MARKS_HZ = (20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 10e3, 20e3)
"""The frequencies of the printed table."""

_SEEN = 0.0005
_LEAST_DB = 0.005
_NOISE = 1e-9
"""What is not worth printing: a band's half width (share, dB), an interval's width (share)."""


def behaviour_page(behaviour: Behaviour) -> RenderableType:
    """The summary of a behaviour, then its curves at a few frequencies.

    Args:
        behaviour: with bands or without.
    """
    parts = [section(title, bullets(lines)) for title, lines in told(behaviour)]
    parts.append(section(_table_title(behaviour), curves_table(behaviour)))
    return joined(parts)


def told(behaviour: Behaviour) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What a behaviour comes to in words: titles, each with its lines."""
    found = [(f"Output {name}", _trait_lines(one)) for name, one in behaviour.traits.items()]
    if behaviour.crossings:
        found.append(("Crossings", tuple(map(_crossing_line, behaviour.crossings))))
    return (*found, ("Input impedance", (lowest_line(behaviour),)))


def curves_table(behaviour: Behaviour) -> RenderableType:
    """Each output's gain and the input impedance at a few frequencies."""
    names = [*(curve.name for curve in behaviour.outputs), "input"]
    rows = [_row(behaviour, index) for index in _marks(behaviour.frequency_hz)]
    columns = [">", *(f">{name}" for name in names)]
    widths = (max(len(str(cell)) for cell in column) for column in zip(*rows, strict=True))
    heads = (0, *map(len, names))
    least = 2 * INDENT + sum(2 + max(pair) for pair in zip(heads, widths, strict=True))
    return Adaptive(lambda: table(columns, rows), lambda: _narrow(names, rows), least)


def _narrow(names: Sequence[str], rows: Sequence[Sequence[str]]) -> RenderableType:
    """A frequency to a bullet: "2.0 kHz: woofer -3.1 ± 0.2, tweeter -8.0 ± 0.3, input 6.1 Ω"."""
    return bullets(
        f"{f}: {', '.join(f'{name} {told}' for name, told in zip(names, numbers, strict=True))}"
        for f, *numbers in rows
    )


def _table_title(behaviour: Behaviour) -> str:
    band = " (± half of the 95 % band)" if behaviour.draws else ""
    return f"Gain of each output in dB, and the input impedance{band}"


def _marks(f_hz: Floats) -> list[int]:
    """The grid's points nearest to the marks that lie on it, each once."""
    edge = 1e-6
    inside = [m for m in MARKS_HZ if f_hz[0] * (1 - edge) <= m <= f_hz[-1] * (1 + edge)]
    places = [int(np.argmin(np.abs(np.log(f_hz / mark)))) for mark in inside]
    return sorted(set(places)) or [0, len(f_hz) - 1]


def _row(behaviour: Behaviour, index: int) -> list[str]:
    impedance = behaviour.input_impedance
    gains = [_gain(one, index) for one in behaviour.outputs]
    ohms = float(impedance.magnitude_ohm[index])
    told = show_plain(ohms, "ohm", 3)
    if impedance.band is not None and _half(impedance.band, index) > _SEEN * ohms:
        low, high = float(impedance.band.low[index]), float(impedance.band.high[index])
        spread = show_spread(ohms, low, high)
        told += spread.replace("±", " ± ") if spread.startswith("±") else f", {spread}"
    return [show_plain(float(behaviour.frequency_hz[index]), "Hz", 2), *gains, told]


def _gain(curve: OutputCurve, index: int) -> str:
    gain_db = float(curve.gain_db[index])
    if not isfinite(gain_db):
        return "silent"
    half = _half(curve.band, index)
    return decibels(gain_db) + (f" ± {decibels(half)}" if half >= _LEAST_DB else "")


def _half(band: Band | None, index: int) -> float:
    """Half of a band's width; 0 where there is none."""
    width = 0.0 if band is None else float(band.high[index] - band.low[index])
    return width / 2.0 if isfinite(width) else 0.0


def _trait_lines(traits: Traits) -> tuple[str, ...]:
    if traits.level_db is None:
        return ("silent at every frequency",)
    lines = [f"highest level {_level(traits.level_db)}"]
    lines += [_corner_line(one) for one in traits.corners]
    lines += [slope.words for slope in traits.slopes]
    return tuple(lines)


def _level(level_db: Bounded) -> str:
    told = f"{decibels(level_db.value)} dB"
    if level_db.low is None or level_db.high is None:
        return told
    low, high = decibels(level_db.low), decibels(level_db.high)
    return told if low == high else f"{told} ({low} to {high})"


def _corner_line(corner: Corner) -> str:
    depth = corner.depth.removeprefix("minus_").replace("_db", " dB")
    return f"{depth} down at {_bounded(corner.frequency_hz, 'Hz')} and {corner.side}"


def _crossing_line(crossing: Crossing) -> str:
    low, high = crossing.between
    line = f"{low} and {high} cross at {_bounded(crossing.frequency_hz, 'Hz')}"
    if crossing.gain_db is not None:
        line += f", both at {decibels(crossing.gain_db)} dB"
    if crossing.draws_without:
        line += f" (not at all in {crossing.draws_without} of {crossing.draws} draws)"
    return line


def lowest_line(behaviour: Behaviour) -> str:
    """The lowest input impedance with its interval, and where."""
    lowest = behaviour.minimum_impedance
    at = show_plain(lowest.frequency_hz, "Hz", 2)
    return f"lowest {_bounded(lowest.ohm, 'ohm')}, at {at}"


def _bounded(value: Bounded, unit: Unit) -> str:
    if value.low is None or value.high is None or not _spread(value):
        return show_plain(value.value, unit, 3)
    return show_interval(value.value, value.low, value.high, unit)


def _spread(value: Bounded) -> bool:
    """Whether there is an interval, and it is more than the noise of floats."""
    if value.low is None or value.high is None:
        return False
    return value.high - value.low > _NOISE * abs(value.value)
