"""One part: what each reading says by itself, beside what all of them settle on."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from ohmbook.documents.estimate import Implied
from ohmbook.errors import CallError
from ohmbook.figures.style import FAINT, SOFT, bare_axes, heading, new_figure, stroke, styled
from ohmbook.units.prefix import prefix_for
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _ROW_IN, _TOP_IN, _BOTTOM_IN, _GAP_IN = 8.4, 0.27, 0.78, 0.55, 0.12
_LABEL_SIZE, _LABEL_WIDTH = 8.5, 38
_SLACK = 1.04
"""Letters are a little wider at some resolutions than at the one they are measured at."""

_REACH = 4.0
"""How many half-widths around the settled value are shown at least before arrows stand for the
rest."""

_SETTLED, _READING = stroke(1), stroke(0)


def readings_figure(rows: Sequence[Implied], title: str, unit: Unit) -> Figure:
    """Horizontal bars: each reading's own value and interval, and the settled ones.

    Args:
        rows: from top to bottom; values in SI.
        title: shown at the top, such as "L1: inductance".
        unit: the SI unit of all of them.

    Returns:
        A matplotlib figure; it needs no display.

    Raises:
        CallError: no rows.
    """
    if not rows:
        raise CallError("A figure of readings needs at least one row.")
    with styled():
        heights = [_ROW_IN * (1 + _wrapped(row.label).count("\n") * 0.6) for row in rows]
        figure = new_figure(_WIDTH_IN, _TOP_IN + sum(heights) + _BOTTOM_IN)
        heading(
            figure,
            title,
            "what the most telling readings say alone, the other parts as settled; bars hold 95 %",
        )
        axes = bare_axes(figure, (0.3, 0.2, 0.4, 0.5))
        axes.grid(False, axis="y")
        axes.spines["left"].set_visible(False)
        centres = np.cumsum(heights) - np.array(heights) / 2.0
        axes.set_ylim(sum(heights), 0.0)
        scale = _scale(axes, rows, unit)
        for row, y in zip(rows, centres.tolist(), strict=True):
            _draw(axes, row, y, scale)
        _columns(figure, axes, rows, centres.tolist(), unit)
        return figure


def axis_limits(rows: Sequence[Implied]) -> tuple[float, float]:
    """The range of the value axis, SI.

    Everything, unless a few wide intervals would crush the rest: then a stretch around the
    settled value (or the middle of all), with every value that is near it.

    Args:
        rows: at least one.
    """
    ends = [end for row in rows for end in (row.low, row.value, row.high) if isfinite(end)]
    centre = next((row for row in rows if row.settled), None)
    middle = centre.value if centre else float(np.median([row.value for row in rows]))
    widths = [row.high - row.low for row in rows if isfinite(row.high - row.low)]
    reach = _REACH * float(np.median(widths)) if widths else abs(middle)
    if centre is not None and isfinite(centre.high - centre.low):
        reach = max(reach, _REACH * (centre.high - centre.low) / 2.0)
    low, high = max(min(ends), middle - reach), min(max(ends), middle + reach)
    margin = 0.06 * (high - low) or 0.05 * abs(middle) or 1.0
    return low - margin, high + margin


def _scale(axes: Axes, rows: Sequence[Implied], unit: Unit) -> float:
    """Set limits and name of the value axis; what its numbers are multiplied by."""
    low, high = axis_limits(rows)
    prefix = prefix_for(max(abs(low), abs(high)) / 2.0, unit)
    axes.set_xlim(low / prefix.scale, high / prefix.scale)
    axes.set_xlabel(f"in {prefix.text}")
    axes.set_yticks([])
    return prefix.scale


def _draw(axes: Axes, row: Implied, y: float, scale: float) -> None:
    left, right = axes.get_xlim()
    look, size = (_SETTLED, 3.4) if row.settled else (_READING, 1.6)
    low, high = max(row.low / scale, left), min(row.high / scale, right)
    if row.settled and low < high:
        axes.axvspan(low, high, color=look.colour, alpha=0.13, linewidth=0.0)
    axes.axhline(y, color=FAINT, linewidth=0.6, zorder=0.5)
    if low < high:
        axes.plot([low, high], [y, y], color=look.colour, linewidth=size, solid_capstyle="butt")
    shape = "D" if row.settled else "o"
    if left <= row.value / scale <= right:
        axes.plot([row.value / scale], [y], marker=shape, markersize=5.0, color=look.colour)
    for beyond, edge, arrow in (
        (row.low / scale < left, left, "<"),
        (row.high / scale > right, right, ">"),
    ):
        if beyond:
            axes.plot([edge], [y], marker=arrow, markersize=6.0, color=look.colour, clip_on=False)


def _columns(
    figure: Figure, axes: Axes, rows: Sequence[Implied], centres: list[float], unit: Unit
) -> None:
    """Names on the left, numbers on the right, and the axes between them."""
    right_texts = [_text(row, unit) for row in rows]
    transform = axes.get_yaxis_transform()
    names = [
        axes.text(
            0.0,
            y,
            _wrapped(row.label),
            size=_LABEL_SIZE,
            ha="right",
            va="center",
            weight="bold" if row.settled else "normal",
            transform=transform,
            linespacing=1.15,
        )
        for row, y in zip(rows, centres, strict=True)
    ]
    numbers = [
        axes.text(
            1.0,
            y,
            text,
            size=_LABEL_SIZE,
            va="center",
            transform=transform,
            weight="bold" if row.settled else "normal",
        )
        for row, y, text in zip(rows, centres, right_texts, strict=True)
    ]
    left_in = (
        max(one.get_window_extent().width for one in names) / figure.dpi * _SLACK + 2 * _GAP_IN
    )
    right_in = (
        max(one.get_window_extent().width for one in numbers) / figure.dpi * _SLACK + 2 * _GAP_IN
    )
    width_in, height_in = figure.get_size_inches().tolist()
    span_in = width_in - left_in - right_in
    axes.set_position(
        (
            left_in / width_in,
            _BOTTOM_IN / height_in,
            span_in / width_in,
            (height_in - _TOP_IN - _BOTTOM_IN) / height_in,
        )
    )
    for one in names:
        one.set_x(-_GAP_IN / span_in)
    for one in numbers:
        one.set_x(1.0 + _GAP_IN / span_in)
    axes.xaxis.label.set_color(SOFT)


def _wrapped(label: str) -> str:
    return "\n".join(textwrap.wrap(label, _LABEL_WIDTH)) or label


def _text(row: Implied, unit: Unit) -> str:
    return show_interval(row.value, row.low, row.high, unit, row.standard_uncertainty)
