"""The careful plan: for each output, everything but its own terminals is eliminated.

Where the fast plan divides by something that vanishes, or subtracts two voltages that are nearly
equal, this one does not: a probe's nodes are kept to the end, so a resonance with the output
inside it stays finite, and a pair is the difference of two products. It costs several times as
much, so it serves pairs without the datum and the points where the fast plan fails.

With the EMF at E and the datum at 0, let p, q be the admittances from a and b to E, r and t those
to 0 and g the one between a and b. Then

    V_ab = (p t - r q) / ((p + r)(q + t) + g (p + r + q + t)).
"""

from __future__ import annotations

from functools import lru_cache

from ohmbook.circuit.algebra import Algebra, Factors, Ratio, lowest, times
from ohmbook.circuit.fast import is_pair
from ohmbook.circuit.plan import Answer, Plan, finished
from ohmbook.circuit.reduction import Reduction, reduction
from ohmbook.circuit.topology import Topology

LIMIT = 12
"""Degree in the leaves above which a ratio is rescaled."""


@lru_cache(maxsize=256)
def careful_plan(topology: Topology, outputs: tuple[int, ...]) -> Plan:
    """The plan of a topology whose source is not shorted.

    Args:
        topology: the structure.
        outputs: which probes are wanted, by number; the number after the last probe stands for
            the input impedance.

    Returns:
        A plan with one output for each of those, in order.
    """
    algebra = Algebra(topology.leaves, LIMIT, topology.varying)
    return finished(algebra, [_answer(algebra, topology, number) for number in outputs])


def _answer(algebra: Algebra, topology: Topology, number: int) -> Answer | None:
    if number == len(topology.probes):
        reduced = reduction(algebra, topology)
        reduced.eliminate_all((0, topology.source))
        entry = reduced.branch(topology.source, 0)
        return Answer(entry) if entry else None
    a, b = topology.probes[number]
    if a == b:
        return None
    reduced, emf = _with_emf(algebra, topology)
    reduced.eliminate_all((0, emf, a, b))
    if not is_pair((a, b)):
        node, sign = (b, -1) if a == 0 else (a, 1)
        found = _from(algebra, reduced, node, (emf, 0))
    elif emf in (a, b):
        # One end is the EMF itself: what is left is the other end's share toward the datum.
        node, sign = (b, 1) if a == emf else (a, -1)
        found = _from(algebra, reduced, node, (0, emf))
    else:
        found, sign = _bridge(algebra, reduced, emf, (a, b))
    return Answer(found, sign) if found else None


def _with_emf(algebra: Algebra, topology: Topology) -> tuple[Reduction, int]:
    """The network with the node of the EMF, which is the source's own where that is ideal."""
    if topology.behind < 0:
        return reduction(algebra, topology), topology.source
    reduced = reduction(algebra, topology, extra=1)
    emf = topology.nodes
    reduced.join(emf, topology.source, Ratio((topology.behind,), ()))
    return reduced, emf


def _from(algebra: Algebra, reduced: Reduction, node: int, ends: tuple[int, int]) -> Ratio | None:
    """How far a node stands from the second end toward the first; None for not at all."""
    if node in ends:
        return Ratio((), ()) if node == ends[0] else None
    near, far = (reduced.branch(node, end) for end in ends)
    if near is None:
        return None
    n = times(near.d, far.n) if far else near.d
    return lowest(Ratio(n, algebra.total([n, times(near.n, far.d)] if far else [n])))


def _bridge(
    algebra: Algebra, reduced: Reduction, emf: int, probe: tuple[int, int]
) -> tuple[Ratio | None, int]:
    """V_ab with its sign; None for zero. All terms are raised by the product of every n."""
    (p, r), (q, t) = ([reduced.branch(node, end) for end in (emf, 0)] for node in probe)
    g = reduced.branch(*probe)
    joined_n, joined_d = (g.n, g.d) if g else ((), None)
    ahead, back = _product(p, t, r, q), _product(r, q, p, t)
    if ahead is None and back is None:
        return None, 1
    n, sign = (ahead, 1) if ahead is not None else (back, -1)
    if ahead is not None and back is not None:
        n = algebra.combine("-", ahead, back)
    assert n is not None
    at_a, at_b = _sum(algebra, p, r), _sum(algebra, q, t)
    terms = [times(at_a, at_b, joined_n)]
    if joined_d is not None:
        terms.append(times(joined_d, at_a, _numerators(q, t)))
        terms.append(times(joined_d, at_b, _numerators(p, r)))
    return lowest(Ratio(times(n, joined_n), algebra.total(terms))), sign


def _numerators(*branches: Ratio | None) -> Factors:
    return times(*(one.n for one in branches if one))


def _product(
    one: Ratio | None, other: Ratio | None, third: Ratio | None, fourth: Ratio | None
) -> Factors | None:
    """The product of the first two admittances, raised by the n of the last two."""
    if one is None or other is None:
        return None
    return times(one.d, other.d, _numerators(third, fourth))


def _sum(algebra: Algebra, one: Ratio | None, other: Ratio | None) -> Factors:
    """The sum of two admittances, raised by both n; at least one is there."""
    terms = [_product(one, Ratio((), ()), other, None), _product(other, Ratio((), ()), one, None)]
    return algebra.total(term for term in terms if term is not None)
