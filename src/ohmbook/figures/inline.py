"""A diagram as SVG that stands inside a page: no colours of its own, no style attributes.

Lines and texts take the page's ink (`currentColor`) and classes ("tag-source"), so that they are
readable in light and dark. Symbols are those of IEC 60617: a resistor's rectangle, a coil's four
arcs, a capacitor's two plates.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from ohmbook.figures.boxes import Spot
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
from ohmbook.figures.typeset import FLAG_PT, INCHES_PER_UNIT, LEADING, NODE_PT, PART_PT

SCALE = 46.0
"""Pixels of one drawing unit."""

_PX_PER_PT = SCALE / (72.0 * INCHES_PER_UNIT)
_MARGIN = 0.15
_ARCS = 4
_PLATE, _GAP = 0.3, 0.07
_BODY, _HALF = 0.34, 0.15
_HORN = 0.25


def inline_svg(diagram: Diagram, words: str) -> str:
    """The diagram as an `<svg>` element.

    Args:
        diagram: what has been laid out.
        words: what it shows, for those who cannot see it.
    """
    return "".join(_Inline(diagram).lines(words))


class _Inline:
    def __init__(self, diagram: Diagram) -> None:
        bounds = diagram.bounds.grown(_MARGIN)
        self.diagram = diagram
        self.left, self.top = bounds.x0, bounds.y1
        self.size = (bounds.x1 - bounds.x0) * SCALE, (bounds.y1 - bounds.y0) * SCALE

    def at(self, spot: Spot) -> str:
        return f"{(spot[0] - self.left) * SCALE:.1f} {(self.top - spot[1]) * SCALE:.1f}"

    def lines(self, words: str) -> Iterator[str]:
        """The element, piece by piece."""
        width, height = self.size
        yield (
            f'<svg class="diagram" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
            f'height="{height:.0f}" role="img" aria-label="{escape(words)}">'
        )
        yield '<g class="wires">'
        for wire in self.diagram.wires:
            yield self.path(*wire.points)
        for bar in self.diagram.bars:
            yield from self.bar(bar)
        for symbol in self.diagram.symbols:
            yield from self.symbol(symbol)
        yield "</g>"
        for spot in junctions(self.diagram.wires):
            yield self.dot(spot, "joint")
        for spot in self.diagram.loose:
            yield self.dot(spot, "loose")
        for caption in self.diagram.captions:
            yield from self.caption(caption)
        for tag in self.diagram.tags:
            yield from self.tag(tag)
        yield "</svg>"

    def path(self, *spots: Spot, name: str = "") -> str:
        steps = " L".join(self.at(one) for one in spots)
        given = f' class="{name}"' if name else ""
        return f'<path{given} d="M{steps}"/>'

    def dot(self, spot: Spot, name: str) -> str:
        x, y = self.at(spot).split()
        return f'<circle class="{name}" cx="{x}" cy="{y}" r="3"/>'

    def bar(self, bar: Bar) -> Iterator[str]:
        """One thick bar for the board's ground; three lines, each shorter, for earth."""
        x, y = bar.spot
        if bar.style == 0:
            yield self.path((x - BAR_HALF, y), (x + BAR_HALF, y), name="bar")
            return
        for share, drop in ((1.0, 0.0), (0.62, 0.11), (0.26, 0.22)):
            half = BAR_HALF * share
            yield self.path((x - half, y - drop), (x + half, y - drop))

    def symbol(self, symbol: Symbol) -> Iterator[str]:
        draw = {
            "resistor": self.resistor,
            "inductor": self.coil,
            "capacitor": self.capacitor,
            "driver": self.driver,
            "short": self.short,
            "open": self.gap,
        }[symbol.item.kind]
        yield from draw(_Turned(symbol))
        if symbol.item.kind == "driver":
            box = plus_box(symbol)
            yield self.text(((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2), "+", PART_PT, "plus")

    def resistor(self, on: _Turned) -> Iterator[str]:
        yield self.path(on.spot(0.0), on.spot(0.5 - _BODY))
        yield self.path(on.spot(0.5 + _BODY), on.spot(1.0))
        a, b = 0.5 - _BODY, 0.5 + _BODY
        corners = [(a, _HALF), (b, _HALF), (b, -_HALF), (a, -_HALF), (a, _HALF)]
        yield self.path(*(on.spot(*one) for one in corners))

    def coil(self, on: _Turned) -> Iterator[str]:
        a, b = 0.5 - _BODY, 0.5 + _BODY
        radius = (b - a) / (2 * _ARCS)
        yield self.path(on.spot(0.0), on.spot(a))
        yield self.path(on.spot(b), on.spot(1.0))
        turn = 1 if on.turns_clockwise else 0
        r = f"{radius * on.length * SCALE:.1f}"
        ends = [self.at(on.spot(a + 2 * radius * (k + 1))) for k in range(_ARCS)]
        arcs = "".join(f" A{r} {r} 0 0 {turn} {end}" for end in ends)
        yield f'<path d="M{self.at(on.spot(a))}{arcs}"/>'

    def capacitor(self, on: _Turned) -> Iterator[str]:
        for end, near in ((0.0, 0.5 - _GAP), (1.0, 0.5 + _GAP)):
            yield self.path(on.spot(end), on.spot(near))
            yield self.path(on.spot(near, _PLATE), on.spot(near, -_PLATE), name="plate")

    def driver(self, on: _Turned) -> Iterator[str]:
        """A box across the line, and its horn to the side."""
        a, b = 0.5 - _HORN, 0.5 + _HORN
        side = -1.0 if on.horn_is_right else 1.0
        box, mouth = 0.22 * side, 0.55 * side
        yield self.path(on.spot(0.0), on.spot(a))
        yield self.path(on.spot(b), on.spot(1.0))
        corners = [(a, -box * 0.4), (b, -box * 0.4), (b, box), (a, box), (a, -box * 0.4)]
        yield self.path(*(on.spot(*one) for one in corners))
        horn = [(a, box), (a - 0.15, mouth), (b + 0.15, mouth), (b, box)]
        yield self.path(*(on.spot(*one) for one in horn))

    def short(self, on: _Turned) -> Iterator[str]:
        yield self.path(on.spot(0.0), on.spot(1.0))

    def gap(self, on: _Turned) -> Iterator[str]:
        yield self.path(on.spot(0.0), on.spot(1.0), name="gap")
        for end in (0.0, 1.0):
            yield self.dot(on.spot(end), "loose")

    def caption(self, caption: Caption) -> Iterator[str]:
        box, part = caption.box, caption.role == "part"
        size = PART_PT if part else NODE_PT
        step = size * LEADING / (72.0 * INCHES_PER_UNIT)
        x = {"left": box.x0, "center": (box.x0 + box.x1) / 2, "right": box.x1}[caption.align]
        for k, line in enumerate(caption.lines):
            name = "part-name" if k < caption.name_lines else ("value" if part else "node")
            yield self.text((x, box.y1 - (k + 0.5) * step), line, size, name, caption.align)

    def tag(self, tag: Tag) -> Iterator[str]:
        box = tag.box.grown(-0.03)
        x, y = self.at((box.x0, box.y1)).split()
        width, height = (box.x1 - box.x0) * SCALE, (box.y1 - box.y0) * SCALE
        middle = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
        yield f'<g class="tag tag-{tag.flag.tool}">'
        yield f'<rect x="{x}" y="{y}" width="{width:.1f}" height="{height:.1f}" rx="3"/>'
        yield self.text(middle, tag.flag.text, FLAG_PT, "tag-text")
        yield "</g>"

    def text(self, spot: Spot, line: str, size: float, name: str, align: str = "center") -> str:
        x, y = self.at(spot).split()
        anchor = {"left": "start", "center": "middle", "right": "end"}[align]
        return (
            f'<text class="{name}" x="{x}" y="{y}" font-size="{size * _PX_PER_PT:.1f}" '
            f'text-anchor="{anchor}" dominant-baseline="central">{escape(line)}</text>'
        )


class _Turned:
    """A symbol's own frame: along it from 0 to 1, and across, to the left of the way."""

    def __init__(self, symbol: Symbol) -> None:
        (x0, y0), (x1, y1) = symbol.start, symbol.end
        self.start, self.along = (x0, y0), (x1 - x0, y1 - y0)
        self.length = abs(x1 - x0) + abs(y1 - y0)
        self.across = (-(y1 - y0) / (self.length or 1.0), (x1 - x0) / (self.length or 1.0))

    def spot(self, along: float, across: float = 0.0) -> Spot:
        (x, y), (dx, dy), (ax, ay) = self.start, self.along, self.across
        return x + along * dx + across * ax, y + along * dy + across * ay

    @property
    def turns_clockwise(self) -> bool:
        """Whether a coil's arcs bow to the top, or to the right where it stands."""
        dx, dy = self.along
        return dx > 0.0 if abs(dx) > abs(dy) else dy < 0.0

    @property
    def horn_is_right(self) -> bool:
        """Whether right (or up, where it lies) is on the side that `across` is negative on."""
        dx, dy = self.along
        return dx < 0.0 if abs(dx) > abs(dy) else dy > 0.0
