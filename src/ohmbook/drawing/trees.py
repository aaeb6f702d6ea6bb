"""Two-terminal pieces on the grid: lying along a row, or hanging down from it."""

from __future__ import annotations

from dataclasses import dataclass

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import REACH, Spot
from ohmbook.drawing.paper import Paper
from ohmbook.drawing.series_parallel import Leaf, Series, Tree

_LEADS, _BUS = 5, 2
_ABOVE, _BELOW = 4, 2
_LEFT, _RIGHT = 3, 7
_FOOT = 1


@dataclass(frozen=True, slots=True)
class Room:
    """What a piece needs: along its line, and to both sides of it (above and below, or left and
    right), in steps."""

    along: int
    before: int
    after: int


def lying_room(tree: Tree) -> Room:
    """The room of a lying piece: length, above, below."""
    if isinstance(tree, Leaf):
        return Room(REACH + _LEADS, _ABOVE, _BELOW)
    rooms = [lying_room(one) for one in tree.children]
    if isinstance(tree, Series):
        return Room(
            sum(one.along for one in rooms),
            max(one.before for one in rooms),
            max(one.after for one in rooms),
        )
    above = rooms[0].before + sum(one.before + one.after for one in rooms[1:])
    return Room(max(one.along for one in rooms) + 2 * _BUS, above, rooms[0].after)


def hanging_room(tree: Tree) -> Room:
    """The room of a hanging piece: height, left, right."""
    if isinstance(tree, Leaf):
        return Room(REACH + 2 * _FOOT, _LEFT, _RIGHT)
    rooms = [hanging_room(one) for one in tree.children]
    if isinstance(tree, Series):
        return Room(
            sum(one.along for one in rooms),
            max(one.before for one in rooms),
            max(one.after for one in rooms),
        )
    right = rooms[0].after + sum(one.before + one.after for one in rooms[1:])
    return Room(max(one.along for one in rooms) + 2 * _BUS, rooms[0].before, right)


def place_lying(
    paper: Paper, tree: Tree, left: tuple[Node, Spot], right: tuple[Node, Spot]
) -> None:
    """Place a piece between two spots at the same height."""
    (here, (x0, y)), (there, (x1, _)) = left, right
    if isinstance(tree, Leaf):
        at = (x0 + (x1 - x0 - REACH) // 2, y)
        paper.part(tree.item, at, upright=False, forward=tree.forward)
        paper.wire(here, (x0, y), at)
        paper.wire(there, (at[0] + REACH, y), (x1, y))
    elif isinstance(tree, Series):
        spare = x1 - x0 - lying_room(tree).along
        for k, child in enumerate(tree.children):
            last = k == len(tree.nodes)
            x0 += lying_room(child).along + (spare if last else 0)
            node = there if last else tree.nodes[k]
            place_lying(paper, child, left, (node, (x0, y)))
            if not last:
                paper.name(node, (x0, y))
            left = (node, (x0, y))
    else:
        _place_beside(paper, tree.children, left, right)


def _place_beside(
    paper: Paper, children: tuple[Tree, ...], left: tuple[Node, Spot], right: tuple[Node, Spot]
) -> None:
    (here, (x0, y)), (there, (x1, _)) = left, right
    level, above = y, 0
    for k, child in enumerate(children):
        room = lying_room(child)
        level -= above + room.after if k else 0
        above = room.before
        near, far = (x0 + _BUS, level), (x1 - _BUS, level)
        place_lying(paper, child, (here, near), (there, far))
    paper.wire(here, (x0, y), (x0 + _BUS, y), (x0 + _BUS, level))
    paper.wire(there, (x1, y), (x1 - _BUS, y), (x1 - _BUS, level))


def place_hanging(
    paper: Paper, tree: Tree, top: tuple[Node, Spot], foot: tuple[Node, Spot]
) -> None:
    """Place a piece between two spots, one straight below the other."""
    (upper, (x, y0)), (lower, (_, y1)) = top, foot
    if isinstance(tree, Leaf):
        at = (x, y0 + _FOOT)
        paper.part(tree.item, at, upright=True, forward=tree.forward)
        paper.wire(upper, (x, y0), at)
        paper.wire(lower, (x, at[1] + REACH), (x, y1))
    elif isinstance(tree, Series):
        for k, child in enumerate(tree.children):
            last = k == len(tree.nodes)
            y0 = y1 if last else y0 + hanging_room(child).along
            node = lower if last else tree.nodes[k]
            place_hanging(paper, child, top, (node, (x, y0)))
            if not last:
                paper.name(node, (x, y0))
            top = (node, (x, y0))
    else:
        _hang_beside(paper, tree.children, top, foot)


def _hang_beside(
    paper: Paper, children: tuple[Tree, ...], top: tuple[Node, Spot], foot: tuple[Node, Spot]
) -> None:
    (upper, (x, y0)), (lower, (_, y1)) = top, foot
    column, right = x, 0
    for k, child in enumerate(children):
        room = hanging_room(child)
        column += right + room.before if k else 0
        right = room.after
        place_hanging(paper, child, (upper, (column, y0 + _BUS)), (lower, (column, y1 - _BUS)))
    paper.wire(upper, (x, y0), (x, y0 + _BUS), (column, y0 + _BUS))
    paper.wire(lower, (x, y1), (x, y1 - _BUS), (column, y1 - _BUS))
