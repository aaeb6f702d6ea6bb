"""What is wrong with a network before any value is known: told, not computed through."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from ohmbook.circuit import graph
from ohmbook.circuit.network import Branch, Network, Node

What = Literal["floating node", "floating part", "dangling part", "shorted part", "shorted source"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, or idle, in a network.

    "floating": no path leads from there to the source. "dangling": it is reached, but nothing
    closes the loop behind it, so it carries no current and changes nothing.

    Args:
        what: which kind.
        names: the nodes or parts, in the network's order.
        message: the same in a sentence.
    """

    what: What
    names: tuple[str, ...]
    message: str


_SENTENCES: dict[What, str] = {
    "floating node": "No path leads from the source to {names}.",
    "floating part": "No path leads from the source to either end of {names}.",
    "dangling part": "One end of {names} leads nowhere, so no current flows there.",
    "shorted part": "Both ends of {names} are joined, so no voltage stands there.",
    "shorted source": "The terminals of the source, {names}, are joined by a short.",
}


def network_faults(network: Network) -> tuple[Fault, ...]:
    """What hangs in the air, dangles or is shorted, from the structure alone.

    None of it stops `respond`, unless a probe or the source is part of it.

    Returns:
        The faults, at most one of each kind; empty where there are none.
    """
    drive = network.drive.ends
    nodes = dict.fromkeys(
        node
        for pair in (drive, *(b.ends for b in network.branches), *network.probes)
        for node in pair
    )
    place = graph.merged(nodes, (b.ends for b in network.branches if b.element == "short"))
    parts = [b for b in network.branches if b.element not in ("short", "open")]
    edges = [(place[b.ends[0]], place[b.ends[1]]) for b in parts]
    beside = graph.neighbours([*edges, *_fields(network, place)])
    found = graph.reached([place[node] for node in drive], beside)
    shorted = [b for b in parts if place[b.ends[0]] == place[b.ends[1]]]
    live = [b for b in parts if b not in shorted and place[b.ends[0]] in found]
    return tuple(
        Fault(what, names, _SENTENCES[what].format(names=_listed(names)))
        for what, names in _named(network, place, found, (parts, shorted, live))
        if names
    )


def _fields(network: Network, place: dict[Node, Node]) -> Iterable[tuple[Node, Node]]:
    """A coupling leads from one coil to the other as a part would."""
    for coupling in network.couplings:
        ends = [place[b.ends[0]] for b in network.branches if b.owner in coupling.coils]
        yield ends[0], ends[-1]


def _named(
    network: Network,
    place: dict[Node, Node],
    found: set[Node],
    sorts: tuple[list[Branch], list[Branch], list[Branch]],
) -> Iterable[tuple[What, tuple[str, ...]]]:
    parts, shorted, live = sorts
    drive = network.drive.ends
    yield "floating node", tuple(node for node in place if place[node] not in found)
    yield "floating part", _owners(b for b in parts if place[b.ends[0]] not in found)
    watched = {place[node] for pair in (drive, *network.probes) for node in pair}
    yield "dangling part", _owners(_dangling(live, place, watched))
    yield "shorted part", _owners(shorted)
    yield "shorted source", drive if place[drive[0]] == place[drive[1]] else ()


def _dangling(live: list[Branch], place: dict[Node, Node], watched: set[Node]) -> list[Branch]:
    """The branches left over when every end that leads nowhere is taken off, again and again."""
    kept = list(live)
    while True:
        ends = [place[node] for branch in kept for node in branch.ends]
        loose = {node for node in ends if ends.count(node) == 1 and node not in watched}
        left = [b for b in kept if not loose.intersection((place[b.ends[0]], place[b.ends[1]]))]
        if len(left) == len(kept):
            return [branch for branch in live if branch not in kept]
        kept = left


def _owners(branches: Iterable[Branch]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(branch.owner for branch in branches))


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f'"{name}"' for name in names)
