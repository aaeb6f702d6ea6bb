"""Collects what is placed on the grid, and makes a drawing of it with as few wires as it takes."""

from __future__ import annotations

from itertools import pairwise

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import REACH, Drawing, Mark, Named, Spot, Turn
from ohmbook.drawing.circuit import Item

_TURNS: dict[tuple[bool, bool], Turn] = {
    (False, True): 0,
    (True, True): 90,
    (False, False): 180,
    (True, False): 270,
}
"""A part's turn by: is it upright, and does its first end come first."""


class Paper:
    """A drawing in the making."""

    def __init__(self) -> None:
        self._parts: dict[str, tuple[int, int, Turn]] = {}
        self._pieces: dict[Node, list[tuple[Spot, Spot]]] = {}
        self._names: dict[Node, Spot] = {}
        self._marks: list[Mark] = []
        self._spots: dict[Node, Spot] = {}
        self._outlets: dict[Node, Spot] = {}

    def part(self, item: Item, at: Spot, *, upright: bool, forward: bool) -> None:
        """A part whose upper or left end lies at a spot."""
        x, y = at
        if not forward:
            x, y = (x, y + REACH) if upright else (x + REACH, y)
        self._parts[item.name] = (x, y, _TURNS[upright, forward])

    def wire(self, node: Node, *spots: Spot) -> None:
        """A wire of one node through these spots."""
        for a, b in pairwise(spots):
            if a != b:
                self._pieces.setdefault(node, []).append((min(a, b), max(a, b)))
        for spot in spots:
            self._spots.setdefault(node, spot)

    def name(self, node: Node, at: Spot) -> None:
        """A node's name, once."""
        self._spots.setdefault(node, at)
        self._names.setdefault(node, at)

    def mark(self, mark: Mark) -> None:
        """A mark."""
        self._marks.append(mark)

    def outlet(self, node: Node, at: Spot) -> None:
        """Where a node is best marked."""
        self._outlets[node] = at

    def spot_of(self, node: Node) -> Spot | None:
        """Some point of a node."""
        return self._outlets.get(node) or self._spots.get(node)

    def drawing(self) -> Drawing:
        """Everything so far."""
        wires: list[tuple[int, ...]] = []
        joints: list[Spot] = []
        for pieces in self._pieces.values():
            long, dots = _tidied(pieces)
            wires += [(*a, *b) for a, b in long]
            joints += dots
        return Drawing(
            parts=self._parts,
            wires=tuple(wires),
            junctions=tuple(joints),
            names=tuple(Named(name=node, at=at) for node, at in self._names.items()),
            marks=tuple(self._marks),
        )


def _tidied(pieces: list[tuple[Spot, Spot]]) -> tuple[list[tuple[Spot, Spot]], list[Spot]]:
    """Pieces of one node made as long as they go, and joints where they now only cross."""
    vertices = dict.fromkeys(spot for piece in pieces for spot in piece)
    found: list[tuple[Spot, Spot]] = []
    for fixed in (1, 0):
        lines: dict[int, list[tuple[Spot, Spot]]] = {}
        for a, b in pieces:
            if a[fixed] == b[fixed]:
                lines.setdefault(a[fixed], []).append((a, b))
        for held in lines.values():
            found += _long(sorted(held), 1 - fixed)
    ends = {spot for piece in found for spot in piece}
    dots = [
        spot for spot in vertices if spot not in ends and sum(_on(spot, one) for one in found) > 1
    ]
    return found, dots


def _long(held: list[tuple[Spot, Spot]], along: int) -> list[tuple[Spot, Spot]]:
    found: list[tuple[Spot, Spot]] = []
    for a, b in held:
        if found and a[along] <= found[-1][1][along]:
            found[-1] = (found[-1][0], max(found[-1][1], b))
        else:
            found.append((a, b))
    return found


def _on(spot: Spot, piece: tuple[Spot, Spot]) -> bool:
    return all(piece[0][k] <= spot[k] <= piece[1][k] for k in (0, 1))
