"""`resistance`: an ohmmeter on a part, or between two nodes of the board.

On the board its current goes at 0 Hz through coils, resistors and drivers; capacitors do not
conduct. Two wires read the leads with it, four do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, ClassVar, Literal, Self

import numpy as np

from ohmbook.bench import cautions
from ohmbook.bench.board import OnBoard
from ohmbook.bench.connecting import plugged
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import TO_READ, Candidate, Connection, FormWords, View, Wanted, Way
from ohmbook.bench.layout import Look
from ohmbook.bench.likes import filled
from ohmbook.bench.meters import DirectResistance
from ohmbook.bench.ohms import as_shown, leads_of, meter_of
from ohmbook.bench.row import Row
from ohmbook.circuit import respond
from ohmbook.circuit.network import Branch, Drive, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Ohms, OhmsOrReading
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.errors import FloatingError, PathlessError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

WHOLE_OHMS = 1000.0
"""From here on an expected display is told without tenths."""


class Resistance(OnBoard):
    """An ohmmeter's reading; `value` is as displayed, leads not subtracted."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ("multimeter", "tester")

    form: ClassVar[FormWords] = FormWords(
        heading="Resistance with an ohmmeter",
        does="A resistor's value or a coil's resistance, as the meter shows it.",
        labels={
            "between": "Between",
            "value": "The meter shows",
            "leads": "With its leads held together",
            "wires": "Wires",
            "detached": "Unplugged or unsoldered",
            "instead": "A resistor in a part's place",
            "shorted": "Bridged by a wire",
            "added": "Put between two nodes",
            "lifted": "One leg lifted",
        },
        helps={
            "value": "as displayed, leads not taken off",
            "leads": "as displayed, or the same as in an earlier reading",
        },
        order=("part", "between", "value", "leads", "detached"),
        ways=(
            Way("a part alone", ("part",)),
            Way(
                "on the board",
                ("between", "detached", "instead", "shorted", "added", "lifted"),
            ),
        ),
        results=("value", "leads"),
        seldom=("wires", "instead", "shorted", "added", "lifted"),
    )

    kind: Literal["resistance"]
    part: str | None = None
    between: tuple[str, str] | None = None
    value: Ohms
    leads: OhmsOrReading | None = None
    wires: Literal[2, 4] = 2

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """Either a part or two nodes, and a part that conducts."""
        if (self.part is None) == (self.between is None):
            yield Problem(("part",), 'write either part = "L1" or between = ["in", "w"]')
        elif self.between is not None:
            yield from self.board_problems(sheet)
            if self.between[0] == self.between[1]:
                yield Problem(("between",), "both clips are on one node; expected two nodes")
        elif self.part is not None and sheet.parts[self.part].kind == "capacitor":
            yield Problem(
                ("part",),
                f"{self.part} is a capacitor, which does not conduct direct "
                'current; expected kind = "meter" for its series resistance',
            )
        own_leg = all(end.rpartition(".")[0] == self.part for end in self.lifted)
        elsewhere = self.detached or self.instead or self.shorted or self.added
        if self.part is not None and (elsewhere or not own_leg):
            yield Problem(
                ("part",),
                f"{self.part} is read alone, yet something is changed on the board; expected "
                'between = ["in", "w"] for a reading on the board',
            )
        if self.wires == 4 and self.leads is not None:
            yield Problem(("leads",), "with four wires the leads do not count; expected no leads")

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The meter's two clips, on the part alone or on two nodes."""
        name = self.instrument or "meter"
        if self.part is not None:
            ends: Pair = ("a", "b")
            branches: tuple[Branch, ...] = (desk.branch(self.part, ends),)
            title, notes = f"{name} on {self.part} alone", self.changes()
        else:
            assert self.between is not None
            ends, branches = self.between, self.board(desk, direct=True)
            title, notes = f"{name} between {ends[0]} and {ends[1]}", self.changes()
        clips = (Clip("meter", name, "+", ends[0]), Clip("meter", name, "-", ends[1]))
        network = Network(branches, Drive(ends))
        return (SetUp(title, network, clips, (cautions.UNPOWERED, cautions.DISCHARGE), notes),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """What the display shows: path and leads, with the meter's gain."""
        _, meter = meter_of(desk, self)
        gains, own = as_shown(
            desk, self, self.value, "resistance", None if meter is None else meter.resistance
        )
        leads = leads_of(desk, self, self.leads, self.wires)
        network = self.set_ups(desk)[0].network
        _check_path(self.name, network)
        model = DirectResistance(Look(network, 0.0), leads, gains)
        what = self.part or " to ".join(self.between or ())
        return [
            Row(
                self.name,
                f"{self.name}: ohms of {what}",
                self.value.value,
                own.u**2,
                own.shape,
                model,
                unit="ohm",
            )
        ]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the resistance it should display."""
        shown = f"{value:.{0 if value >= WHOLE_OHMS else 1}f} ohm"
        return self.model_copy(update={"value": parse_quantity(shown, "ohm")}), {"value": shown}

    def working(self, view: View) -> Working | None:
        """Displayed less leads, for a part alone."""
        if self.part is None:
            return None
        leads = self.leads.value if isinstance(self.leads, Quantity) else 0.0
        by_hand = self.value.value - leads
        settled = view.value((self.part, "resistance"))
        return Working(
            f"{self.part}'s resistance from {self.name}",
            self.name,
            (
                Step(
                    "What the meter shows, less its leads",
                    f"{self.value.text} - {show_plain(leads, 'ohm')}",
                    show_plain(by_hand, "ohm"),
                ),
            ),
            "subtraction; common practice, no source",
            "Both numbers have the meter's digits and gain; the full model keeps them and every "
            f"other reading: {show_plain(settled or by_hand, 'ohm')}.",
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        """Every pair of nodes with a path for direct current, and every coil or resistor alone."""
        meter = next(
            (
                name
                for name, one in desk.sheet.instruments.items()
                if getattr(filled(one)[0], "resistance", None) and one.kind in cls.instrument_kinds
            ),
            None,
        )
        if meter is None:
            return ()
        drivers = list(plugged(desk.sheet))
        unplugged = {"detached": drivers} if drivers else {}
        blanks: list[dict[str, Any]] = [
            {"kind": "resistance", "between": list(pair), "instrument": meter, **unplugged}
            for pair in _joined(desk.sheet)
        ]
        blanks += [
            {"kind": "resistance", "part": name, "instrument": meter}
            for name, part in desk.sheet.parts.items()
            if not part.between and part.kind in ("inductor", "resistor")
        ]
        leads = _leads_read(desk.sheet, meter)
        return [cls._candidate(blank, view, leads, k) for k, blank in enumerate(blanks, 1)]

    @classmethod
    def _candidate(
        cls, blank: dict[str, Any], view: View, leads: str | None, number: int
    ) -> Candidate:
        where = blank.get("part") or " and ".join(blank["between"])
        ohms = view.value((str(blank.get("part", "")), "resistance")) or 1.0
        guess = {"value": f"{ohms:.1f} ohm", "leads": leads or "0.2 ohm"}
        reading = cls.model_validate({**blank, **guess, "name": f"next: ohms {number}"})
        return Candidate(
            reading,
            {**blank, "leads": leads or ""},
            1.0,
            "with the capacitors discharged, read the resistance "
            f"{'of' if blank.get('part') else 'between'} {where}"
            f"{'' if leads else ', and the leads shorted'}",
            1 if leads else 2,
            1,
            Connection("ohmmeter", 0.0),
        )

    @classmethod
    def together(cls, wanted: Sequence[Wanted]) -> Sequence[dict[str, Any]]:
        """The leads shorted once; every other reading refers to that."""
        found: list[dict[str, Any]] = []
        first = ""
        for number, one in enumerate(wanted, 1):
            blank = {**one.blank, "value": TO_READ}
            if not blank.get("leads"):
                name = f"ohms {number}"
                blank |= {"name": name, "leads": f"@{first}" if first else TO_READ}
                first = first or name
            found.append(blank)
        return found


def _joined(sheet: Sheet) -> list[Pair]:
    """Every two nodes with a way for direct current between them, drivers unplugged."""
    wires = [
        part.between
        for part in sheet.parts.values()
        if part.between and part.kind in ("inductor", "resistor")
    ]
    groups: dict[str, set[str]] = {}
    for a, b in wires:
        both = groups.get(a, {a}) | groups.get(b, {b})
        groups |= dict.fromkeys(both, both)
    nodes = list(dict.fromkeys(node for pair in wires for node in pair))
    return [(a, b) for k, a in enumerate(nodes) for b in nodes[k + 1 :] if b in groups[a]]


def _leads_read(sheet: Sheet, meter: str) -> str | None:
    """A reading of this meter's leads that is there already, as a reference to it."""
    for reading in sheet.readings:
        leads = getattr(reading, "leads", None)
        if isinstance(reading, Resistance) and reading.instrument == meter:
            if isinstance(leads, str):
                return leads
            if leads is not None and reading.struck is None:
                return f"@{reading.name}"
    return None


def _check_path(reading: str, network: Network) -> None:
    """Direct current must find a way between the clips, whatever the values are."""
    try:
        answer = respond(network, dict.fromkeys(network.ids, 1.0), [0.0])
    except FloatingError as error:
        raise PathlessError(reading) from error
    if not np.isfinite(answer.input_impedance).all():
        raise PathlessError(reading)
