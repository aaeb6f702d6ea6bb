"""The gain of each output over frequency, with its band."""

from __future__ import annotations

from math import ceil, isfinite
from typing import TYPE_CHECKING

import numpy as np

from ohmbook.crossover.behaviour import Behaviour, OutputCurve
from ohmbook.crossover.features import Bounded, Crossing
from ohmbook.figures.boxes import Spot
from ohmbook.figures.frequency import set_frequency_axis
from ohmbook.figures.labelling import Floats, Taken
from ohmbook.figures.marking_out import Marker, mark, pixels
from ohmbook.figures.style import bare_axes, heading, new_figure, stroke, styled
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval, show_plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPAN_DB = 45.0
"""What lies further below the top than this is cut off."""

_LEAST_SPAN_DB, _STEP_DB, _HEADROOM_DB = 20.0, 5.0, 2.5
_LOUDER_DB = 3.0
_LABEL_DB = 5.0
"""Air above the curves for the labels that find no place among them."""

_WIDTH_IN, _HEIGHT_IN = 8.0, 4.8


def response_figure(behaviour: Behaviour, title: str) -> Figure:
    """The gain of each output with its 95 % band; crossings marked and told in words.

    Args:
        behaviour: what the crossover does.
        title: shown at the top.

    Returns:
        A matplotlib figure; it needs no display.
    """
    with styled():
        figure = new_figure(_WIDTH_IN, _HEIGHT_IN)
        heading(figure, title, _explained(behaviour))
        axes = bare_axes(figure, (0.085, 0.115, 0.885, 0.75))
        f_hz = behaviour.frequency_hz
        set_frequency_axis(axes, float(f_hz[0]), float(f_hz[-1]))
        low_db, high_db = gain_limits(behaviour.outputs)
        axes.set_ylim(low_db, high_db)
        axes.set_ylabel("gain in dB")
        for index, curve in enumerate(behaviour.outputs):
            _draw(axes, f_hz, curve, index)
        _label(axes, behaviour)
        return figure


def gain_limits(outputs: tuple[OutputCurve, ...]) -> tuple[float, float]:
    """The range of the gain axis: from the loudest, with some air, down to 45 dB below it at most.

    Args:
        outputs: curves in decibels.

    Returns:
        Lower and upper end, dB, multiples of 5.
    """
    finite = [curve.gain_db[np.isfinite(curve.gain_db)] for curve in outputs]
    every = np.concatenate(finite) if finite else np.empty(0)
    if not every.size:
        return -SPAN_DB, 0.0
    tops = [float(every.max())]
    tops += [float(c.band.high.max()) for c in outputs if c.band and isfinite(c.band.high.max())]
    high = _STEP_DB * ceil((max(tops) + _HEADROOM_DB + _LABEL_DB) / _STEP_DB)
    wanted = high - float(every.min()) + _HEADROOM_DB
    span = min(SPAN_DB + _LABEL_DB, max(_LEAST_SPAN_DB, _STEP_DB * ceil(wanted / _STEP_DB)))
    return high - span, high


def _explained(behaviour: Behaviour) -> str:
    start = "voltage at each output against the amplifier's own"
    if not behaviour.draws:
        return f"{start}; best values only, no band"
    return f"{start}; shaded: 95 % at each frequency"


def _draw(axes: Axes, f_hz: Floats, curve: OutputCurve, index: int) -> None:
    look = stroke(index)
    floor = axes.get_ylim()[0] - SPAN_DB
    if curve.band is not None:
        low, high = (np.nan_to_num(one, nan=floor) for one in (curve.band.low, curve.band.high))
        axes.fill_between(
            f_hz,
            np.maximum(low, floor),
            np.maximum(high, floor),
            color=look.colour,
            alpha=0.2,
            linewidth=0.0,
        )
    axes.plot(
        f_hz,
        np.maximum(curve.gain_db, floor),
        color=look.colour,
        linestyle=look.dashes,
        linewidth=1.6,
    )


def _label(axes: Axes, behaviour: Behaviour) -> None:
    lines = [
        pixels(axes, behaviour.frequency_hz, one)
        for curve in behaviour.outputs
        for one in _edges(curve)
    ]
    taken = Taken.of_lines(lines)
    for index, curve in enumerate(behaviour.outputs):
        spots = _name_spots(axes, behaviour, index)
        if spots:
            taken = mark(axes, Marker(curve.name, stroke(index).colour, bold=True), spots, taken)
    for crossing in shown_crossings(behaviour, axes.get_ylim()):
        assert crossing.gain_db is not None
        at = (crossing.frequency_hz.value, crossing.gain_db)
        taken = mark(axes, Marker(crossing_words(crossing), at=at), (), taken)


def _edges(curve: OutputCurve) -> list[Floats]:
    band = [curve.band.low, curve.band.high] if curve.band else []
    return [curve.gain_db, *band]


def _name_spots(axes: Axes, behaviour: Behaviour, index: int) -> list[Spot]:
    """Places above and below the curve where it is loud and far from the others, best first."""
    gain = behaviour.outputs[index].gain_db
    usable = np.isfinite(gain)
    if not usable.any():
        return []
    loud = usable & (gain > gain[usable].max() - 6.0) & (gain > axes.get_ylim()[0])
    others = [one.gain_db for k, one in enumerate(behaviour.outputs) if k != index]
    room = np.min([np.abs(np.nan_to_num(o, neginf=-1e3) - gain) for o in others] or [gain * 0], 0)
    middle = abs(np.linspace(-1.0, 1.0, gain.size))
    order = np.lexsort((middle, -np.minimum(np.round(room / 6.0), 3.0)))
    points = pixels(axes, behaviour.frequency_hz, gain)
    return [
        (float(points[k, 0]), float(points[k, 1]) + shift)
        for shift in (13.0, -13.0, 20.0, -20.0)
        for k in order
        if loud[k]
    ]


def shown_crossings(behaviour: Behaviour, limits_db: tuple[float, float]) -> list[Crossing]:
    """The crossings worth marking: on the axis, and no third output is clearly louder there.

    Args:
        behaviour: what the crossover does.
        limits_db: range of the gain axis.
    """
    return [
        one
        for one in behaviour.crossings
        if one.gain_db is not None
        and limits_db[0] < one.gain_db < limits_db[1]
        and not _drowned(behaviour, one, one.gain_db)
    ]


def _drowned(behaviour: Behaviour, crossing: Crossing, gain_db: float) -> bool:
    nearest = int(np.argmin(np.abs(np.log(behaviour.frequency_hz / crossing.frequency_hz.value))))
    return any(
        one.gain_db[nearest] > gain_db + _LOUDER_DB
        for one in behaviour.outputs
        if one.name not in crossing.between
    )


def crossing_words(crossing: Crossing) -> str:
    """A crossing in words: which outputs, where, between which limits, at what level.

    Args:
        crossing: with a gain.
    """
    first, second = crossing.between
    level = "" if crossing.gain_db is None else f", at {_signed(crossing.gain_db)} dB"
    return f"{first} and {second} cross at\n{shown(crossing.frequency_hz, 'Hz')}{level}"


def _signed(value: float) -> str:
    text = f"{value:.1f}"
    return "0.0" if text == "-0.0" else text.replace("-", "\N{MINUS SIGN}")


def shown(bounded: Bounded, unit: Unit) -> str:
    """A value with its interval where it has one, rounded for people.

    Args:
        bounded: SI.
        unit: "Hz" or "ohm".
    """
    if bounded.low is None or bounded.high is None:
        return show_plain(bounded.value, unit)
    return show_interval(bounded.value, bounded.low, bounded.high, unit)
