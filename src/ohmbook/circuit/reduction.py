"""Star to mesh: nodes eliminated one by one on projective impedances.

A node whose branches have the admittances y_k is replaced by branches y_j y_k / sum(y) between
each two of its neighbours (A. Rosen, J. IEE 62, 1924). With y = d/n and everything multiplied out,
no division is needed: with w_k = d_k prod(n of the others) and Q = sum(w), the new branch is
Q : d_j d_k prod(n of the rest).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from ohmbook.circuit.algebra import Algebra, Factors, Ratio, lowest, times
from ohmbook.circuit.topology import Topology
from ohmbook.circuit.windings import branches


@dataclass(frozen=True, slots=True)
class Star:
    """An eliminated node: its voltage is sum(weight * neighbour's voltage) / total."""

    node: int
    neighbours: tuple[int, ...]
    weights: tuple[Factors, ...]
    total: Factors


class Reduction:
    """A network being reduced.

    Args:
        algebra: takes the operations.
        nodes: how many.
    """

    def __init__(self, algebra: Algebra, nodes: int) -> None:
        self.algebra = algebra
        self._beside: list[dict[int, Ratio]] = [{} for _ in range(nodes)]

    def branch(self, a: int, b: int) -> Ratio | None:
        """What is between two nodes; None where nothing is."""
        return self._beside[a].get(b)

    def join(self, a: int, b: int, impedance: Ratio) -> None:
        """Put an impedance between two nodes, in parallel with what is there."""
        together = self.algebra.parallel(self.branch(a, b), impedance)
        assert together is not None
        self._beside[a][b] = self._beside[b][a] = self.algebra.tamed(together)

    def eliminate_all(self, keep: Iterable[int]) -> list[Star]:
        """Eliminate every node but those kept, the one with fewest neighbours first.

        Nodes that nothing reaches are left alone.
        """
        todo = {node for node, beside in enumerate(self._beside) if beside} - set(keep)
        stars = []
        while todo:
            node = min(todo, key=lambda one: (len(self._beside[one]), one))
            todo.remove(node)
            stars.append(self._eliminate(node))
        return stars

    def _eliminate(self, node: int) -> Star:
        beside = self._beside[node]
        for other in beside:
            del self._beside[other][node]
        neighbours = tuple(beside)
        budget = self.algebra.limit // max(1, len(neighbours))
        spokes = [self.algebra.tamed(beside[other], budget) for other in neighbours]
        weights = tuple(times(one.d, _others(spokes, one)) for one in spokes)
        total = self.algebra.total(weights)
        for (a, near), (b, far) in combinations(zip(neighbours, spokes, strict=True), 2):
            d = times(near.d, far.d, _others(spokes, near, far))
            self.join(a, b, self.algebra.tamed(lowest(Ratio(total, d))))
        return Star(node, neighbours, weights, total)


def _others(spokes: list[Ratio], *but: Ratio) -> Factors:
    """The product of the n of every spoke but these (by identity: spokes may be equal)."""
    return times(*(one.n for one in spokes if not any(one is other for other in but)))


def reduction(algebra: Algebra, topology: Topology, extra: int = 0) -> Reduction:
    """A topology ready to be reduced, with room for `extra` nodes after its own."""
    start = Reduction(algebra, topology.nodes + extra)
    for core in topology.coupled:
        for near, far, impedance in branches(algebra, core):
            if near != far:
                start.join(near, far, impedance)
    for link in topology.links:
        n = () if link.n < 0 else (link.n,)
        d = () if link.d < 0 else (link.d,)
        start.join(link.a, link.b, Ratio(n, d))
    return start
