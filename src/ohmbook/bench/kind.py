"""What every reading kind provides; each kind is one file in `bench/kinds/`.

A kind is a frozen pydantic model of its inputs with methods. To add one: write its class, add it
to `KINDS`. The sheet, settle, next, the drawings and the forms know it from there; none of them
knows a kind by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol, Self

from ohmbook.bench.desk import Desk
from ohmbook.bench.row import Row
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import Working
from ohmbook.documents.reading import ReadingBase
from ohmbook.documents.setup import SetUp


class View(Protocol):
    """What a kind may ask of a settled sheet to work a reading out by hand."""

    def value(self, one: Id) -> float | None:
        """The settled value of a quantity, SI; None where nothing of that name exists."""

    def kind(self, part: str) -> str:
        """What a part is."""

    def at(self, part: str, f_hz: float) -> float | None:
        """A part's settled main value at a frequency, SI."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken next.

    Args:
        reading: the reading, with the result it would have filled in from `guess`.
        blank: the reading without its result, as a sheet would have it.
        cost: in units of one more number at the same clips.
        words: what to do, in words.
    """

    reading: Reading
    blank: dict[str, Any]
    cost: float
    words: str


class Reading(ReadingBase):
    """One reading of some kind. Kinds fill in the methods below."""

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """What was connected: one set-up, or one for each probe position."""
        raise NotImplementedError

    def rows(self, desk: Desk) -> Sequence[Row]:
        """Its observations; causes and unknowns are entered at the desk on the way."""
        raise NotImplementedError

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """The reading with what it should show put in, and that in words.

        Args:
            value: what its last row should show, in the row's unit (volts: peak to peak).
        """
        raise NotImplementedError

    def working(self, view: View) -> Working | None:  # noqa: ARG002
        """The textbook's way with the numbers put in; None where there is none."""
        return None

    def again(self, desk: Desk, view: View) -> Sequence[Candidate]:  # noqa: ARG002
        """This reading once more, with another load or the like, where that would tell more."""
        return ()

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:  # noqa: ARG003
        """Readings of this kind that could be taken next."""
        return ()
