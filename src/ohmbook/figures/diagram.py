"""A circuit diagram as plain data: what is where, in drawing units, before anything is drawn.

One unit is the length of a symbol's body. The y axis points up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Flag, Item
from ohmbook.figures.boxes import Box, Spot, hull

Align = Literal["left", "center", "right"]

PLUS = 0.26
"""The side of the square that holds the + beside a driver's first terminal."""

BAR_HALF = 0.28
"""Half the width of the bar that ends a wire at a ground node."""

BAR_DEPTH = (0.06, 0.26)
"""How far down it reaches: a bar, and the three lines of earth."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A placed symbol: `start` and `end` are where its first and second node are wired to."""

    item: Item
    start: Spot
    end: Spot
    body: Box


@dataclass(frozen=True, slots=True)
class Wire:
    """A polyline that belongs to one node."""

    node: Node
    points: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """A wire's end at a ground node; of `style` 0 for the board's ground, 1 for earth."""

    node: Node
    spot: Spot
    style: int = 0

    @property
    def box(self) -> Box:
        """What it takes up."""
        x, y = self.spot
        return Box(x - BAR_HALF, y - BAR_DEPTH[self.style], x + BAR_HALF, y)


@dataclass(frozen=True, slots=True)
class Caption:
    """Text in a box; `node` captions are small.

    A `part` caption begins with the part's name, on its first `name_lines` lines.
    """

    lines: tuple[str, ...]
    box: Box
    role: Literal["part", "node"]
    align: Align
    name_lines: int = 0


@dataclass(frozen=True, slots=True)
class Tag:
    """A flag, placed: its box, and its tip on the node's wire."""

    flag: Flag
    box: Box


@dataclass(frozen=True, slots=True)
class Diagram:
    """Everything placed.

    Args:
        symbols: every part once.
        wires: by node.
        bars: where a wire ends at a ground node.
        loose: where a part's end hangs in the air.
        captions: labels of parts and names of nodes.
        tags: flags.
        manner: "rows": signal flow in rows; "rails": every node a line of its own.
    """

    symbols: tuple[Symbol, ...]
    wires: tuple[Wire, ...]
    bars: tuple[Bar, ...]
    loose: tuple[Spot, ...]
    captions: tuple[Caption, ...]
    tags: tuple[Tag, ...]
    manner: Literal["rows", "rails"] = "rows"

    @property
    def bounds(self) -> Box:
        """The smallest box that holds everything."""
        spots = [spot for wire in self.wires for spot in wire.points]
        boxes = [Box(x, y, x, y) for x, y in [*spots, *self.loose]]
        boxes += [one.body for one in self.symbols]
        boxes += [one.box for one in self.bars]
        boxes += [one.box for one in self.captions]
        boxes += [one.box for one in self.tags]
        return hull(boxes)


def plus_box(symbol: Symbol) -> Box:
    """Where the + of a driver stands: beside its first terminal, on the side without the horn."""
    (x, y), (x_other, y_other) = symbol.start, symbol.end
    if abs(y - y_other) > abs(x - x_other):
        low = y - 0.2 if y > y_other else y + 0.2 - PLUS
        return Box(x - PLUS - 0.06, low, x - 0.06, low + PLUS)
    left = x - 0.2 if x < x_other else x + 0.2 - PLUS
    return Box(left, y - PLUS - 0.06, left + PLUS, y - 0.06)


def merged(wires: tuple[Wire, ...]) -> tuple[Wire, ...]:
    """The same wires without the ones of no length."""
    return tuple(
        replace(one, points=_distinct(one.points)) for one in wires if len(set(one.points)) > 1
    )


def _distinct(points: tuple[Spot, ...]) -> tuple[Spot, ...]:
    kept = [points[0]]
    for point in points[1:]:
        if point != kept[-1]:
            kept.append(point)
    return tuple(kept)


def junctions(wires: tuple[Wire, ...]) -> tuple[Spot, ...]:
    """Where three or more pieces of one node's wire meet, so that a dot belongs there.

    Args:
        wires: with pieces along the axes.
    """
    pieces = [
        (wire.node, a, b)
        for wire in wires
        for a, b in zip(wire.points[:-1], wire.points[1:], strict=True)
    ]
    ends = {(node, spot) for node, a, b in pieces for spot in (a, b)}
    found = []
    for node, spot in sorted(ends):
        arms = {arm for n, a, b in pieces if n == node for arm in _arms(spot, a, b)}
        if len(arms) > 2:
            found.append(spot)
    return tuple(found)


def _arms(spot: Spot, a: Spot, b: Spot) -> set[Spot]:
    """The directions in which a piece leaves a spot that lies on it."""
    if not on_piece(spot, a, b):
        return set()
    return {
        (_sign(end[0] - spot[0]), _sign(end[1] - spot[1])) for end in (a, b) if not near(end, spot)
    }


def near(a: Spot, b: Spot) -> bool:
    """Whether two spots are the same but for rounding."""
    return abs(a[0] - b[0]) < 1e-9 and abs(a[1] - b[1]) < 1e-9


def on_piece(spot: Spot, a: Spot, b: Spot) -> bool:
    """Whether a spot lies on a piece of wire along an axis, its ends included."""
    return all(min(a[k], b[k]) - 1e-9 <= spot[k] <= max(a[k], b[k]) + 1e-9 for k in (0, 1))


def _sign(value: float) -> float:
    return 0.0 if abs(value) < 1e-9 else (1.0 if value > 0.0 else -1.0)
