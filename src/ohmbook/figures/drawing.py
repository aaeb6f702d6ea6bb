"""Draw a diagram: symbols by schemdraw (IEC 60617), wires and texts by matplotlib."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from ohmbook.drawing.circuit import Tool
from ohmbook.figures.boxes import Box, Spot
from ohmbook.figures.diagram import (
    BAR_HALF,
    Bar,
    Caption,
    Diagram,
    Symbol,
    Tag,
    junctions,
    plus_box,
)
from ohmbook.figures.style import INK, PAPER, SOFT, new_figure
from ohmbook.figures.typeset import FLAG_PT, INCHES_PER_UNIT, LEADING, NODE_PT, PART_PT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LINE, _THIN = 1.2, 0.9
_MARGIN_IN = 0.2
_SPEAKER_HALF = 0.25
"""Half the distance of the two leads of schemdraw's loudspeaker."""

_TAG_LOOKS: dict[Tool, tuple[str, str, str]] = {
    "source": ("#fbe9da", "#9c4a0c", "-"),
    "scope": ("#dfeaf5", "#1d4f80", "-"),
    "meter": ("#ddefec", "#17665c", "--"),
    "output": (PAPER, SOFT, "-"),
}
"""Paper, ink and outline of a flag by what it belongs to; its text says so too."""


def diagram_figure(diagram: Diagram, header_in: float, footer_in: float, least_in: float) -> Figure:
    """A figure of the right size with the diagram in it, and room above and below.

    Args:
        diagram: what has been laid out.
        header_in: room above for a title, inches.
        footer_in: room below for small print, inches.
        least_in: least width of the figure, inches.
    """
    bounds = diagram.bounds
    width_in = (bounds.x1 - bounds.x0) * INCHES_PER_UNIT
    height_in = (bounds.y1 - bounds.y0) * INCHES_PER_UNIT
    full_in = max(least_in, width_in + 2.0 * _MARGIN_IN)
    figure = new_figure(full_in, height_in + header_in + footer_in + 2.0 * _MARGIN_IN)
    axes = figure.add_axes(
        (
            _MARGIN_IN / full_in,
            (footer_in + _MARGIN_IN) / figure.get_figheight(),
            width_in / full_in,
            height_in / figure.get_figheight(),
        )
    )
    axes.set_axis_off()
    draw(axes, diagram)
    axes.set_xlim(bounds.x0, bounds.x1)
    axes.set_ylim(bounds.y0, bounds.y1)
    return figure


def draw(axes: Axes, diagram: Diagram) -> None:
    """Draw everything of a diagram.

    Args:
        axes: one unit must be as wide as it is high.
        diagram: what has been laid out.
    """
    for wire in diagram.wires:
        xs, ys = zip(*wire.points, strict=True)
        axes.plot(
            xs, ys, color=INK, linewidth=_LINE, solid_capstyle="round", zorder=2, clip_on=False
        )
    for spot in junctions(diagram.wires):
        _dot(axes, spot, INK)
    for spot in diagram.loose:
        _dot(axes, spot, PAPER)
    for bar in diagram.bars:
        _draw_bar(axes, bar)
    _draw_symbols(axes, diagram)
    for caption in diagram.captions:
        _write(axes, caption)
    for tag in diagram.tags:
        _draw_tag(axes, tag)


def _draw_bar(axes: Axes, bar: Bar) -> None:
    """One thick bar for the board's ground; three lines, each shorter, for earth."""
    (x, y), half = bar.spot, BAR_HALF
    strokes = (
        ((half, 0.0, 2.6),)
        if bar.style == 0
        else tuple(
            (half * share, drop, 1.6) for share, drop in ((1.0, 0.0), (0.62, 0.11), (0.26, 0.22))
        )
    )
    for reach, drop, width in strokes:
        axes.plot(
            [x - reach, x + reach],
            [y - drop, y - drop],
            color=INK,
            linewidth=width,
            clip_on=False,
            solid_capstyle="butt",
        )


def _dot(axes: Axes, spot: Spot, colour: str) -> None:
    axes.plot(
        [spot[0]],
        [spot[1]],
        marker="o",
        markersize=3.6,
        color=INK,
        markerfacecolor=colour,
        clip_on=False,
        zorder=3,
        linestyle="none",
    )


def _schemdraw() -> tuple[Any, Any]:
    """schemdraw, which loads pyplot; where nobody has chosen a display, none is looked for."""
    if "matplotlib.pyplot" not in sys.modules:
        import matplotlib

        matplotlib.use("agg")
    import schemdraw
    from schemdraw import elements

    return schemdraw, elements


def _draw_symbols(axes: Axes, diagram: Diagram) -> None:
    schemdraw, elements = _schemdraw()
    drawing = schemdraw.Drawing(canvas=axes, show=False, color=INK, lw=_LINE)
    for symbol in diagram.symbols:
        kind = symbol.item.kind
        if kind == "driver":
            _add_driver(axes, drawing, elements, symbol)
        elif kind == "open":
            _add_gap(axes, symbol)
        else:
            element = {
                "resistor": elements.ResistorIEC,
                "inductor": elements.Inductor,
                "capacitor": elements.Capacitor,
                "short": elements.Line,
            }[kind]()
            drawing.add(element.at(symbol.start).to(symbol.end))
    drawing.draw(show=False)


def _add_driver(axes: Axes, drawing: Any, elements: Any, symbol: Symbol) -> None:
    """A loudspeaker between two spots: the horn to the right, or upwards where it lies."""
    (x0, y0), (x1, y1) = sorted((symbol.start, symbol.end))
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    if y0 == y1:
        near, far, angle = (x - _SPEAKER_HALF, y), (x + _SPEAKER_HALF, y), 90.0
    else:
        near, far, angle = (x, y + _SPEAKER_HALF), (x, y - _SPEAKER_HALF), 0.0
        (x0, y0), (x1, y1) = (x1, y1), (x0, y0)
    for (ax, ay), (bx, by) in (((x0, y0), near), ((x1, y1), far)):
        axes.plot([ax, bx], [ay, by], color=INK, linewidth=_LINE, clip_on=False)
    drawing.add(elements.Speaker().at(near).anchor("in1").theta(angle))
    plus = plus_box(symbol)
    axes.text(
        (plus.x0 + plus.x1) / 2.0,
        (plus.y0 + plus.y1) / 2.0,
        "+",
        size=PART_PT + 1.0,
        ha="center",
        va="center",
        clip_on=False,
    )


def _add_gap(axes: Axes, symbol: Symbol) -> None:
    """A part that is disconnected: its place, dotted, between two open ends."""
    (x0, y0), (x1, y1) = symbol.start, symbol.end
    axes.plot([x0, x1], [y0, y1], color=SOFT, linewidth=_THIN, linestyle=":", clip_on=False)
    for spot in (symbol.start, symbol.end):
        _dot(axes, spot, PAPER)


def _write(axes: Axes, caption: Caption) -> None:
    """Lines from the top of the box; the first line of a part's label is its name."""
    box, part = caption.box, caption.role == "part"
    size = PART_PT if part else NODE_PT
    step = size * LEADING / (72.0 * INCHES_PER_UNIT)
    x = {"left": box.x0, "center": (box.x0 + box.x1) / 2.0, "right": box.x1}[caption.align]
    for k, line in enumerate(caption.lines):
        axes.text(
            x,
            box.y1 - (k + 0.5) * step,
            line,
            size=size,
            ha=caption.align,
            va="center_baseline",
            color=INK if part else SOFT,
            clip_on=False,
            weight="bold" if k < caption.name_lines else "normal",
        )


def _draw_tag(axes: Axes, tag: Tag) -> None:
    from matplotlib.patches import FancyBboxPatch

    paper, ink, outline = _TAG_LOOKS[tag.flag.tool]
    box = _inset(tag.box)
    axes.add_patch(
        FancyBboxPatch(
            (box.x0, box.y0),
            box.x1 - box.x0,
            box.y1 - box.y0,
            boxstyle="round,pad=0.05",
            facecolor=paper,
            edgecolor=ink,
            linewidth=_THIN,
            linestyle=outline,
            clip_on=False,
            zorder=4,
        )
    )
    axes.text(
        (box.x0 + box.x1) / 2.0,
        (box.y0 + box.y1) / 2.0,
        tag.flag.text,
        size=FLAG_PT,
        color=ink if tag.flag.tool != "output" else INK,
        ha="center",
        va="center_baseline",
        clip_on=False,
        zorder=5,
    )


def _inset(box: Box) -> Box:
    return box.grown(-0.05)
