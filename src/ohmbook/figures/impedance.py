"""The input impedance over frequency, with its band and its lowest point."""

from __future__ import annotations

from math import ceil, floor, log10
from typing import TYPE_CHECKING

import numpy as np

from ohmbook.crossover.behaviour import Behaviour, ImpedanceCurve
from ohmbook.figures.frequency import set_frequency_axis
from ohmbook.figures.labelling import Floats, Taken
from ohmbook.figures.marking_out import Marker, mark, pixels
from ohmbook.figures.response import shown
from ohmbook.figures.style import SOFT, bare_axes, heading, new_figure, stroke, styled
from ohmbook.units.show import show_plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _HEIGHT_IN = 8.0, 5.2
_LINEAR_UP_TO = 8.0
"""Up to this ratio of highest to lowest the ohm axis is linear from zero; beyond, logarithmic."""

_LABEL_X = -0.06

_FLAT = 0.005
"""Where the magnitude stays within this share of its lowest, no place is named."""


def impedance_figure(behaviour: Behaviour, title: str = "Input impedance") -> Figure:
    """|Zin| with its 95 % band and its lowest point, and the phase in a second panel.

    Args:
        behaviour: what the crossover does.
        title: shown at the top.

    Returns:
        A matplotlib figure; it needs no display.
    """
    with styled():
        figure = new_figure(_WIDTH_IN, _HEIGHT_IN)
        heading(figure, title, _explained(behaviour))
        upper = bare_axes(figure, (0.085, 0.375, 0.885, 0.505))
        lower = bare_axes(figure, (0.085, 0.105, 0.885, 0.215))
        f_hz = behaviour.frequency_hz
        for axes, labelled in ((upper, False), (lower, True)):
            set_frequency_axis(axes, float(f_hz[0]), float(f_hz[-1]), labelled)
        _magnitude(upper, f_hz, behaviour.input_impedance)
        _phase(lower, f_hz, behaviour.input_impedance)
        _mark_minimum(upper, behaviour)
        return figure


def _explained(behaviour: Behaviour) -> str:
    start = "what the amplifier sees at its terminals"
    if not behaviour.draws:
        return f"{start}; best values only, no band"
    return f"{start}; shaded: 95 % at each frequency"


def _magnitude(axes: Axes, f_hz: Floats, curve: ImpedanceCurve) -> None:
    every = [curve.magnitude_ohm]
    if curve.band is not None:
        every += [curve.band.low, curve.band.high]
    finite = np.concatenate(every)
    finite = finite[np.isfinite(finite) & (finite > 0.0)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (1.0, 10.0)
    _ohm_axis(axes, low, high)
    look = stroke(0)
    if curve.band is not None:
        axes.fill_between(
            f_hz, curve.band.low, curve.band.high, color=look.colour, alpha=0.2, linewidth=0.0
        )
    axes.plot(f_hz, curve.magnitude_ohm, color=look.colour, linewidth=1.6)


def _ohm_axis(axes: Axes, low: float, high: float) -> None:
    axes.set_ylabel("magnitude in Ω")
    axes.yaxis.set_label_coords(_LABEL_X, 0.5)
    if high < _LINEAR_UP_TO * low:
        axes.set_ylim(0.0, high * 1.25)
        return
    bottom, top = low / 1.6, high * 1.4
    axes.set_yscale("log")
    axes.set_ylim(bottom, top)
    decades = range(floor(log10(bottom)), ceil(log10(top)) + 1)
    ticks = [s * 10.0**d for d in decades for s in (1.0, 2.0, 5.0) if bottom <= s * 10.0**d <= top]
    axes.set_yticks(ticks, [f"{one:g}" for one in ticks])
    axes.set_yticks([], minor=True)


def _phase(axes: Axes, f_hz: Floats, curve: ImpedanceCurve) -> None:
    reach = float(np.nanmax(np.abs(curve.phase_deg), initial=0.0))
    limit = next(one for one in (45.0, 90.0, 180.0) if reach <= one or one == 180.0)
    axes.set_ylim(-limit * 1.08, limit * 1.08)
    step = max(limit / 2.0, 45.0)
    ticks = np.arange(-limit, limit + 1.0, step).tolist()
    axes.set_yticks(ticks, [f"{one:g}°".replace("-", "\N{MINUS SIGN}") for one in ticks])
    axes.set_ylabel("phase")
    axes.yaxis.set_label_coords(_LABEL_X, 0.5)
    axes.axhline(0.0, color=SOFT, linewidth=0.8)
    axes.plot(f_hz, curve.phase_deg, color=stroke(0).colour, linewidth=1.0)


def _mark_minimum(axes: Axes, behaviour: Behaviour) -> None:
    curve, lowest = behaviour.input_impedance, behaviour.minimum_impedance
    edges = [curve.band.low, curve.band.high] if curve.band else []
    lines = [pixels(axes, behaviour.frequency_hz, one) for one in (curve.magnitude_ohm, *edges)]
    at = (lowest.frequency_hz, lowest.ohm.value)
    mark(axes, Marker(minimum_words(behaviour), at=at), (), Taken.of_lines(lines))


def minimum_words(behaviour: Behaviour) -> str:
    """The lowest impedance in words, and where it is, unless the curve is flat.

    Args:
        behaviour: what the crossover does.
    """
    lowest = behaviour.minimum_impedance
    highest = float(np.max(behaviour.input_impedance.magnitude_ohm))
    if highest <= lowest.ohm.value * (1.0 + _FLAT):
        return f"lowest {shown(lowest.ohm, 'ohm')},\nthe same at every frequency"
    return f"lowest {shown(lowest.ohm, 'ohm')}\nat {show_plain(lowest.frequency_hz, 'Hz')}"
