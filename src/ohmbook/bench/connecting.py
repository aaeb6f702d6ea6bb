"""How a board can be connected for a reading: where the source goes, what stands for a driver.

Nothing is unsoldered but as a last resort: drivers unplug, and a resistor may stand in one's place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import ground_node, is_earthed
from ohmbook.bench.kind import Connection
from ohmbook.bench.likes import filled
from ohmbook.circuit.network import Node
from ohmbook.documents.part import Oscilloscope, Source
from ohmbook.documents.reading import Sheet

LOAD = "10 ohm ± 1 %"
"""What stands for a driver: what crossovers are tried with; common practice, no source."""

AT_INPUT, ELSEWHERE, LOADED, LIFTED = 0.1, 0.25, 0.4, 5.0
"""Efforts: clipping to the input, to a node inside, putting in a load, unsoldering a leg."""

At = str | tuple[str, str]


@dataclass(frozen=True, slots=True)
class Hookup:
    """Where the source is clipped and what is changed on the board.

    Args:
        at: a node against ground, or a pair.
        effort: of making it.
        changes: `detached`, `instead`, `lifted`, as a reading has them.
        at_input: whether that is the board's input.
    """

    at: At
    effort: float
    changes: dict[str, Any] = field(default_factory=dict)
    at_input: bool = False

    @property
    def connection(self) -> Connection:
        """Its identity and effort."""
        return Connection(f"{self.at} {self.changes}", self.effort, "lifted" in self.changes)

    @property
    def words(self) -> str:
        """Where the source goes and what is changed, in words."""
        gone = self.changes.get("detached", ())
        told = [f"{' and '.join(gone)} unplugged"] if gone else []
        by_load: dict[str, list[str]] = {}
        for name, load in self.changes.get("instead", {}).items():
            by_load.setdefault(load, []).append(name)
        told += [f"{load} in place of {' and of '.join(names)}" for load, names in by_load.items()]
        told += [f"{end[:-2]} unsoldered at its end {end[-1]}" for end in self._lifted]
        at = self.at if isinstance(self.at, str) else " and ".join(self.at)
        return ", ".join(["the input" if self.at_input else at, *told])

    @property
    def _lifted(self) -> tuple[str, ...]:
        return tuple(self.changes.get("lifted", ()))


def board_nodes(sheet: Sheet) -> tuple[Node, ...]:
    """Every node of the board but its ground, where parts other than drivers meet it."""
    ground = ground_node(sheet)
    found = dict.fromkeys(
        node
        for part in sheet.parts.values()
        if part.kind != "driver"
        for node in part.between or ()
    )
    return tuple(node for node in found if node != ground)


def plugged(sheet: Sheet) -> tuple[str, ...]:
    """The drivers on the board."""
    return tuple(n for n, p in sheet.parts.items() if p.kind == "driver" and p.between)


def hookups(desk: Desk, source: str, scope: str) -> Iterator[Hookup]:
    """Every way to connect the source without unsoldering, then those that lift one leg."""
    sheet = desk.sheet
    drivers, free = plugged(sheet), not _both_earthed(sheet, source, scope)
    at = _input(sheet, free)
    if at is None or (not drivers and not board_nodes(sheet)):
        return
    unplugged = {"detached": list(drivers)} if drivers else {}
    yield Hookup(at, AT_INPUT, unplugged, at_input=True)
    inside: list[At] = [*board_nodes(sheet), *(_across(sheet) if free else ())]
    yield from (Hookup(one, ELSEWHERE, unplugged) for one in inside if one != at)
    yield from _loaded(at, drivers)
    for name, part in sheet.parts.items():
        if part.between and name not in drivers:
            yield Hookup(at, LIFTED, {**unplugged, "lifted": [f"{name}.1"]}, at_input=True)


def _input(sheet: Sheet, free: bool) -> At | None:
    """Where the board is driven; None where two earths forbid it or none is drawn."""
    at = sheet.sketch.input if sheet.sketch is not None else None
    if isinstance(at, str) or at is None:
        return at
    if at[1] == ground_node(sheet):
        return at[0]
    return at if free else None  # an earthed generator would short minus to the ground


def _loaded(at: At, drivers: tuple[str, ...]) -> Iterator[Hookup]:
    """A resistor in one driver's place, the others unplugged; then in every driver's."""
    for name in drivers:
        others = [other for other in drivers if other != name]
        left = {"detached": others} if others else {}
        yield Hookup(at, LOADED, {**left, "instead": {name: LOAD}}, at_input=True)
    if len(drivers) > 1:
        yield Hookup(at, LOADED + 0.1, {"instead": dict.fromkeys(drivers, LOAD)}, at_input=True)


def _across(sheet: Sheet) -> Iterator[tuple[Node, Node]]:
    """Both ends of a part, where neither is the ground."""
    ground = ground_node(sheet)
    yield from dict.fromkeys(
        part.between
        for part in sheet.parts.values()
        if part.between and part.kind != "driver" and ground not in part.between
    )


def _both_earthed(sheet: Sheet, source: str, scope: str) -> bool:
    generator, screen = filled(sheet.sources[source])[0], filled(sheet.instruments[scope])[0]
    assert isinstance(generator, Source)
    assert isinstance(screen, Oscilloscope)
    return is_earthed(generator) and is_earthed(screen)
