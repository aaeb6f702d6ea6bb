"""What every reading kind provides; each kind is one file in `bench/kinds/`.

A kind is a frozen pydantic model of its inputs with methods. To add one: write its class, add it
to `KINDS`. The sheet, settle, next, the drawings and the forms know it from there; none of them
knows a kind by name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar, Protocol, Self

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
class Connection:
    """What is clipped where and what is changed on the board: dear to change, cheap to stay on.

    Args:
        name: the same for readings between which nothing has to be changed.
        effort: of making it, in units of one more number at the same clips and frequency.
        last_resort: whether it means unsoldering, so that it comes last.
    """

    name: str
    effort: float = 0.0
    last_resort: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken next.

    Args:
        reading: the reading, with the result it would have filled in from `guess`.
        blank: the reading without its result, as a sheet would have it.
        cost: in units of one more number at the same clips.
        words: what to do, in words.
        numbers: how many numbers are read for it.
        again: the same where another reading of its kind is taken before it (leads and open
            amplitudes need not be read twice).
        connection: what it is clipped to; one of its own where None.
    """

    reading: Reading
    blank: dict[str, Any]
    cost: float
    words: str
    numbers: int = 1
    again: int = 1
    connection: Connection | None = None


@dataclass(frozen=True, slots=True)
class Tunable:
    """Readings on one connection that differ only in place and frequency, both to be chosen.

    Args:
        connection: what they share.
        places: where may be read.
        span_hz: the frequencies that may be chosen.
        every: one reading whose rows are, frequency by frequency, the places handed in.
        one: the candidate at a place and a frequency.
        cost: of each, in units of one more number at the same clips.
    """

    connection: Connection
    places: tuple[str, ...]
    span_hz: tuple[float, float]
    every: Callable[[Sequence[float], Sequence[str]], Reading]
    one: Callable[[str, float], Candidate]
    cost: float = 1.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """A reading that a plan asks for: without its result, and what it should show, in words."""

    blank: dict[str, Any]
    expected: dict[str, str]


TO_READ = "?"
"""What stands in a plan where a number is to be filled in."""


@dataclass(frozen=True, slots=True)
class Way:
    """One of several ways to write a reading of a kind.

    Args:
        words: what it is chosen by.
        fields: those that only this way has.
        needs: how many of the first of them it cannot do without.
    """

    words: str
    fields: tuple[str, ...]
    needs: int = 1


@dataclass(frozen=True, slots=True)
class FormWords:
    """What a form says of a kind beyond what its fields' types say; each has a default.

    Args:
        heading: what the person sets out to do; the kind's name where empty.
        does: a sentence on what it gives; the class's own first line where empty.
        labels: friendlier than the field's name.
        helps: a short help for a field.
        order: fields in the order a person comes to them; the others follow as declared.
        ways: ways that exclude each other, the usual one first.
        results: what is read rather than set; every needed quantity where empty.
        seldom: fields that are folded away.
        usual: which starting point (`bench.likes`) its instrument has where none is there.
    """

    heading: str = ""
    does: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)
    helps: Mapping[str, str] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    ways: tuple[Way, ...] = ()
    results: tuple[str, ...] = ()
    seldom: tuple[str, ...] = ()
    usual: str = ""


class Reading(ReadingBase):
    """One reading of some kind. Kinds fill in the methods below.

    `form` has the words of its form. `checks_source` marks a kind that is taken once for each
    source, before its other readings.
    """

    form: ClassVar[FormWords] = FormWords()
    checks_source: ClassVar[bool] = False

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

    def expecting_each(self, values: Sequence[float]) -> Self:
        """The reading with what each of its rows should show put in."""
        return self.expecting(values[-1])[0]

    def working(self, view: View) -> Working | None:  # noqa: ARG002
        """The textbook's way with the numbers put in; None where there is none."""
        return None

    def again(self, desk: Desk, view: View) -> Sequence[Candidate]:  # noqa: ARG002
        """This reading once more, with another load or the like, where that would tell more."""
        return ()

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate | Tunable]:  # noqa: ARG003
        """Readings of this kind that could be taken next."""
        return ()

    @classmethod
    def together(cls, wanted: Sequence[Wanted]) -> Sequence[dict[str, Any]]:
        """Wanted readings of this kind as a sheet has them best, "?" where a number belongs."""
        return [
            {key: value or TO_READ for key, value in {**one.blank, **_unread(one)}.items()}
            for one in wanted
        ]


def _unread(one: Wanted) -> dict[str, Any]:
    return {key: one.blank.get(key) for key in one.expected}
