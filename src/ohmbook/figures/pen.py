"""Collects what is placed while a diagram is laid out, and what a label takes up."""

from __future__ import annotations

from typing import Literal

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Circuit, Flag, Item
from ohmbook.figures.boxes import Box, Spot
from ohmbook.figures.diagram import (
    BAR_DEPTH,
    Align,
    Bar,
    Caption,
    Diagram,
    Symbol,
    Tag,
    Wire,
    merged,
)
from ohmbook.figures.typeset import FLAG_PT, NODE_PT, PART_PT, block

BODY = 1.0
HALF = 0.3
HORN = 0.92
HORN_HALF = 0.9

TAG_PAD = 0.16
_GAP = 0.12


class Pen:
    """A diagram in the making; whatever it has been told is frozen by `diagram`."""

    def __init__(self, circuit: Circuit) -> None:
        self._grounds = circuit.grounds
        self._flags: dict[Node, list[Flag]] = {}
        for flag in circuit.flags:
            self._flags.setdefault(flag.node, []).append(flag)
        self._symbols: list[Symbol] = []
        self._wires: list[Wire] = []
        self._bars: list[Bar] = []
        self._loose: list[Spot] = []
        self._captions: list[Caption] = []
        self._tags: list[Tag] = []

    def flags(self, node: Node) -> tuple[Flag, ...]:
        """What is attached to a node."""
        return tuple(self._flags.get(node, ()))

    def wire(self, node: Node, *points: Spot) -> None:
        """A wire of one node through these points."""
        self._wires.append(Wire(node, points))

    def bar(self, node: Node, spot: Spot) -> None:
        """A wire ends at a ground node."""
        self._bars.append(Bar(node, spot, min(self._grounds.index(node), 1)))

    def cap(self, node: Node, spot: Spot) -> None:
        """The same bar turned upwards: a wire comes down from the ground node."""
        self._bars.append(Bar(node, (spot[0], spot[1] + BAR_DEPTH[0]), 0))

    def loose(self, spot: Spot) -> None:
        """A wire ends in the air."""
        self._loose.append(spot)

    def symbol(self, item: Item, start: Spot, end: Spot) -> None:
        """A part's symbol between two spots, one body length apart along an axis."""
        self._symbols.append(Symbol(item, start, end, body_box(item, start, end)))

    def label(self, item: Item, spot: Spot, align: Align) -> None:
        """A part's label; the spot is the middle of its left edge, or of its lower edge."""
        width, height = block(item.lines, PART_PT, item.name_lines)
        low = spot[1] - height / 2.0 if align == "left" else spot[1]
        left = spot[0] if align == "left" else spot[0] - width / 2.0
        box = Box(left, low, left + width, low + height)
        self._captions.append(Caption(item.lines, box, "part", align, item.name_lines))

    def node_name(self, node: Node, spot: Spot, align: Literal["left", "right"]) -> None:
        """A node's name; the spot is its lower left or its lower right corner."""
        width, height = block((node,), NODE_PT)
        left = spot[0] if align == "left" else spot[0] - width
        box = Box(left, spot[1], left + width, spot[1] + height)
        self._captions.append(Caption((node,), box, "node", align))

    def tag(self, flag: Flag, corner: Spot, side: Literal["left", "right"]) -> Box:
        """A flag's box; `corner` is its lower corner on the side of its tip."""
        width, height = tag_size(flag)
        left = corner[0] if side == "left" else corner[0] - width
        box = Box(left, corner[1], left + width, corner[1] + height)
        self._tags.append(Tag(flag, box))
        return box

    def diagram(self, manner: Literal["rows", "rails"]) -> Diagram:
        """Everything so far, frozen."""
        return Diagram(
            tuple(self._symbols),
            merged(tuple(self._wires)),
            tuple(self._bars),
            tuple(self._loose),
            tuple(self._captions),
            tuple(self._tags),
            manner,
        )


def body_box(item: Item, start: Spot, end: Spot) -> Box:
    """What a symbol takes up without its label."""
    x0, x1 = sorted((start[0], end[0]))
    y0, y1 = sorted((start[1], end[1]))
    upright = y1 - y0 > x1 - x0
    if item.kind != "driver":
        return Box(x0 - HALF, y0, x1 + HALF, y1) if upright else Box(x0, y0 - HALF, x1, y1 + HALF)
    if upright:
        middle = (y0 + y1) / 2.0
        return Box(x0, middle - HORN_HALF, x0 + HORN, middle + HORN_HALF)
    middle = (x0 + x1) / 2.0
    return Box(middle - HORN_HALF, y0, middle + HORN_HALF, y0 + HORN)


def tag_size(flag: Flag) -> Spot:
    """Width and height of a flag's box."""
    width, height = block((flag.text,), FLAG_PT)
    return width + 2.0 * TAG_PAD, height + _GAP


def label_size(item: Item) -> Spot:
    """Width and height of a part's label."""
    return block(item.lines, PART_PT, item.name_lines)


def name_size(node: Node) -> Spot:
    """Width and height of a node's name."""
    return block((node,), NODE_PT)
