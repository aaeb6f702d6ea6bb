"""Frequencies and times as read: what a reading shares with others by the instrument's clock."""

from __future__ import annotations

from ohmbook.bench.desk import Desk
from ohmbook.bench.screen import screen
from ohmbook.circuit.network import Id
from ohmbook.documents.reading import ReadingBase
from ohmbook.units.quantity import Quantity


def shared_clock(
    desk: Desk, reading: ReadingBase, written: Quantity
) -> tuple[tuple[Id, float], ...]:
    """The instrument's clock as a relative error: of a frequency one way, of a time the other.

    A quantity's own ± replaces what the instrument would give.
    """
    scope = screen(desk, reading).scope
    if written.spread is not None or scope is None or scope.frequency is None:
        return ()
    one = desk.limits((screen(desk, reading).name, "frequency"), scope.frequency.relative)
    return ((one, 1.0 if written.unit == "Hz" else -1.0),)
