"""Pieces that lie along a row: parts in series one after another, in parallel above each other."""

from __future__ import annotations

from dataclasses import dataclass

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Item
from ohmbook.drawing.series_parallel import Leaf, Parallel, Series, Tree
from ohmbook.figures.boxes import Spot
from ohmbook.figures.diagram import PLUS
from ohmbook.figures.pen import (
    BODY,
    HALF,
    HORN,
    HORN_HALF,
    Pen,
    label_size,
    name_size,
    tag_size,
)

_LEAD, _LABEL_GAP, _SIDE, _BUS = 0.25, 0.1, 0.15, 0.3
_TAG_LEAD = 0.3


@dataclass(frozen=True, slots=True)
class Extent:
    """The least length, and the room above and below the line."""

    length: float
    above: float
    below: float


def extent(pen: Pen, tree: Tree) -> Extent:
    """What a lying piece needs.

    Args:
        pen: knows the flags.
        tree: from left to right.
    """
    if isinstance(tree, Leaf):
        return _leaf_extent(tree.item)
    parts = [extent(pen, child) for child in tree.children]
    if isinstance(tree, Series):
        marks = [_node_extent(pen, node) for node in tree.nodes]
        every = [*parts, *marks]
        return Extent(
            sum(one.length for one in every),
            max(one.above for one in every),
            max(one.below for one in every),
        )
    above = parts[0].above + sum(one.below + one.above for one in parts[1:])
    return Extent(max(one.length for one in parts) + 2.0 * _BUS, above, parts[0].below)


def _leaf_extent(item: Item) -> Extent:
    width, height = label_size(item)
    body, reach, below = BODY, HALF, HALF
    if item.kind == "driver":
        body, reach, below = 2.0 * HORN_HALF, HORN, PLUS
    length = max(body + 2.0 * _LEAD, width + 2.0 * _SIDE)
    return Extent(length, reach + _LABEL_GAP + height + _SIDE, below + _SIDE)


def _node_extent(pen: Pen, node: Node) -> Extent:
    """A node between two parts: its name above, its flags below on a pole."""
    width, height = name_size(node)
    sizes = [tag_size(flag) for flag in pen.flags(node)]
    below = sum(size[1] + 0.1 for size in sizes) + (_TAG_LEAD if sizes else 0.0)
    length = max([width + 0.1, *(size[0] + 0.1 for size in sizes)])
    return Extent(length, height + 0.1, below)


def place(pen: Pen, tree: Tree, left: tuple[Node, Spot], right: tuple[Node, Spot]) -> None:
    """Place a lying piece between two spots at the same height.

    Args:
        pen: takes what is placed.
        tree: from left to right.
        left: node and spot of the left end.
        right: node and spot of the right end.
    """
    if isinstance(tree, Leaf):
        _place_leaf(pen, tree, left, right)
    elif isinstance(tree, Series):
        _place_series(pen, tree, left, right)
    else:
        _place_parallel(pen, tree, left, right)


def _place_leaf(pen: Pen, leaf: Leaf, left: tuple[Node, Spot], right: tuple[Node, Spot]) -> None:
    (here, (x_left, y)), (there, (x_right, _)) = left, right
    middle = (x_left + x_right) / 2.0
    near, far = (middle - BODY / 2.0, y), (middle + BODY / 2.0, y)
    pen.wire(here, (x_left, y), near)
    pen.wire(there, far, (x_right, y))
    pen.symbol(leaf.item, *((near, far) if leaf.forward else (far, near)))
    reach = HORN if leaf.item.kind == "driver" else HALF
    pen.label(leaf.item, (middle, y + reach + _LABEL_GAP), "center")


def _place_series(
    pen: Pen, tree: Series, left: tuple[Node, Spot], right: tuple[Node, Spot]
) -> None:
    lengths = [extent(pen, child).length for child in tree.children]
    marks = [_node_extent(pen, node).length for node in tree.nodes]
    x, y = left[1]
    spare = (right[1][0] - x - sum(lengths) - sum(marks)) / len(lengths)
    here = left
    for k, child in enumerate(tree.children):
        x += lengths[k] + spare
        if k == len(tree.nodes):
            place(pen, child, here, right)
            continue
        node = tree.nodes[k]
        place(pen, child, here, (node, (x, y)))
        pen.wire(node, (x, y), (x + marks[k], y))
        _mark_node(pen, node, (x, y))
        x += marks[k]
        here = (node, (x, y))


def _mark_node(pen: Pen, node: Node, spot: Spot) -> None:
    x, y = spot
    pen.node_name(node, (x + 0.05, y + 0.06), "left")
    level = y - _TAG_LEAD
    for flag in pen.flags(node):
        height = tag_size(flag)[1]
        level -= height
        pen.wire(node, (x, y), (x, level + height / 2.0))
        pen.tag(flag, (x, level), "left")
        level -= 0.1


def _place_parallel(
    pen: Pen, tree: Parallel, left: tuple[Node, Spot], right: tuple[Node, Spot]
) -> None:
    (here, (x_left, y)), (there, (x_right, _)) = left, right
    x_in, x_out = x_left + _BUS, x_right - _BUS
    pen.wire(here, (x_left, y), (x_in, y))
    pen.wire(there, (x_out, y), (x_right, y))
    level, above = y, 0.0
    for k, child in enumerate(tree.children):
        room = extent(pen, child)
        level += above + room.below if k else 0.0
        above = room.above
        place(pen, child, (here, (x_in, level)), (there, (x_out, level)))
    pen.wire(here, (x_in, y), (x_in, level))
    pen.wire(there, (x_out, y), (x_out, level))
