"""Frequencies and times as read: what a reading shares with others by the instrument's clock."""

from __future__ import annotations

from math import sqrt

from ohmbook.bench.desk import Desk
from ohmbook.bench.screen import screen
from ohmbook.circuit.network import Id
from ohmbook.documents.reading import ReadingBase
from ohmbook.evidence.unknown import Shape
from ohmbook.units.quantity import Quantity

EXACT = 1e-7
"""Share of a time or frequency below which nothing is stated."""


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


def as_read(
    desk: Desk, reading: ReadingBase, written: Quantity, unstated: float, what: str
) -> tuple[float, Shape]:
    """Standard uncertainty and distribution of a time or frequency as read.

    Args:
        desk: the books.
        reading: whose.
        written: as written; its own ± counts.
        unstated: limits, relative, that are taken where none are stated, and told.
        what: it is, in words.
    """
    if written.spread is not None:
        u = max(written.u, EXACT * written.value)
        return u, "rectangle" if written.rectangular else "normal"
    desk.find(
        "assumption",
        f"{reading.name}: no ± says how well its {what} was read; {100 * unstated:g} % is taken",
        readings=[reading.name],
    )
    return unstated * written.value / sqrt(3.0), "rectangle"
