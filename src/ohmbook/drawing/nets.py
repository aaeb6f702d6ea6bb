"""What a drawing joins: its nodes, found by union of what touches, and what each is called.

Every end of a part, every corner and end of a wire, every joint, name and mark is a point that
joins whatever lies there. Wires that only cross join nothing. Points with one name are one node,
and so are all that are marked as ground.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import count, pairwise

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.drawing import FARTHEST, Drawing, Spot

End = tuple[str, int]
"""A part, and which of its ends: 0 or 1."""

INPUT = "in"
"""What the input's node is called where it has no name yet."""


@dataclass(frozen=True, slots=True)
class Net:
    """One node as drawn.

    Args:
        name: what it is called; "" where nothing but wire is on it.
        spots: every point of it, in order.
        ends: the ends of parts on it.
        wires: the wires on it, by their place in the drawing.
        written: the names written on it.
        grounded: whether a ground mark is on it.
        entered: whether the input is marked on it.
    """

    name: Node
    spots: tuple[Spot, ...]
    ends: tuple[End, ...] = ()
    wires: tuple[int, ...] = ()
    written: tuple[str, ...] = ()
    grounded: bool = False
    entered: bool = False


@dataclass(frozen=True, slots=True)
class Known:
    """What the sketch was before, so that nodes keep their names.

    Args:
        between: the nodes of each part.
        ground: the ground's name.
        kept: further names that no new node may get by itself: readings refer to them.
    """

    between: Mapping[str, Pair] = field(default_factory=dict)
    ground: Node = "gnd"
    kept: Collection[Node] = ()


def nets(drawing: Drawing, known: Known = Known()) -> tuple[Net, ...]:
    """The nodes of a drawing, in the order of its parts.

    Args:
        drawing: what is drawn.
        known: what the sketch was before.
    """
    union = _joined(drawing)
    _join_by_name(drawing, union, known.ground)
    bare = _bare(drawing, union)
    names = _names(bare, known)
    return tuple(replace(one, name=name) for one, name in zip(bare, names, strict=True))


def net_at(found: Iterable[Net], spot: Spot) -> Net | None:
    """The node that has a point of the drawing's at this spot."""
    return next((one for one in found if spot in one.spots), None)


class _Union:
    """Which points are one."""

    def __init__(self) -> None:
        self._up: dict[Spot, Spot] = {}

    def root(self, spot: Spot) -> Spot:
        while (up := self._up.get(spot, spot)) != spot:
            self._up[spot] = self._up.get(up, up)
            spot = up
        return spot

    def join(self, a: Spot, b: Spot) -> None:
        a, b = self.root(a), self.root(b)
        if a != b:
            self._up[b] = a


def _every_spot(drawing: Drawing) -> Iterator[Spot]:
    for part in drawing.parts:
        yield from drawing.ends(part)
    for path in drawing.paths:
        yield from path
    yield from drawing.junctions
    yield from (one.at for one in drawing.names)
    for mark in drawing.marks:
        yield mark.at
        if mark.against is not None:
            yield mark.against


def _joined(drawing: Drawing) -> _Union:
    union = _Union()
    runs: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for path in drawing.paths:
        for a, b in pairwise(path):
            union.join(a, b)
            fixed = 1 if a[1] == b[1] else 0
            low, high = sorted((a[1 - fixed], b[1 - fixed]))
            runs.setdefault((fixed, a[fixed]), []).append((low, high))
    lines = {key: _merged(held) for key, held in runs.items()}
    for spot in dict.fromkeys(_every_spot(drawing)):
        for fixed in (0, 1):
            line = lines.get((fixed, spot[fixed]), ())
            k = bisect_right(line, (spot[1 - fixed], FARTHEST)) - 1
            if k >= 0 and spot[1 - fixed] <= line[k][1]:
                low = line[k][0]
                union.join((spot[0], low) if fixed == 0 else (low, spot[1]), spot)
    return union


def _merged(runs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches of one line: where two overlap, an end of one lies on the other."""
    found: list[tuple[int, int]] = []
    for low, high in sorted(runs):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def _join_by_name(drawing: Drawing, union: _Union, ground: Node) -> None:
    first: dict[str, Spot] = {}
    for one in drawing.names:
        union.join(first.setdefault(one.name, one.at), one.at)
    marked = [one.at for one in drawing.marks if one.kind == "ground"]
    for at in marked[1:]:
        union.join(marked[0], at)
    if marked and ground in first:
        roots = {union.root(one.at) for one in drawing.names}
        if union.root(marked[0]) not in roots:
            union.join(first[ground], marked[0])


def _bare(drawing: Drawing, union: _Union) -> list[Net]:
    """The nodes without their names, in the order of their first points."""
    spots: dict[Spot, dict[Spot, None]] = {}
    for spot in _every_spot(drawing):
        spots.setdefault(union.root(spot), {})[spot] = None
    ends: dict[Spot, list[End]] = {}
    for part in drawing.parts:
        for k, spot in enumerate(drawing.ends(part)):
            ends.setdefault(union.root(spot), []).append((part, k))
    wires: dict[Spot, list[int]] = {}
    for k, path in enumerate(drawing.paths):
        wires.setdefault(union.root(path[0]), []).append(k)
    written: dict[Spot, dict[str, None]] = {}
    for one in drawing.names:
        written.setdefault(union.root(one.at), {})[one.name] = None
    grounded = {union.root(one.at) for one in drawing.marks if one.kind == "ground"}
    entered = {union.root(one.at) for one in drawing.marks if one.kind == "input"}
    return [
        Net(
            "",
            tuple(held),
            tuple(ends.get(root, ())),
            tuple(wires.get(root, ())),
            tuple(written.get(root, ())),
            root in grounded,
            root in entered,
        )
        for root, held in spots.items()
    ]


def _names(found: list[Net], known: Known) -> list[Node]:
    """A written name, else the ground's, else what its ends were called before, else a new one."""
    names = [one.written[0] if one.written else "" for one in found]

    def give(k: int, name: Node) -> None:
        if not names[k] and name not in names:
            names[k] = name

    for k, one in enumerate(found):
        if one.grounded:
            give(k, known.ground)
    for _, k, name in sorted(_votes(found, known), key=lambda one: -one[0]):
        give(k, name)
    taken = {*names, *known.kept, *(node for pair in known.between.values() for node in pair)}
    free = (name for number in count(1) if (name := f"n{number}") not in taken)
    for k, one in enumerate(found):
        if one.entered and INPUT not in taken:
            give(k, INPUT)
        if not names[k] and (one.ends or one.grounded):
            names[k] = next(free)
    return names


def _votes(found: list[Net], known: Known) -> Iterator[tuple[int, int, Node]]:
    """How many ends of each node had a name before: votes, the node's place, the name."""
    for k, one in enumerate(found):
        counted = Counter(
            known.between[part][end] for part, end in one.ends if part in known.between
        )
        for name, votes in counted.items():
            yield votes, k, name
