"""`impedance`: the size and the angle that an impedance meter or bridge shows, at a frequency.

Of a part alone, or between two nodes of the board (with its drivers replaced by known resistors
that is the closing test of a sketch). One frequency, or a table of many. A meter's clips that were
read shorted and open are counted in.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin
from typing import Any, ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.board import OnBoard
from ohmbook.bench.clipping import clips_of, tell_unread
from ohmbook.bench.columns import column_problems, rows_of
from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import owners_of
from ohmbook.bench.impedances import Size, Turn
from ohmbook.bench.kind import Candidate, Connection, FormWords, View, Way
from ohmbook.bench.layout import Look
from ohmbook.bench.likes import filled
from ohmbook.bench.ohms import as_shown, meter_of
from ohmbook.bench.row import Row
from ohmbook.circuit.network import Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Degrees, SomeHertz, SomeOhms, TableText
from ohmbook.documents.part import Multimeter
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Shape
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, Unit
from ohmbook.units.show import show_plain

PHASE_U_DEG = 1.0
"""Standard uncertainty of an angle of which nothing is stated; common practice, no source."""

_COLUMNS: dict[str, Unit] = {"frequency": "Hz", "magnitude": "ohm", "phase": "deg"}


@dataclass(frozen=True, slots=True)
class _Point:
    """What was read at one frequency, and its row in a table."""

    f: Quantity
    magnitude: Quantity | None
    phase: Quantity | None
    place: int | None = None


class Impedance(OnBoard):
    """The impedance of a part alone, or between two nodes, as a meter shows it."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ("tester", "multimeter")

    form: ClassVar[FormWords] = FormWords(
        heading="What an impedance meter shows",
        does="A part's, or the whole board's, impedance at a frequency: its size, and its angle "
        "where the meter shows one. With each driver replaced by a known resistor it closes the "
        "case of a sketch.",
        labels={"magnitude": "Size of the impedance", "phase": "Its angle"},
        helps={
            "between": "the two nodes of the meter's clips",
            "phase": "plus for a coil, minus for a capacitor; may stay empty",
            "table": "frequency/kHz magnitude/ohm phase/deg, a line for each frequency",
        },
        order=("part", "between", "frequency", "magnitude", "phase", "table"),
        ways=(
            Way("one frequency", ("frequency", "magnitude", "phase"), 2),
            Way("a table of many", ("table",)),
        ),
        results=("magnitude", "phase", "table"),
        seldom=("detached", "instead", "shorted", "added", "lifted"),
        usual="LCR meter",
    )

    kind: Literal["impedance"]
    part: str | None = None
    between: tuple[str, str] | None = None
    frequency: SomeHertz | None = None
    magnitude: SomeOhms | None = None
    phase: Degrees | None = None
    table: TableText | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A part or two nodes; a frequency with what was read there, or a table."""
        if (self.part is None) == (self.between is None):
            yield Problem(("part",), 'write either part = "L1" or between = ["in", "gnd"]')
        elif self.between is not None:
            yield from self.board_problems(sheet)
            if self.between[0] == self.between[1]:
                yield Problem(("between",), "both clips are on one node; expected two nodes")
        elif self.detached or self.instead or self.shorted or self.added:
            yield Problem(
                ("part",),
                f"{self.part} is read alone, yet something is changed on the board; expected "
                'between = ["in", "gnd"] for a reading on the board',
            )
        yield from self._result_problems()

    def _result_problems(self) -> Iterable[Problem]:
        single = self.magnitude is not None or self.phase is not None
        if self.table is not None:
            if single or self.frequency is not None:
                yield Problem(
                    ("table",),
                    "a table has its own frequencies; expected either the table or one reading",
                )
            yield from column_problems(self.table, _COLUMNS, ("magnitude", "phase"))
            return
        if self.frequency is None:
            yield Problem(
                ("frequency",),
                "the frequency is missing, and an impedance without it says nothing; expected "
                'frequency = "1 kHz", or a table',
            )
        if not single:
            yield Problem(
                ("magnitude",),
                'nothing was read; expected magnitude = "12.3 ohm" or phase = "41 deg", or a table',
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The meter's clips on the part alone or on two nodes."""
        name = self.instrument or "tester"
        if self.part is not None:
            ends: Pair = ("a", "b")
            branches: tuple[Branch, ...] = (desk.branch(self.part, ends),)
            title = f"{name} on {self.part} alone"
            charged = desk.part(self.part).kind == "capacitor"
        else:
            assert self.between is not None
            ends, branches = self.between, self.board(desk)
            title, charged = f"{name} between {ends[0]} and {ends[1]}", True
        clips = (Clip("meter", name, "+", ends[0]), Clip("meter", name, "-", ends[1]))
        own, inner = clips_of(desk, self).branches(desk, ends)
        network = Network((*branches, *own), Drive(inner))
        notes = (*self.changes(), *(["counted in: the meter's clips"] if own else []))
        first = (cautions.DISCHARGE,) if charged else ()
        second = (cautions.UNPOWERED,) if self.part is None else ()
        return (SetUp(title, network, clips, (*second, *first), notes, owners_of(own)),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each size and each angle."""
        network = self.set_ups(desk)[0].network
        if not clips_of(desk, self).any:
            tell_unread(desk, self)
        return [row for point in self._points() for row in self._at(desk, network, point)]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the size it should show."""
        shown = f"{value:.4g} ohm"
        magnitude = parse_quantity(shown, "ohm")
        return self.model_copy(update={"magnitude": magnitude}), {"magnitude": shown}

    def working(self, view: View) -> Working | None:
        """Size and angle taken apart into resistance and reactance, and what that makes."""
        point = next((one for one in self._points() if one.magnitude and one.phase), None)
        if self.part is None or point is None or point.magnitude is None or point.phase is None:
            return None
        size, turn = point.magnitude.value, radians(point.phase.value)
        resistance, reactance = size * cos(turn), size * sin(turn)
        steps = [
            Step(
                "The part of it that is in step",
                f"R = |Z| cos(phase) = {point.magnitude.text} x cos({point.phase.text})",
                show_plain(resistance, "ohm", 4),
            ),
            Step(
                "The part of it that is a quarter ahead (a coil) or behind (a capacitor)",
                f"X = |Z| sin(phase) = {point.magnitude.text} x sin({point.phase.text})",
                show_plain(reactance, "ohm", 4),
            ),
        ]
        steps += self._value_step(view, reactance, point.f.value)
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            tuple(steps),
            "polar to rectangular form, any textbook",
            "A meter's answer holds at its own frequency; the full model carries it to others by "
            "the part's loss exponent, and takes its clips off where they were read.",
        )

    def _value_step(self, view: View, reactance: float, f_hz: float) -> Iterable[Step]:
        assert self.part is not None
        kind, w = view.kind(self.part), 2.0 * pi * f_hz
        if kind == "inductor" and reactance > 0.0:
            words = f"L = X / (2 pi f) at {show_plain(f_hz, 'Hz')}"
            yield Step("From reactance to inductance", words, show_plain(reactance / w, "H", 4))
        elif kind == "capacitor" and reactance < 0.0:
            value = -1.0 / (w * reactance)
            words = f"C = -1 / (2 pi f X) at {show_plain(f_hz, 'Hz')}"
            yield Step("From reactance to capacitance", words, show_plain(value, "F", 4))

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:  # noqa: ARG003
        """Each part that is not on the board, at frequencies across the useful range."""
        meter = next((name for name, one in desk.sheet.instruments.items() if _reads(one)), None)
        if meter is None:
            return ()
        return [
            cls._candidate(meter, name, f_hz)
            for name, part in desk.sheet.parts.items()
            if part.between is None and part.kind != "driver"
            for f_hz in (100.0, 1000.0, 10000.0)
        ]

    @classmethod
    def _candidate(cls, meter: str, part: str, f_hz: float) -> Candidate:
        said = {"kind": "impedance", "part": part, "instrument": meter, "frequency": f"{f_hz:g} Hz"}
        reading = cls.model_validate(
            {**said, "magnitude": "10 ohm", "name": f"next: impedance of {part} at {f_hz:g} Hz"}
        )
        words = f"read the impedance of {part} alone at {show_plain(f_hz, 'Hz')}"
        blank = {**said, "magnitude": ""}
        return Candidate(reading, blank, 1.0, words, connection=Connection(f"{part} alone", 1.0))

    def _points(self) -> Sequence[_Point]:
        if self.table is None:
            assert self.frequency is not None
            return [_Point(self.frequency, self.magnitude, self.phase)]
        return [
            _Point(cells["frequency"], cells.get("magnitude"), cells.get("phase"), number)
            for number, cells in rows_of(self.table, _COLUMNS)
        ]

    def _at(self, desk: Desk, network: Network, point: _Point) -> Iterable[Row]:
        look = Look(network, point.f.value)
        where = (
            f"{self.part or ' to '.join(self.between or ())} at {show_plain(point.f.value, 'Hz')}"
        )
        if point.magnitude is not None:
            yield self._size(desk, look, point, f"{self.name}: impedance of {where}")
        if point.phase is not None:
            yield self._turn(desk, look, point, f"{self.name}: phase of {where}")

    def _size(self, desk: Desk, look: Look, point: _Point, label: str) -> Row:
        assert point.magnitude is not None
        _, meter = meter_of(desk, self)
        accuracy = None if meter is None else meter.impedance
        gains, own = as_shown(desk, self, point.magnitude, "impedance", accuracy)
        return Row(
            self.name,
            label,
            point.magnitude.value,
            own.u**2,
            own.shape,
            Size(look, gains),
            place=point.place,
            unit="ohm",
        )

    def _turn(self, desk: Desk, look: Look, point: _Point, label: str) -> Row:
        assert point.phase is not None
        name, meter = meter_of(desk, self)
        u = point.phase.u
        errors: tuple[Id, ...] = ()
        shape: Shape = "rectangle" if point.phase.rectangular else "normal"
        stated = None if meter is None else meter.phase
        if point.phase.spread is None and stated is not None:
            # what is absolute in it is the meter's, at all its angles alike
            errors = (desk.limits((name, "phase error"), stated.absolute),)
            u = max(stated.digits * point.phase.last_digit / 3.0**0.5, 1e-3)
        elif point.phase.spread is None:
            u = PHASE_U_DEG
            desk.find(
                "assumption",
                f"{self.name}: its phases state no ±; a standard uncertainty of 1 degree is taken",
                readings=[self.name],
            )
        value = point.phase.value
        model = Turn(look, value, errors)
        return Row(
            self.name, label, value, max(u, 1e-4) ** 2, shape, model, place=point.place, unit="deg"
        )


def _reads(instrument: Any) -> bool:
    return isinstance(instrument, Multimeter) and (
        getattr(filled(instrument)[0], "impedance", None) is not None
    )
