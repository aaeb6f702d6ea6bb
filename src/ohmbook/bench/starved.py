"""Parts in which nothing flows as long as something is unplugged."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import Branch, Network, Node
from ohmbook.documents.part import Driver


def waiting_for(answer: Answer, name: str) -> tuple[str, ...]:
    """The drivers that were unplugged in every reading and would let current through a part.

    A part carries current where a way leads from one of its ends to the other past the part
    itself. Empty where nothing was unplugged, or where plugging it in would not help.

    Args:
        answer: the joint answer.
        name: of the part.
    """
    sheet = answer.compiled.sheet
    part = sheet.parts.get(name)
    if part is None or part.between is None:
        return ()
    looks = (look for row in answer.compiled.rows for look in row.model.looks)
    networks = [
        network
        for network in dict.fromkeys(look.network for look in looks)
        if any(branch.owner == name and branch.ends == part.between for branch in network.branches)
    ]
    if not networks:
        return ()
    boards = [_without_probes(one, sheet.parts) for one in networks]
    helping = []
    for other, driver in sheet.parts.items():
        if not isinstance(driver, Driver) or driver.between is None:
            continue
        load = Branch(other, "resistor", driver.between)
        if all(_flows(one, name, load) and not _flows(one, name, None) for one in boards):
            helping.append(other)
    return tuple(helping[:1])


def _without_probes(network: Network, parts: Iterable[str]) -> Network:
    """A circuit without the probes' own capacitance, through which next to nothing flows."""
    own = set(parts)
    kept = tuple(
        one
        for one in network.branches
        if one.owner in own or one.element != "capacitor" or one.ends not in network.probes
    )
    return replace(network, branches=kept)


def _flows(network: Network, name: str, load: Branch | None) -> bool:
    """Whether a part closes a loop, the source counting as a branch."""
    part = next(one for one in network.branches if one.owner == name)
    rest = [one.ends for one in network.branches if one is not part]
    rest += [network.drive.ends, *([load.ends] if load else [])]
    return part.ends[1] in _reach(rest, part.ends[0])


def _reach(edges: Iterable[tuple[Node, Node]], start: Node) -> set[Node]:
    known, reached, more = list(edges), {start}, True
    while more:
        grown = reached | {end for a, b in known if {a, b} & reached for end in (a, b)}
        more, reached = grown != reached, grown
    return reached
