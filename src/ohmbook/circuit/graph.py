"""Which nodes are one, and which can be reached: no arithmetic, names or numbers alike."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import TypeVar

N = TypeVar("N", bound=Hashable)


def merged(nodes: Iterable[N], joints: Iterable[tuple[N, N]]) -> dict[N, N]:
    """For each node the one that stands for it: the first in order of those joined with it."""
    parent = {node: node for node in nodes}
    order = {node: k for k, node in enumerate(parent)}

    def top(node: N) -> N:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for a, b in joints:
        first, second = sorted((top(a), top(b)), key=order.__getitem__)
        parent[second] = first
    return {node: top(node) for node in parent}


def together(joints: Sequence[tuple[N, N]]) -> list[list[N]]:
    """The nodes of each set of joined ones, in order."""
    first = merged([node for joint in joints for node in joint], joints)
    return [[node for node in first if first[node] == top] for top in dict.fromkeys(first.values())]


def neighbours(edges: Iterable[tuple[N, N]]) -> dict[N, list[N]]:
    """The nodes next to each node."""
    found: dict[N, list[N]] = {}
    for a, b in edges:
        found.setdefault(a, []).append(b)
        found.setdefault(b, []).append(a)
    return found


def reached(starts: Iterable[N], beside: Mapping[N, list[N]]) -> set[N]:
    """Every node that a path leads to from any of the starts, the starts included."""
    found = set(starts)
    todo = list(found)
    while todo:
        for node in beside.get(todo.pop(), ()):
            if node not in found:
                found.add(node)
                todo.append(node)
    return found


def path(start: N, end: N, edges: Sequence[tuple[str, tuple[N, N]]]) -> tuple[str, ...]:
    """The names of the edges on a shortest path from start to end; empty where there is none."""
    before: dict[N, tuple[N, str] | None] = {start: None}
    todo = [start]
    for node in todo:
        for name, (a, b) in edges:
            for here, there in ((a, b), (b, a)):
                if here == node and there not in before:
                    before[there] = (node, name)
                    todo.append(there)
    names: list[str] = []
    step = before.get(end)
    while step is not None:
        names.append(step[1])
        step = before[step[0]]
    return tuple(reversed(names))
