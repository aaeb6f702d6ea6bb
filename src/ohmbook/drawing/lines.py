"""A drawing that any circuit fits: every node a line of its own, every part a column of its own.

A part lies in the gap below its upper node's line, and the wire on to its lower node crosses the
lines between, without a joint.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import REACH, Mark
from ohmbook.drawing.circuit import Circuit, Item
from ohmbook.drawing.paper import Paper

_PITCH, _COLUMN, _STUB = REACH + 4, 8, 4


def place_on_lines(circuit: Circuit) -> Paper:
    """Everything placed.

    Args:
        circuit: what is drawn.
    """
    paper, ground = Paper(), circuit.grounds[0]
    nodes = [*_ordered(circuit), ground]
    level = {node: k * _PITCH for k, node in enumerate(nodes)}
    reach = dict.fromkeys(nodes, 0)
    items = sorted(circuit.items, key=lambda one: min(level[node] for node in one.ends))
    for k, item in enumerate(items):
        _column(paper, item, (k + 1) * _COLUMN - _STUB, level)
        for node in item.ends:
            reach[node] = (k + 1) * _COLUMN - _STUB
    for node in nodes[:-1]:
        paper.wire(node, (0, level[node]), (reach[node], level[node]))
        paper.name(node, (0, level[node]))
    paper.outlet(circuit.start, (-_STUB, level[circuit.start]))
    paper.wire(circuit.start, (-_STUB, level[circuit.start]), (0, level[circuit.start]))
    if reach[ground]:
        paper.wire(ground, (0, level[ground]), (reach[ground], level[ground]))
        paper.mark(Mark(kind="ground", at=(0, level[ground])))
        if ground != "gnd":
            paper.name(ground, (0, level[ground]))
    return paper


def _column(paper: Paper, item: Item, x: int, level: dict[Node, int]) -> None:
    upper, lower = sorted(item.ends, key=lambda node: level[node])
    y = level[upper] + 2
    paper.part(item, (x, y), upright=True, forward=item.ends[0] == upper)
    paper.wire(upper, (x, level[upper]), (x, y))
    paper.wire(lower, (x, y + REACH), (x, level[lower]))


def _ordered(circuit: Circuit) -> list[Node]:
    """The nodes but the ground, by their distance from the start, then as they appear."""
    every = dict.fromkeys([circuit.start, *(node for one in circuit.items for node in one.ends)])
    every.pop(circuit.grounds[0], None)
    found: dict[Node, None] = {}
    waiting: list[Node] = []
    for first in every:
        waiting.append(first)
        while waiting:
            node = waiting.pop(0)
            if node not in found:
                found[node] = None
                waiting += _neighbours(circuit, node)
    return list(found)


def _neighbours(circuit: Circuit, node: Node) -> Iterator[Node]:
    for one in circuit.items:
        if node in one.ends and circuit.grounds[0] not in one.ends:
            yield one.ends[1] if one.ends[0] == node else one.ends[0]
