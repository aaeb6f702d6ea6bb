"""Which nodes of a circuit form rows, and what hangs from them: topology, no positions yet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Circuit, Item
from ohmbook.drawing.series_parallel import Tree, tree_between

_PATHS, _CHOICES, _EXTRA_TARGETS = 8, 64, 6


@dataclass(frozen=True, slots=True)
class Row:
    """Nodes along one horizontal line.

    Args:
        nodes: from left to right; the first is the start, or a node of the parent row.
        parent: the row that the first node belongs to; None for the first row.
    """

    nodes: tuple[Node, ...]
    parent: int | None


@dataclass(frozen=True, slots=True)
class Hanging:
    """A piece that hangs down.

    Args:
        node: its upper end: a node of a row; of an island, what has no row.
        tree: its parts, from top to bottom.
        foot: its lower end: a ground node, or one that hangs in the air.
        loose: whether the foot hangs in the air.
    """

    node: Node
    tree: Tree
    foot: Node
    loose: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """A piece between two nodes of one row, by their places in it."""

    row: int
    first: int
    last: int
    tree: Tree


@dataclass(frozen=True, slots=True)
class RowPlan:
    """Rows with what hangs from them or runs along them, and islands: what only ground joins."""

    rows: tuple[Row, ...]
    hangings: tuple[Hanging, ...]
    links: tuple[Link, ...]
    islands: tuple[Hanging, ...] = ()


@dataclass(frozen=True, slots=True)
class _Piece:
    """Parts that hang together without passing a node of a row, and the nodes they touch."""

    items: tuple[Item, ...]
    terminals: tuple[Node, ...]


def plan_rows(circuit: Circuit) -> RowPlan | None:
    """Rows for a circuit, or None where it can't be drawn in rows.

    The shortest paths to the targets that leave only two-terminal pieces are taken. Where none
    do, the farthest node of a piece that doesn't fit becomes a target too.

    Args:
        circuit: what is to be laid out.
    """
    targets = [
        node
        for node in dict.fromkeys(circuit.targets)
        if node not in (*circuit.grounds, circuit.start)
    ]
    for _ in range(_EXTRA_TARGETS):
        spare: Node | None = None
        for rows in islice(_row_choices(circuit, targets), _CHOICES):
            pieces = _pieces(circuit, rows)
            plan = _planned(circuit, rows, pieces)
            if plan is not None:
                return plan
            spare = spare or _farthest(circuit, rows, pieces)
        if spare is None or spare in targets:
            return None
        targets.append(spare)
    return None


def _row_choices(circuit: Circuit, targets: Sequence[Node]) -> Iterator[tuple[Row, ...]]:
    choices = [_paths(circuit, target) for target in targets]
    for chosen in product(*(paths for paths in choices if paths)):
        rows = _rows_of(chosen, circuit.start)
        if rows is not None:
            yield rows


def _paths(circuit: Circuit, target: Node) -> list[tuple[Node, ...]]:
    """The shortest paths to a target, through coils, capacitors and resistors if possible."""
    for with_drivers in (False, True):
        neighbours: dict[Node, list[Node]] = {}
        for item in circuit.items:
            a, b = item.ends
            if set(circuit.grounds) & set(item.ends) or (
                item.kind == "driver" and not with_drivers
            ):
                continue
            neighbours.setdefault(a, []).append(b)
            neighbours.setdefault(b, []).append(a)
        found = list(islice(_by_length(neighbours, circuit.start, target), _PATHS))
        if found:
            return found
    return []


def _by_length(
    neighbours: dict[Node, list[Node]], start: Node, target: Node
) -> Iterator[tuple[Node, ...]]:
    """Simple paths, the shortest first; each sequence of nodes once."""
    waiting: list[tuple[Node, ...]] = [(start,)]
    steps = 0
    while waiting and steps < 4000:
        path = waiting.pop(0)
        steps += 1
        if path[-1] == target:
            yield path
            continue
        for node in dict.fromkeys(neighbours.get(path[-1], ())):
            if node not in path:
                waiting.append((*path, node))


def _rows_of(paths: Sequence[tuple[Node, ...]], start: Node) -> tuple[Row, ...] | None:
    """Rows for paths: each begins where it leaves those before; None where it comes back."""
    paths = [
        path
        for path in paths
        if not any(len(path) < len(other) and other[: len(path)] == path for other in paths)
    ]
    first = paths[0] if paths else (start,)
    rows = [Row(first, None)]
    home = dict.fromkeys(first, 0)
    for path in paths[1:]:
        known = [node in home for node in path]
        fresh = known.index(False) if False in known else len(path)
        if any(known[fresh:]):
            return None
        if fresh < len(path):
            rows.append(Row(path[fresh - 1 :], home[path[fresh - 1]]))
            home.update(dict.fromkeys(path[fresh:], len(rows) - 1))
    return tuple(rows)


def _pieces(circuit: Circuit, rows: tuple[Row, ...]) -> list[_Piece]:
    fixed = {node for row in rows for node in row.nodes} | set(circuit.grounds)
    groups: list[list[Item]] = []
    for item in circuit.items:
        inner = {node for node in item.ends if node not in fixed}
        touching = [g for g in groups if any(inner & set(other.ends) for other in g)]
        groups = [g for g in groups if g not in touching]
        groups.append([*(other for g in touching for other in g), item])
    order = {item.name: k for k, item in enumerate(circuit.items)}
    pieces = []
    for group in groups:
        items = tuple(sorted(group, key=lambda item: order[item.name]))
        nodes = dict.fromkeys(node for item in items for node in item.ends)
        pieces.append(_Piece(items, tuple(node for node in nodes if node in fixed)))
    # Drivers come last at their node: the end of a row is where people look for them.
    return sorted(pieces, key=lambda one: any(item.kind == "driver" for item in one.items))


def _planned(circuit: Circuit, rows: tuple[Row, ...], pieces: list[_Piece]) -> RowPlan | None:
    hangings: list[Hanging] = []
    islands: list[Hanging] = []
    links: list[Link] = []
    for piece in pieces:
        if island := _island(circuit, piece):
            islands.append(island)
        elif hanging := _hanging(circuit, piece):
            hangings.append(hanging)
        elif link := _link(rows, piece):
            links.append(link)
        else:
            return None
    return RowPlan(rows, tuple(hangings), tuple(links), tuple(islands))


def _island(circuit: Circuit, piece: _Piece) -> Hanging | None:
    """A piece between two ground nodes, or between one and an end of its own."""
    if not piece.terminals or not set(piece.terminals) <= set(circuit.grounds):
        return None
    if len(piece.terminals) == 2:
        top, foot = sorted(piece.terminals, key=circuit.grounds.index)
    else:
        ends = _ends(piece)
        if len(ends) != 1:
            return None
        top, foot = ends[0], piece.terminals[0]
    tree = tree_between(piece.items, top, foot)
    return None if tree is None else Hanging(top, tree, foot)


def _hanging(circuit: Circuit, piece: _Piece) -> Hanging | None:
    nodes = [one for one in piece.terminals if one not in circuit.grounds]
    feet = [one for one in piece.terminals if one in circuit.grounds]
    if len(nodes) != 1 or len(feet) > 1:
        return None
    loose = not feet
    feet = feet or _ends(piece)
    if len(feet) != 1:
        return None
    tree = tree_between(piece.items, nodes[0], feet[0])
    return None if tree is None else Hanging(nodes[0], tree, feet[0], loose)


def _ends(piece: _Piece) -> list[Node]:
    """Inner nodes that only one part touches."""
    degree = {n: sum(item.ends.count(n) for item in piece.items) for n in _inner(piece)}
    return [node for node, count in degree.items() if count == 1]


def _link(rows: tuple[Row, ...], piece: _Piece) -> Link | None:
    if len(piece.terminals) != 2:
        return None
    for k, row in enumerate(rows):
        if all(node in row.nodes for node in piece.terminals):
            first, last = sorted(row.nodes.index(node) for node in piece.terminals)
            tree = tree_between(piece.items, row.nodes[first], row.nodes[last])
            return None if tree is None else Link(k, first, last, tree)
    return None


def _inner(piece: _Piece) -> list[Node]:
    nodes = dict.fromkeys(node for item in piece.items for node in item.ends)
    return [node for node in nodes if node not in piece.terminals]


def _farthest(circuit: Circuit, rows: tuple[Row, ...], pieces: list[_Piece]) -> Node | None:
    """The inner node, farthest from the start, of the first piece that doesn't fit."""
    for piece in pieces:
        if not (_island(circuit, piece) or _hanging(circuit, piece) or _link(rows, piece)):
            reach = {node: _paths(circuit, node)[:1] for node in _inner(piece)}
            lengths = {node: len(found[0]) for node, found in reach.items() if found}
            return max(lengths, key=lambda node: lengths[node]) if lengths else None
    return None
