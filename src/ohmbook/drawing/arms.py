"""The arm of each driver: what lies in series with it, and what shunts it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.part import PartKind
from ohmbook.drawing.joined import Joined, nodes_of

_LOW = re.compile(r"woof|bass|\bsub|\blow", re.IGNORECASE)


def odd_capacitors(circuit: Joined, kinds: Mapping[str, PartKind]) -> Iterator[tuple[str, str]]:
    """Capacitors in series with a driver whose arm passes low tones, and that driver.

    An arm passes low tones where its driver is called a woofer, or where coils lie in it and
    capacitors across it, and no coil across it as a band-pass would have. Such boards exist; more
    often a part is drawn in another's place, or was fitted so by mistake (common practice, no
    source).

    Args:
        circuit: what is joined.
        kinds: what each part is.
    """
    if circuit.input is None or circuit.ground is None:
        return
    start = next(iter(nodes_of(circuit.input)))
    for driver, pair in circuit.between.items():
        if kinds.get(driver) != "driver":
            continue
        passive = {k: v for k, v in circuit.between.items() if kinds.get(k) != "driver"}
        within = _series(passive, circuit.ground, start, pair)
        across = _across(passive, circuit.ground, within, start)
        if _passes_low(driver, within, across, kinds):
            yield from ((name, driver) for name in within if kinds.get(name) == "capacitor")


def _passes_low(
    driver: str, within: list[str], across: list[str], kinds: Mapping[str, PartKind]
) -> bool:
    if _LOW.search(driver):
        return True
    shunts = {kinds.get(name) for name in across}
    coil = any(kinds.get(name) == "inductor" for name in within)
    return coil and "capacitor" in shunts and "inductor" not in shunts


def _series(passive: Mapping[str, Pair], ground: Node, start: Node, driver: Pair) -> list[str]:
    """The parts that every way from the input to a driver passes, the ground left aside."""
    live = {name: pair for name, pair in passive.items() if ground not in pair}
    goals = {node for node in driver if node != ground}
    path = _path(live, start, goals)
    return [
        name
        for name in path
        if not _path({k: v for k, v in live.items() if k != name}, start, goals)
    ]


def _path(between: Mapping[str, Pair], start: Node, goals: set[Node]) -> list[str]:
    """The parts along the shortest way; none where there is none."""
    came: dict[Node, list[str]] = {start: []}
    waiting = [start]
    while waiting:
        node = waiting.pop(0)
        if node in goals:
            return came[node]
        for name, pair in between.items():
            if node in pair:
                other = pair[1] if pair[0] == node else pair[0]
                if other not in came:
                    came[other] = [*came[node], name]
                    waiting.append(other)
    return []


def _across(passive: Mapping[str, Pair], ground: Node, within: list[str], start: Node) -> list[str]:
    """The parts from a node of the arm to ground."""
    nodes = {node for name in within for node in passive[name]} - {start, ground}
    return [name for name, pair in passive.items() if ground in pair and nodes.intersection(pair)]
