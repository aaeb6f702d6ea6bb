"""The circuit that a drawing makes: the nodes of each part that counts, input, ground, outputs.

A part counts once it is joined to the rest at both ends. What is only begun does not count yet, so
that a board can be worked out while it is being drawn.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.drawing import Drawing, Mark, MarkKind, Spot
from ohmbook.drawing.nets import Net

Place = Node | Pair
"""A node against the ground, or a pair."""


@dataclass(frozen=True, slots=True)
class Joined:
    """What a drawing joins, as a sketch says it.

    Args:
        between: the nodes of each part that counts.
        ground: its node; None where nothing is marked as ground, and then nothing counts.
        input: where the amplifier goes.
        outputs: the outputs that are marked.
        left_out: the parts that are drawn and do not count yet.
    """

    between: Mapping[str, Pair] = field(default_factory=dict)
    ground: Node | None = None
    input: Place | None = None
    outputs: Mapping[str, Place] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()

    def plain(self) -> dict[str, Any]:
        """As the plain values of `[sketch]`; what there is none of is left out."""
        found: dict[str, Any] = {} if self.ground is None else {"ground": self.ground}
        if self.input is not None:
            found["input"] = _plain(self.input)
        if self.outputs:
            found["outputs"] = {name: _plain(one) for name, one in self.outputs.items()}
        if self.between:
            found["between"] = {name: list(pair) for name, pair in self.between.items()}
        return found


def joined(drawing: Drawing, found: Sequence[Net], clipped: Collection[Node] = ()) -> Joined:
    """The circuit of a drawing.

    Args:
        drawing: what is drawn.
        found: its nodes.
        clipped: nodes where a reading clips something: one part is enough there.
    """
    named = {spot: one.name for one in found for spot in one.spots}
    ends = {name: _pair(drawing, name, named) for name in drawing.parts}
    ground, into = _ground(drawing, named), _input(drawing, named)
    outputs = _outputs(drawing, named)
    terminals = {node for pair in (into, *outputs.values()) if pair for node in pair if node}
    sound = _whole(ends, {*terminals, *clipped, ground or ""})
    between = _within(sound, ground, into) if ground else {}
    nodes = {node for pair in between.values() for node in pair}
    return Joined(
        between,
        ground,
        _against(into, ground) if into and _both(into, nodes, ground) else None,
        {
            name: _against(pair, ground)
            for name, pair in outputs.items()
            if _both(pair, nodes, ground)
        },
        tuple(name for name in drawing.parts if name not in between),
    )


def marks_of(drawing: Drawing, kind: MarkKind) -> tuple[Mark, ...]:
    """The marks of one kind."""
    return tuple(one for one in drawing.marks if one.kind == kind)


def _pair(drawing: Drawing, part: str, named: Mapping[Spot, Node]) -> Pair:
    first, second = drawing.ends(part)
    return named[first], named[second]


def _ground(drawing: Drawing, named: Mapping[Spot, Node]) -> Node | None:
    found = (*marks_of(drawing, "ground"), *marks_of(drawing, "return"))
    return named[found[0].at] or None if found else None


def _input(drawing: Drawing, named: Mapping[Spot, Node]) -> Pair | None:
    into, back = marks_of(drawing, "input"), marks_of(drawing, "return")
    if not into:
        return None
    return named[into[0].at], named[back[0].at] if back else ""


def _outputs(drawing: Drawing, named: Mapping[Spot, Node]) -> dict[str, Pair]:
    return {
        one.name or "": (named[one.at], named[one.against] if one.against else "")
        for one in marks_of(drawing, "output")
    }


def _both(pair: Pair, nodes: set[Node], ground: Node | None) -> bool:
    """Whether both ends are on parts, and two nodes; "" is the ground."""
    first, second = pair[0], pair[1] or ground
    return first != second and {first, second} <= nodes


def _against(pair: Pair, ground: Node | None) -> Place:
    return pair[0] if pair[1] in ("", ground) else pair


def _whole(ends: Mapping[str, Pair], held: set[Node]) -> dict[str, Pair]:
    """Without the parts that are shorted, or hang in the air at an end."""
    left = {name: pair for name, pair in ends.items() if pair[0] != pair[1]}
    while True:
        count: dict[Node, int] = {}
        for pair in left.values():
            for node in pair:
                count[node] = count.get(node, 0) + 1
        kept = {
            name: pair
            for name, pair in left.items()
            if all(node and (count[node] > 1 or node in held) for node in pair)
        }
        if len(kept) == len(left):
            return kept
        left = kept


def _within(between: dict[str, Pair], ground: Node, into: Pair | None) -> dict[str, Pair]:
    """Without the islands: what no part joins to ground or input."""
    there = reached(between, (ground, *(into or ())))
    kept = {name: pair for name, pair in between.items() if there.intersection(pair)}
    return kept if any(ground in pair for pair in kept.values()) else {}


def reached(between: Mapping[str, Pair], start: Collection[Node]) -> set[Node]:
    """Every node that parts join to one of some nodes, themselves included."""
    beside: dict[Node, list[Node]] = {}
    for first, second in between.values():
        beside.setdefault(first, []).append(second)
        beside.setdefault(second, []).append(first)
    found: set[Node] = set()
    waiting = list(start)
    while waiting:
        node = waiting.pop()
        if node not in found:
            found.add(node)
            waiting += beside.get(node, ())
    return found


def _plain(place: Place) -> str | list[str]:
    return place if isinstance(place, str) else list(place)


def nodes_of(place: Place) -> Iterator[Node]:
    """The nodes that a place names."""
    yield from (place,) if isinstance(place, str) else place
