"""Pieces that hang down: parts in series one under the other, in parallel side by side."""

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

_LEAD, _LABEL_GAP, _SIDE, _BUS = 0.32, 0.14, 0.16, 0.35
_TAG_BUS, _TAG_LEAD, _TAG_STEP, _NAME_GAP = 0.5, 0.15, 0.5, 0.12


@dataclass(frozen=True, slots=True)
class Extent:
    """Room to the left and right of the entering wire, and the least height."""

    left: float
    right: float
    height: float


def extent(pen: Pen, tree: Tree) -> Extent:
    """What a hanging piece needs.

    Args:
        pen: knows the flags.
        tree: from top to bottom.
    """
    if isinstance(tree, Leaf):
        return _leaf_extent(tree.item)
    parts = [extent(pen, child) for child in tree.children]
    if isinstance(tree, Series):
        lefts = [beside(pen, node) for node in tree.nodes]
        names = [name_size(node)[0] + _NAME_GAP + _SIDE for node in tree.nodes]
        return Extent(
            max([one.left for one in parts] + lefts),
            max([one.right for one in parts] + names),
            sum(one.height for one in parts),
        )
    right = parts[0].right + sum(one.left + one.right for one in parts[1:])
    return Extent(parts[0].left, right, max(one.height for one in parts) + 2.0 * _BUS)


def _leaf_extent(item: Item) -> Extent:
    width, height = label_size(item)
    if item.kind == "driver":
        return Extent(PLUS + _SIDE, HORN + _LABEL_GAP + width + _SIDE, 2.0 * HORN_HALF + 0.2)
    return Extent(
        HALF + _SIDE,
        HALF + _LABEL_GAP + width + _SIDE,
        max(BODY + 2.0 * _LEAD, height + 0.1),
    )


def beside(pen: Pen, node: Node) -> float:
    """Room to the left of a node between two parts, for its flags.

    Args:
        pen: knows the flags.
        node: which node.
    """
    tags = [tag_size(flag)[0] for flag in pen.flags(node)]
    return max(tags) + _TAG_BUS + _TAG_LEAD + _SIDE if tags else 0.0


def place(pen: Pen, tree: Tree, top: tuple[Node, Spot], bottom: tuple[Node, Spot]) -> None:
    """Place a hanging piece between two spots, one straight below the other.

    Args:
        pen: takes what is placed.
        tree: from top to bottom.
        top: node and spot of the upper end.
        bottom: node and spot of the lower end.
    """
    if isinstance(tree, Leaf):
        _place_leaf(pen, tree, top, bottom)
    elif isinstance(tree, Series):
        _place_series(pen, tree, top, bottom)
    else:
        _place_parallel(pen, tree, top, bottom)


def _place_leaf(pen: Pen, leaf: Leaf, top: tuple[Node, Spot], bottom: tuple[Node, Spot]) -> None:
    (upper, (x, y_top)), (lower, (_, y_bottom)) = top, bottom
    middle = (y_top + y_bottom) / 2.0
    half = BODY / 2.0
    above, below = (x, middle + half), (x, middle - half)
    pen.wire(upper, (x, y_top), above)
    pen.wire(lower, below, (x, y_bottom))
    pen.symbol(leaf.item, *((above, below) if leaf.forward else (below, above)))
    reach = HORN if leaf.item.kind == "driver" else HALF
    pen.label(leaf.item, (x + reach + _LABEL_GAP, middle), "left")


def _place_series(
    pen: Pen, tree: Series, top: tuple[Node, Spot], bottom: tuple[Node, Spot]
) -> None:
    heights = [extent(pen, child).height for child in tree.children]
    x, y = top[1]
    spare = (y - bottom[1][1] - sum(heights)) / len(heights)
    here = top
    for child, height, node in zip(tree.children, heights, (*tree.nodes, None), strict=True):
        y -= height + spare
        there = bottom if node is None else (node, (x, y))
        place(pen, child, here, there)
        if node is not None:
            mark_node(pen, node, (x, y))
        here = there


def mark_node(pen: Pen, node: Node, spot: Spot) -> None:
    """A node's name to the right of a wire, its flags to the left, one under the other.

    Args:
        pen: takes what is placed.
        node: which node.
        spot: where on the wire.
    """
    x, y = spot
    pen.node_name(node, (x + _NAME_GAP, y - name_size(node)[1] / 2.0), "left")
    for k, flag in enumerate(pen.flags(node)):
        level, bus = y - k * _TAG_STEP, x - _TAG_BUS
        pen.wire(node, (x, y), (bus, y), (bus, level), (bus - _TAG_LEAD, level))
        pen.tag(flag, (bus - _TAG_LEAD, level - tag_size(flag)[1] / 2.0), "right")


def _place_parallel(
    pen: Pen, tree: Parallel, top: tuple[Node, Spot], bottom: tuple[Node, Spot]
) -> None:
    (upper, (x, y_top)), (lower, (_, y_bottom)) = top, bottom
    y_high, y_low = y_top - _BUS, y_bottom + _BUS
    pen.wire(upper, (x, y_top), (x, y_high))
    pen.wire(lower, (x, y_low), (x, y_bottom))
    spots, right = [x], extent(pen, tree.children[0]).right
    for child in tree.children[1:]:
        room = extent(pen, child)
        spots.append(x + right + room.left)
        right += room.left + room.right
    pen.wire(upper, (x, y_high), (spots[-1], y_high))
    pen.wire(lower, (x, y_low), (spots[-1], y_low))
    for child, spot in zip(tree.children, spots, strict=True):
        place(pen, child, (upper, (spot, y_high)), (lower, (spot, y_low)))
