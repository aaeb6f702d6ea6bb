"""The fast plan: eliminate everything but the source, then substitute back to each probe.

It answers the input impedance and every probe that has the datum for one of its nodes. It shares
all of the elimination between outputs, so another output costs a few operations.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache

from ohmbook.circuit.algebra import Algebra, Factors, Ratio, lowest, times, without
from ohmbook.circuit.plan import Answer, Plan, finished
from ohmbook.circuit.reduction import Star, reduction
from ohmbook.circuit.topology import Topology

LIMIT = 30
"""Degree in the leaves above which a ratio is rescaled."""


def is_pair(probe: tuple[int, int]) -> bool:
    """Whether a probe reads a difference between two nodes, neither of them the datum."""
    return probe[0] != probe[1] and 0 not in probe


@lru_cache(maxsize=256)
def fast_plan(topology: Topology) -> Plan:
    """The plan of a topology whose source is not shorted.

    Returns:
        A plan with one output for each probe (None for a pair or a constant zero), then the input
        impedance (None where nothing connects the source's terminals).
    """
    algebra = Algebra(topology.leaves, LIMIT, topology.varying)
    reduced = reduction(algebra, topology)
    stars = reduced.eliminate_all((0, topology.source))
    entry = reduced.branch(topology.source, 0)
    nodes = [_node(probe) for probe in topology.probes]
    voltage = {topology.source: _at_source(algebra, topology, entry)}
    _substitute(algebra, stars, [node for node in nodes if node], voltage)
    found = [voltage.get(node) for node in nodes]
    signs = [-1 if probe[0] == 0 else 1 for probe in topology.probes]
    answers = [Answer(one, sign) if one else None for one, sign in zip(found, signs, strict=True)]
    return finished(algebra, [*answers, Answer(entry) if entry else None])


def _node(probe: tuple[int, int]) -> int:
    """The node of a probe that is not the datum; 0 where there is none, or for a pair."""
    return 0 if is_pair(probe) or probe[0] == probe[1] else max(probe)


def _at_source(algebra: Algebra, topology: Topology, entry: Ratio | None) -> Ratio:
    """The voltage at the source's terminals, from an EMF of 1 behind its resistance."""
    if entry is None or topology.behind < 0:
        return Ratio((), ())
    series = algebra.total([entry.n, times(entry.d, (topology.behind,))])
    return lowest(Ratio(entry.n, series))


def _substitute(
    algebra: Algebra, stars: Sequence[Star], wanted: Sequence[int], voltage: dict[int, Ratio]
) -> None:
    """Add the wanted nodes' voltages, and those they rest on; a node left out is at zero."""
    needed = set(wanted)
    for star in stars:
        if star.node in needed:
            needed.update(star.neighbours)
    for star in reversed(stars):
        if star.node in needed:
            terms = [
                (voltage[node], weight)
                for node, weight in zip(star.neighbours, star.weights, strict=True)
                if node in voltage
            ]
            if terms:
                voltage[star.node] = algebra.tamed(_mean(algebra, terms, star.total))


def _mean(algebra: Algebra, terms: Sequence[tuple[Ratio, Factors]], total: Factors) -> Ratio:
    """The weighted mean of voltages, over their least common denominator."""
    shared: Counter[int] = Counter()
    for value, _ in terms:
        shared |= Counter(value.d)
    raised = [
        times(value.n, weight, without(tuple(shared.elements()), Counter(value.d)))
        for value, weight in terms
    ]
    return lowest(Ratio(algebra.total(raised), times(tuple(shared.elements()), total)))
