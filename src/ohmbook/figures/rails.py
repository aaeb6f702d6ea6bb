"""A diagram that any circuit fits: every node a line of its own, every part a column of its own.

Nothing can overlap, whatever the circuit: a part's body lies in the gap below its upper node's
line, and the wire on to its lower node crosses the lines between, without a dot.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Circuit, Item
from ohmbook.figures.diagram import PLUS, Diagram
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

_MARGIN, _GAP, _LABEL_GAP, _SIDE, _LOOP = 0.35, 0.3, 0.14, 0.2, 0.5
_NAME_ROOM = 0.4
_BUS, _TAG_STEP = 0.15, 0.55


def place_on_rails(circuit: Circuit) -> Diagram:
    """Positions for any circuit.

    Args:
        circuit: what is laid out.
    """
    pen = Pen(circuit)
    nodes = _ordered_nodes(circuit)
    level = {node: -k * _pitch(circuit) for k, node in enumerate(nodes)}
    x = _MARGIN + max(name_size(node)[0] for node in nodes)
    reach = dict.fromkeys(nodes, x)
    for item in _ordered_items(circuit, level):
        x += _room_left(item)
        upper, lower = sorted(item.ends, key=lambda node: level.get(node, -1e9), reverse=True)
        _place_column(pen, circuit, item, (upper, lower), (x, level))
        for node in item.ends:
            if node in reach:
                reach[node] = max(reach[node], x)
        x += _room_right(item) + (_LOOP if upper == lower else 0.0)
    for node in nodes:
        _place_rail(pen, node, level[node], reach[node])
    # A part with both ends on the ground node has the stretch below the last line to itself.
    loops = any(set(item.ends) == {circuit.grounds[0]} for item in circuit.items)
    _place_ground_flags(pen, circuit.grounds[0], -(len(nodes) + loops) * _pitch(circuit))
    return pen.diagram("rails")


def _pitch(circuit: Circuit) -> float:
    """The distance of the lines: a body, its leads and its label, and the tags between."""
    labels = [label_size(item)[1] for item in circuit.items]
    drivers = [2.0 * HORN_HALF for item in circuit.items if item.kind == "driver"]
    nodes = [flag.node for flag in circuit.flags]
    tags = [_TAG_STEP * nodes.count(node) for node in set(nodes)]
    return max([BODY, *labels, *drivers, *tags]) + 2.0 * _GAP


def _ordered_nodes(circuit: Circuit) -> list[Node]:
    """The nodes but the ground, by their distance from the start, then as they appear."""
    every = dict.fromkeys([circuit.start, *(node for item in circuit.items for node in item.ends)])
    every.update(dict.fromkeys(flag.node for flag in circuit.flags))
    every.pop(circuit.grounds[0], None)
    found: dict[Node, None] = {}
    waiting = list(every)[:1]
    rest = list(every)
    while rest:
        node = waiting.pop(0) if waiting else rest[0]
        if node in found:
            continue
        found[node] = None
        rest.remove(node)
        waiting += [n for n in _neighbours(circuit, node) if n not in found]
    return list(found)


def _neighbours(circuit: Circuit, node: Node) -> Iterator[Node]:
    for item in circuit.items:
        if node in item.ends and circuit.grounds[0] not in item.ends:
            yield item.ends[1] if item.ends[0] == node else item.ends[0]


def _ordered_items(circuit: Circuit, level: dict[Node, float]) -> list[Item]:
    def height(item: Item) -> float:
        return max(level.get(node, -1e9) for node in item.ends)

    return sorted(circuit.items, key=height, reverse=True)


def _room_left(item: Item) -> float:
    return (PLUS if item.kind == "driver" else HALF) + _SIDE


def _room_right(item: Item) -> float:
    reach = HORN if item.kind == "driver" else HALF
    return reach + _LABEL_GAP + label_size(item)[0] + _SIDE


def _place_column(
    pen: Pen,
    circuit: Circuit,
    item: Item,
    nodes: tuple[Node, Node],
    at: tuple[float, dict[Node, float]],
) -> None:
    (upper, lower), (x, level) = nodes, at
    pitch = _pitch(circuit)
    y = level.get(upper, -len(level) * pitch)
    middle = y - pitch / 2.0
    above, below = (x, middle + BODY / 2.0), (x, middle - BODY / 2.0)
    pen.wire(upper, (x, y), above)
    pen.symbol(item, *((above, below) if item.ends[0] == upper else (below, above)))
    reach = HORN if item.kind == "driver" else HALF
    pen.label(item, (x + reach + _LABEL_GAP, middle), "left")
    if lower == upper:
        side = x + _room_right(item) - _SIDE / 2.0 + _LOOP / 2.0
        low = middle - pitch / 2.0 + 0.25
        pen.wire(lower, below, (x, low), (side, low), (side, y), (x, y))
        if lower == circuit.grounds[0]:
            pen.wire(lower, (side, low), (side, low - 0.1))
            pen.bar(lower, (side, low - 0.1))
    elif lower == circuit.grounds[0]:
        foot = (x, y - pitch + 0.15)
        pen.wire(lower, below, foot)
        pen.bar(lower, foot)
    else:
        pen.wire(lower, below, (x, level[lower]))


def _place_rail(pen: Pen, node: Node, y: float, reach: float) -> None:
    pen.node_name(node, (0.0, y + 0.06), "left")
    pen.wire(node, (0.0, y), (reach, y))
    _place_flags(pen, node, y)


def _place_flags(pen: Pen, node: Node, y: float) -> None:
    """A node's flags to the left of its line, one under the other."""
    for k, flag in enumerate(pen.flags(node)):
        level = y - k * _TAG_STEP
        pen.wire(node, (0.0, y), (-_BUS, y), (-_BUS, level), (-2.0 * _BUS, level))
        pen.tag(flag, (-2.0 * _BUS, level - tag_size(flag)[1] / 2.0), "right")


def _place_ground_flags(pen: Pen, ground: Node, y: float) -> None:
    if not pen.flags(ground):
        return
    pen.wire(ground, (0.0, y), (0.3, y), (0.3, y - _NAME_ROOM))
    pen.bar(ground, (0.3, y - _NAME_ROOM))
    pen.node_name(ground, (0.7, y - _NAME_ROOM - 0.05), "left")
    _place_flags(pen, ground, y)
