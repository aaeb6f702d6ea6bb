"""A first drawing of a sheet that has none: the signal from left to right, ground below."""

from __future__ import annotations

from collections.abc import Mapping

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.drawing import Drawing, Mark, MarkKind
from ohmbook.documents.part import Part, Sketch
from ohmbook.drawing.circuit import Circuit, Flag, Item
from ohmbook.drawing.joined import Place, nodes_of
from ohmbook.drawing.lines import place_on_lines
from ohmbook.drawing.nets import nets
from ohmbook.drawing.paper import Paper
from ohmbook.drawing.row_plan import plan_rows
from ohmbook.drawing.rows import place_in_rows


def lay_out(sketch: Sketch, parts: Mapping[str, Part], between: Mapping[str, Pair]) -> Drawing:
    """A drawing of a sketch.

    Args:
        sketch: its ground, input and outputs.
        parts: parts by name; those without nodes are not drawn.
        between: the nodes of those that have some.

    Returns:
        A drawing that joins what the sketch joins: in rows where the circuit fits, else with a
        line for every node.
    """
    items = tuple(Item(name, parts[name].kind, pair) for name, pair in between.items())
    if not items:
        return Drawing()
    flags = tuple(
        Flag(next(nodes_of(place)), name, "output")
        for name, place in sketch.outputs.items()
        if _needs_mark(name, place, sketch.ground, parts, between)
    )
    circuit = Circuit(items, (sketch.ground,), *_course(sketch, parts, between), flags)
    plan = plan_rows(circuit)
    if plan is not None:
        drawing = _marked(place_in_rows(circuit, plan), sketch, circuit)
        if _says(drawing, between):
            return drawing
    return _marked(place_on_lines(circuit), sketch, circuit)


def _says(drawing: Drawing, between: Mapping[str, Pair]) -> bool:
    """Whether a drawing joins what it should."""
    named = {spot: one.name for one in nets(drawing) for spot in one.spots}
    return all(
        tuple(named[spot] for spot in drawing.ends(name)) == pair
        for name, pair in between.items()
        if name in drawing.parts
    ) and len(drawing.parts) == len(between)


def _course(
    sketch: Sketch, parts: Mapping[str, Part], between: Mapping[str, Pair]
) -> tuple[Node, tuple[Node, ...]]:
    """Where the signal comes in, and where it should come out."""
    every = dict.fromkeys(node for pair in between.values() for node in pair)
    hot = [node for node in every if node != sketch.ground] or list(every)
    into = [node for node in nodes_of(sketch.input or "") if node in hot]
    drivers = [pair for name, pair in between.items() if parts[name].kind == "driver"]
    out = [node for pair in drivers for node in pair]
    out += [node for place in sketch.outputs.values() for node in nodes_of(place)]
    return (into or hot)[0], tuple(node for node in dict.fromkeys(out) if node in hot)


def _marked(paper: Paper, sketch: Sketch, circuit: Circuit) -> Drawing:
    """With input and outputs marked, as far as their nodes are drawn."""
    if sketch.input is not None:
        plus, *minus = nodes_of(sketch.input)
        _mark(paper, plus, "input")
        for node in minus:
            if node != sketch.ground:
                _mark(paper, node, "return")
    for flag in circuit.flags:
        _mark_output(paper, flag.text, sketch.outputs[flag.text], sketch.ground)
    return paper.drawing()


def _needs_mark(
    name: str,
    place: Place,
    ground: Node,
    parts: Mapping[str, Part],
    between: Mapping[str, Pair],
) -> bool:
    """A driver is an output across itself without being marked."""
    pair = (place, ground) if isinstance(place, str) else place
    return not (name in parts and parts[name].kind == "driver" and between.get(name) == pair)


def _mark(paper: Paper, node: Node, kind: MarkKind) -> None:
    at = paper.spot_of(node)
    if at is not None:
        paper.mark(Mark(kind=kind, at=at))


def _mark_output(paper: Paper, name: str, place: Place, ground: Node) -> None:
    first, *others = nodes_of(place)
    at, against = paper.spot_of(first), [paper.spot_of(one) for one in others if one != ground]
    if at is not None and None not in against:
        paper.mark(Mark(kind="output", name=name, at=at, against=against[0] if against else None))
