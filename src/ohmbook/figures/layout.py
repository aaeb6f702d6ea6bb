"""Lay out a circuit: in rows where that comes out clean, on rails where it doesn't."""

from __future__ import annotations

from itertools import combinations

from ohmbook.drawing.circuit import Circuit
from ohmbook.drawing.row_plan import plan_rows
from ohmbook.figures.boxes import Box, Spot
from ohmbook.figures.diagram import Diagram, Wire, plus_box
from ohmbook.figures.rails import place_on_rails
from ohmbook.figures.rows import place_rows

_SKIN = 0.02
"""Boxes may touch; what overlaps by less than this is rounding."""


def lay_out(circuit: Circuit) -> Diagram:
    """Positions of everything; every part is placed exactly once, and nothing overlaps.

    Args:
        circuit: what is to be laid out.

    Returns:
        A diagram in rows, or on rails where rows can't hold the circuit.
    """
    plan = plan_rows(circuit)
    if plan is not None:
        diagram = place_rows(circuit, plan)
        if not clashes(diagram):
            return diagram
    return place_on_rails(circuit)


def clashes(diagram: Diagram) -> list[str]:
    """What overlaps in a diagram, in words; empty for a clean one.

    Boxes of symbols, labels, names, flags and bars must not overlap, no wire may run through
    one, and wires of different nodes may cross but not run along each other or meet end to end.

    Args:
        diagram: what has been placed.
    """
    boxes = _boxes(diagram)
    found = [
        f"{a} and {b} overlap"
        for (a, box_a), (b, box_b) in combinations(boxes, 2)
        if box_a.overlaps(box_b)
    ]
    pieces = [
        (wire.node, start, end)
        for wire in diagram.wires
        for start, end in zip(wire.points[:-1], wire.points[1:], strict=True)
    ]
    for node, start, end in pieces:
        run = _piece_box(start, end)
        found += [
            f"the wire of {node} runs through {name}" for name, box in boxes if run.overlaps(box)
        ]
    found += [
        f"the wires of {a[0]} and {b[0]} run together"
        for a, b in combinations(pieces, 2)
        if a[0] != b[0] and _touching(a[1:], b[1:])
    ]
    return found


def _boxes(diagram: Diagram) -> list[tuple[str, Box]]:
    boxes = [(one.item.name, one.body) for one in diagram.symbols]
    boxes += [(" ".join(one.lines), one.box) for one in diagram.captions]
    boxes += [(one.flag.text, one.box) for one in diagram.tags]
    boxes += [("a +", plus_box(one)) for one in diagram.symbols if one.item.kind == "driver"]
    boxes += [(f"a bar of {one.node}", one.box) for one in diagram.bars]
    return [(name, box.grown(-_SKIN)) for name, box in boxes]


def _piece_box(a: Spot, b: Spot) -> Box:
    return Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))


def _touching(a: tuple[Spot, Spot], b: tuple[Spot, Spot]) -> bool:
    """Whether two pieces of wire share a stretch, or an end of one lies on the other."""
    one, other = _piece_box(*a).grown(_SKIN / 2.0), _piece_box(*b).grown(_SKIN / 2.0)
    if not one.overlaps(other):
        return False
    crossing = (a[0][0] == a[1][0]) != (b[0][0] == b[1][0])
    if not crossing:
        return True
    return any(other.holds(spot) for spot in a) or any(one.holds(spot) for spot in b)


__all__ = ["Circuit", "Diagram", "Wire", "clashes", "lay_out"]
