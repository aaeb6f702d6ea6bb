"""Two boards: how far each part of the right one is from its like on the left."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ohmbook.documents.comparison import Comparison, PartDifference
from ohmbook.errors import CallError
from ohmbook.figures.style import (
    FAINT,
    INK,
    MARGIN_IN,
    SOFT,
    bare_axes,
    heading,
    new_figure,
    stroke,
    styled,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _ROW_IN, _TOP_IN, _BOTTOM_IN, _GAP_IN, _SIZE = 8.4, 0.3, 0.74, 0.55, 0.14, 8.5
_LEAST_REACH = 1.0
"""Half of the axis at least, percent."""

_MARKS = {"differs": "D", "agrees": "o", "not told": "o"}


def compare_figure(found: Comparison) -> Figure:
    """Bars: each part's difference in percent, with its 95 % interval.

    Args:
        found: at least one part.

    Raises:
        CallError: no parts.
    """
    if not found.parts:
        raise CallError("A figure of two boards needs at least one part.")
    if found.contradicted:
        # readings that contradict each other make nothing likely either
        silent = tuple(replace(one, probability=0.0) for one in found.parts)
        found = replace(found, parts=silent)
    with styled():
        count = len(found.parts)
        height_in = _TOP_IN + _ROW_IN * count + _BOTTOM_IN
        figure = new_figure(_WIDTH_IN, height_in)
        left, right = found.titles if len({*found.titles}) == 2 else found.files
        heading(figure, f"{right} against {left}", "by how much each part differs; bars hold 95 %")
        axes = bare_axes(figure, (0.3, 0.2, 0.4, 0.5))
        axes.grid(False, axis="y")
        axes.spines["left"].set_visible(False)
        axes.set_ylim(count, 0.0)
        axes.set_yticks([])
        reach = _reach(found)
        axes.set_xlim(-reach, reach)
        axes.set_xlabel("% more on the right", color=SOFT)
        axes.axvline(0.0, color=INK, linewidth=0.9, zorder=0.6)
        for row, one in enumerate(found.parts):
            _draw(axes, row + 0.5, one)
        _columns(figure, axes, found, height_in)
        return figure


def _reach(found: Comparison) -> float:
    """Half of the axis, percent: every difference, and every interval of what is told."""
    told = [one for one in found.parts if one.verdict != "not told" or _likely(one)]
    ends = [abs(100.0 * (end - 1.0)) for one in told for end in (one.low, one.high)]
    ends += [abs(100.0 * (one.ratio - 1.0)) for one in found.parts]
    return max(1.1 * min(max(ends), 100.0), _LEAST_REACH)


def _likely(one: PartDifference) -> bool:
    """Whether a part differs, or probably does."""
    return one.verdict == "differs" or (one.verdict == "not told" and one.probability > 0.5)


def _draw(axes: Axes, y: float, one: PartDifference) -> None:
    left, right = axes.get_xlim()
    low, value, high = (100.0 * (end - 1.0) for end in (one.low, one.ratio, one.high))
    colour = stroke(1 if _likely(one) else 0).colour
    colour = SOFT if one.verdict == "not told" and not _likely(one) else colour
    width = 3.4 if one.verdict == "differs" else 1.8
    axes.axhline(y, color=FAINT, linewidth=0.6, zorder=0.5)
    ends = [max(low, left), min(high, right)]
    dashes = (0.0, (2.0, 1.5)) if one.verdict == "not told" else "solid"
    axes.plot(ends, [y, y], color=colour, linewidth=width, linestyle=dashes, solid_capstyle="butt")
    if left <= value <= right:
        filled = colour if one.verdict != "not told" else "white"
        mark = _MARKS[one.verdict]
        axes.plot([value], [y], marker=mark, markersize=5.5, color=colour, markerfacecolor=filled)
    for beyond, edge, arrow in ((low < left, left, "<"), (high > right, right, ">")):
        if beyond:
            axes.plot([edge], [y], marker=arrow, markersize=6.0, color=colour, clip_on=False)


def _columns(figure: Figure, axes: Axes, found: Comparison, height_in: float) -> None:
    """Names on the left, verdicts on the right, and the axes between them."""
    transform = axes.get_yaxis_transform()
    columns = [
        [
            axes.text(
                at,
                row + 0.5,
                text(one),
                size=_SIZE,
                ha=side,
                va="center",
                transform=transform,
                weight="bold" if one.verdict == "differs" else "normal",
            )
            for row, one in enumerate(found.parts)
        ]
        for at, side, text in ((0.0, "right", _name), (1.0, "left", _told))
    ]
    widths = [
        max(one.get_window_extent().width for one in column) / figure.dpi * 1.04
        for column in columns
    ]
    start_in = widths[0] + MARGIN_IN + _GAP_IN
    span_in = _WIDTH_IN - start_in - widths[1] - MARGIN_IN - _GAP_IN
    axes.set_position(
        (
            start_in / _WIDTH_IN,
            _BOTTOM_IN / height_in,
            span_in / _WIDTH_IN,
            (height_in - _TOP_IN - _BOTTOM_IN) / height_in,
        )
    )
    for column, at in zip(columns, (-_GAP_IN / span_in, 1.0 + _GAP_IN / span_in), strict=True):
        for one in column:
            one.set_x(at)


def _name(one: PartDifference) -> str:
    return one.name


def _told(one: PartDifference) -> str:
    change = 100.0 * (one.ratio - 1.0)
    if not _likely(one):
        return one.verdict
    return f"{change:+.1f} %, {'differs' if one.verdict == 'differs' else 'probably'}"
