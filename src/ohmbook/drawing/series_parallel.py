"""Two-terminal pieces of a circuit as trees of parts in series and in parallel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Item


@dataclass(frozen=True, slots=True)
class Leaf:
    """One part; `forward` when its first node lies towards the start."""

    item: Item
    forward: bool


@dataclass(frozen=True, slots=True)
class Series:
    """Branches one after another; `nodes` lie between them."""

    children: tuple[Tree, ...]
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Parallel:
    """Branches beside each other."""

    children: tuple[Tree, ...]


Tree = Leaf | Series | Parallel


@dataclass(slots=True)
class _Edge:
    start: Node
    end: Node
    tree: Tree
    order: int = field(default=0)


def leaves(tree: Tree) -> tuple[Leaf, ...]:
    """Every part of a tree, from the start to the end."""
    if isinstance(tree, Leaf):
        return (tree,)
    return tuple(leaf for child in tree.children for leaf in leaves(child))


def turned(tree: Tree) -> Tree:
    """The same piece seen from its other end."""
    if isinstance(tree, Leaf):
        return Leaf(tree.item, not tree.forward)
    if isinstance(tree, Series):
        return Series(tuple(turned(one) for one in tree.children[::-1]), tree.nodes[::-1])
    return Parallel(tuple(turned(one) for one in tree.children))


def tree_between(items: Iterable[Item], start: Node, end: Node) -> Tree | None:
    """The tree of a piece between two nodes, or None where it is no series-parallel one.

    Args:
        items: the parts of the piece.
        start: its first terminal.
        end: its second terminal.
    """
    edges = [_Edge(*item.ends, Leaf(item, True), k) for k, item in enumerate(items)]
    while True:
        count = len(edges)
        edges = _joined_in_series(_joined_in_parallel(edges), (start, end))
        if len(edges) == count:
            break
    if len(edges) != 1 or {edges[0].start, edges[0].end} != {start, end}:
        return None
    return edges[0].tree if edges[0].start == start else turned(edges[0].tree)


def _joined_in_parallel(edges: list[_Edge]) -> list[_Edge]:
    kept: list[_Edge] = []
    for edge in edges:
        twin = next((k for k in kept if {k.start, k.end} == {edge.start, edge.end}), None)
        if twin is None or edge.start == edge.end:
            kept.append(edge)
            continue
        other = edge.tree if edge.start == twin.start else turned(edge.tree)
        both = [one for tree in (twin.tree, other) for one in _beside(tree)]
        twin.tree, twin.order = Parallel(tuple(both)), min(twin.order, edge.order)
    return kept


def _beside(tree: Tree) -> tuple[Tree, ...]:
    return tree.children if isinstance(tree, Parallel) else (tree,)


def _joined_in_series(edges: list[_Edge], terminals: tuple[Node, Node]) -> list[_Edge]:
    for node in dict.fromkeys(n for edge in edges for n in (edge.start, edge.end)):
        touching = [edge for edge in edges if node in (edge.start, edge.end)]
        if node in terminals or len(touching) != 2:
            continue
        first, second = touching
        if first.start == first.end or second.start == second.end:
            continue
        edges = [edge for edge in edges if edge not in touching]
        edges.append(_chained(first, node, second))
    return sorted(edges, key=lambda edge: edge.order)


def _chained(first: _Edge, node: Node, second: _Edge) -> _Edge:
    before = first.tree if first.end == node else turned(first.tree)
    after = second.tree if second.start == node else turned(second.tree)
    start = first.start if first.end == node else first.end
    end = second.end if second.start == node else second.start
    children = (*_along(before), *_along(after))
    nodes = (*_between(before), node, *_between(after))
    return _Edge(start, end, Series(children, nodes), min(first.order, second.order))


def _along(tree: Tree) -> tuple[Tree, ...]:
    return tree.children if isinstance(tree, Series) else (tree,)


def _between(tree: Tree) -> tuple[Node, ...]:
    return tree.nodes if isinstance(tree, Series) else ()
