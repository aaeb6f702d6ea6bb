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

AT_INPUT, ELSEWHERE, LOADED, LIFTED = 0.3, 0.8, 1.2, 5.0
"""Efforts: clipping to the input, to a node inside, putting in a load, unsoldering a leg."""

At = str | tuple[str, str]


@dataclass(frozen=True, slots=True)
class Hookup:
    """Where the source is clipped and what is changed on the board.

    Args:
        at: a node against ground, or a pair.
        effort: of making it.
        changes: `detached`, `instead`, `lifted`, as a reading has them.
    """

    at: At
    effort: float
    changes: dict[str, Any] = field(default_factory=dict)

    @property
    def connection(self) -> Connection:
        """Its identity and effort."""
        return Connection(f"{self.at} {self.changes}", self.effort, "lifted" in self.changes)

    @property
    def words(self) -> str:
        """Where the source goes and what is changed, in words."""
        gone = self.changes.get("detached", ())
        told = [f"with {', '.join(gone)} unplugged"] if gone else []
        told += [f"{load} instead of {name}" for name, load in self.changes.get("instead", {}).items()]
        told += [f"{end[:-2]} off at its end {end[-1]}" for end in self.changes.get("lifted", ())]
        at = self.at if isinstance(self.at, str) else " and ".join(self.at)
        return f"{at} {', '.join(told)}".strip()


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
    drivers, ground = plugged(sheet), ground_node(sheet)
    at: Any = sheet.sketch.input if sheet.sketch is not None else None
    if at is None or not drivers and not board_nodes(sheet):
        return
    free = not _both_earthed(sheet, source, scope)
    if isinstance(at, tuple):
        if at[1] != ground and not free:
            return  # an earthed generator would short the board between its minus and the ground
        if at[1] == ground:
            at = at[0]
    unplugged = {"detached": list(drivers)} if drivers else {}
    yield Hookup(at, AT_INPUT, unplugged)
    for node in board_nodes(sheet):
        if node != at:
            yield Hookup(node, ELSEWHERE, unplugged)
    if free:
        yield from (Hookup(pair, ELSEWHERE, unplugged) for pair in _across(sheet) if pair != at)
    for name in drivers:
        others = [other for other in drivers if other != name]
        left = {"detached": others} if others else {}
        yield Hookup(at, LOADED, {**left, "instead": {name: LOAD}})
    if len(drivers) > 1:
        yield Hookup(at, LOADED + 0.2, {"instead": dict.fromkeys(drivers, LOAD)})
    for name, part in sheet.parts.items():
        if part.between and name not in drivers:
            yield Hookup(at, LIFTED, {**unplugged, "lifted": [f"{name}.1"]})


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

