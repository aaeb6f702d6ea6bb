"""`sweep`: two channels behind a reference resistor, over frequency, as a capture file tells them.

The source drives a known resistor and what is read in series; one channel is on the source's side,
the other on the part (or on the resistor). With H the second over the first,

    Z = R H / (1 - H) on the part,    Z = R (1 - H) / H on the resistor

(voltage divider, any textbook). Each row carries its own noise, as the sine fit gave it; what all
rows share is named: the resistor, the ratio of the channels' gains, and the time by which one
channel is late. Both channels on one node (`one_node = true`) tell the last two.
"""

from __future__ import annotations

import cmath
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import degrees, pi, radians
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.board import OnBoard
from ohmbook.bench.channels import ChannelSizes, ChannelTurn
from ohmbook.bench.columns import column_problems, rows_of
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import frequency
from ohmbook.bench.grounds import counted_in, owners_of, probe_load
from ohmbook.bench.kind import FormWords, View, Way
from ohmbook.bench.layout import Look
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen
from ohmbook.circuit.network import Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import OhmsOrPart, RelativeAccuracy, SomeSeconds, TableText
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.documents.table import Row as TableRow
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity, Unit
from ohmbook.units.show import show_plain

USUAL_GAIN = 0.03
"""Limits on the ratio of two channels' gains where nothing is stated: what one entry-level
channel's gain is good for; common practice, no source for two."""
USUAL_SKEW_S = 1e-6
"""Standard uncertainty of the time between channels where nothing is stated; common practice."""
OWN_U = 0.005
"""Relative standard uncertainty of a ratio where the table states none; common practice."""

_COLUMNS: dict[str, Unit] = {"frequency": "Hz", "ratio": "1", "phase": "deg", "u": "1"}
_RESULTS = ("ratio", "phase", "u")


@dataclass(frozen=True, slots=True)
class _Point:
    """One row: frequency, ratio (a plain number) and phase, their uncertainty, the row's number."""

    f: Quantity
    ratio: float | None
    phase_deg: float | None
    u: float
    place: int

    @property
    def h(self) -> complex | None:
        """The complex ratio, where both halves were read."""
        if self.ratio is None or self.phase_deg is None:
            return None
        return cmath.rect(self.ratio, radians(self.phase_deg))


class Sweep(OnBoard):
    """Two channels behind a reference resistor: a part alone, or two nodes of the board."""

    uses_source: ClassVar[bool] = False
    form: ClassVar[FormWords] = FormWords(
        heading="A sweep from a capture",
        does="Impedance over frequency from two channels behind a known resistor; "
        "`ohmbook capture FILE` makes the table.",
        labels={
            "resistor": "The reference resistor",
            "probe_on": "The second channel is on the",
            "one_node": "Both channels on one node (a check)",
            "gain": "How far the channels' gains may differ",
            "skew": "How late one channel may be",
            "capture": "Where it comes from",
        },
        helps={"capture": "the file's name and its hash, as the capture command writes them"},
        order=("part", "between", "one_node", "resistor", "probe_on", "table"),
        ways=(
            Way("a part alone", ("part",)),
            Way("on the board", ("between",)),
            Way("both channels on one node", ("one_node",)),
        ),
        results=("table",),
        seldom=("gain", "skew", "capture", "probe_on"),
    )

    kind: Literal["sweep"]
    part: str | None = None
    between: tuple[str, str] | None = None
    one_node: bool = False
    resistor: OhmsOrPart | None = None
    probe_on: Literal["part", "resistor"] = "part"
    gain: RelativeAccuracy | None = None
    skew: SomeSeconds | None = None
    capture: str | None = None
    table: TableText

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """One of part, two nodes and one node; a resistor; a table of ratios."""
        if sum([self.part is not None, self.between is not None, self.one_node]) != 1:
            yield Problem(
                ("part",),
                'write one of part = "L1", between = ["in", "gnd"] and one_node = true',
            )
        if self.between is not None:
            yield from self.board_problems(sheet)
            if self.between[0] == self.between[1]:
                yield Problem(("between",), "both ends are on one node; expected two nodes")
        yield from self._resistor_problems(sheet)
        problems = list(column_problems(self.table, _COLUMNS, _RESULTS))
        yield from problems
        if not problems:
            yield from self._row_problems()

    def _resistor_problems(self, sheet: Sheet) -> Iterable[Problem]:
        if self.resistor is None and not self.one_node:
            yield Problem(
                ("resistor",),
                'the reference resistor is missing; expected resistor = "100 ohm ± 1 %"',
            )
        if isinstance(self.resistor, Quantity) and self.resistor.value <= 0.0:
            yield Problem(("resistor",), f'"{self.resistor.text}" is no resistor; expected more')
        if isinstance(self.resistor, str) and (
            self.resistor == self.part or sheet.parts[self.resistor].kind != "resistor"
        ):
            yield Problem(
                ("resistor",),
                f'"{self.resistor}" is not a resistor besides what is read; expected one, or a '
                'value such as "100 ohm ± 1 %"',
            )

    def _row_problems(self) -> Iterable[Problem]:
        for point in self._points():
            if point.ratio is not None and point.ratio <= 0.0:
                yield Problem(("table",), "a ratio of nothing tells nothing", point.place, "ratio")
            if point.u <= 0.0:
                yield Problem(("table",), "u must be more than 0", point.place, "u")

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor and part in series, a channel on either side of the resistor."""
        on = screen(desk, self)
        name = on.name or "scope"
        if self.one_node:
            network = Network((Branch("", "short", ("tip", "com")),), Drive(("tip", "com")))
            both = (Clip("scope", name, "tip", "tip"), Clip("scope", name, "ground", "com"))
            return (SetUp("both channels on the source", network, both),)
        series, out, x, com = self._series(desk)
        load = probe_load(desk, on, (x, com))
        probes: tuple[Pair, ...] = ((out, com), (x, com))
        network = Network((*series, *load), Drive((out, com)), probes)
        what = self.part or " to ".join(self.between or ())
        clips = (
            Clip("source", self.source or "source", "+", out),
            Clip("source", self.source or "source", "-", com),
            Clip("scope", name, "tip", x),
            Clip("scope", name, "ground", com),
        )
        notes = (*self.changes(), *counted_in((), load))
        told = f"{what} behind a resistor, one channel on the source, one on the {self.probe_on}"
        return (SetUp(told, network, clips, self._cautions(desk), notes, owners_of(load)),)

    def _series(self, desk: Desk) -> tuple[tuple[Branch, ...], str, str, str]:
        """The branches, and the nodes of source, second channel and ground."""
        assert self.resistor is not None
        owner = desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
        plus, minus = self.between or ("a", "b")
        ends: Pair
        if self.probe_on == "part":
            out, x, com = "source (sweep)", plus, minus
            ends = (out, x)
        else:
            out, x, com = plus, minus, "ground (sweep)"
            ends = (x, com)
        read = self.board(desk) if self.part is None else (desk.branch(self.part, (plus, minus)),)
        return (Branch(owner, "resistor", ends), *read), out, x, com

    def _cautions(self, desk: Desk) -> tuple[str, ...]:
        charged = self.part is None or desk.part(self.part).kind == "capacitor"
        return (*([cautions.DISCHARGE] if charged else []), cautions.SCOPE_EARTH)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each ratio and each angle."""
        network = self.set_ups(desk)[0].network
        gain, skew = self._causes(desk)
        found = []
        for point in self._points():
            f_hz = point.f.value
            look = None
            if not self.one_node:
                look = Look(network, f_hz, frequency(desk, self, point.f))
            where = f"{self.name}: {{}} at {show_plain(f_hz, 'Hz')}"
            if point.ratio is not None:
                u = (point.u * point.ratio) ** 2
                sizes = ChannelSizes(look, gain)
                found.append(self._row(where.format("ratio"), point, (point.ratio, u), sizes))
            if point.phase_deg is not None:
                turn = ChannelTurn(look, skew, f_hz, point.phase_deg)
                own = (point.phase_deg, degrees(point.u) ** 2)
                found.append(self._row(where.format("phase"), point, own, turn))
        return found

    def _row(
        self,
        label: str,
        point: _Point,
        read: tuple[float, float],
        model: ChannelSizes | ChannelTurn,
    ) -> Row:
        unit: Unit = "1" if isinstance(model, ChannelSizes) else "deg"
        return Row(self.name, label, *read, "normal", model, place=point.place, unit=unit)

    def _causes(self, desk: Desk) -> tuple[Id, Id]:
        """What the channels do not share, by the instrument they belong to."""
        owner = self.instrument or "the two channels"
        if self.gain is None:
            desk.find(
                "assumption",
                f"{self.name}: the two channels' gains are taken to differ by at most 3 %; "
                "capture both on one node once (one_node = true), and it is known",
                readings=[self.name],
            )
        gain = desk.limits(
            (owner, "ratio of gains"), USUAL_GAIN if self.gain is None else self.gain.relative
        )
        u = USUAL_SKEW_S if self.skew is None else self.skew.value / 3.0**0.5
        return gain, desk.unknown((owner, "time skew"), "linear", Prior(0.0, u))

    def _points(self) -> Sequence[_Point]:
        found = []
        for number, cells in rows_of(self.table, _COLUMNS):
            ratio, phase, u = (cells.get(name) for name in _RESULTS)
            found.append(
                _Point(
                    cells["frequency"],
                    None if ratio is None else ratio.value,
                    None if phase is None else phase.value,
                    OWN_U if u is None else u.value,
                    number,
                )
            )
        return found

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With what its last row should show: an angle where angles were read, else a ratio."""
        shown = self._showing(len(self.table.rows) - 1, {-1: value})
        return shown, {"table": f"{value:.4g} in its last row"}

    def expecting_each(self, values: Sequence[float]) -> Self:
        """With what each row should show, ratio and angle in turn."""
        left = iter(values)
        rows = []
        for row in self.table.rows:
            cells = list(row.cells)
            for k, column in enumerate(self.table.columns):
                if cells[k] is not None and column.name in ("ratio", "phase"):
                    cells[k] = self._cell(column.name, next(left))
            rows.append(TableRow(row.line_offset, tuple(cells)))
        return self._with(rows)

    def _showing(self, row: int, shown: dict[int, float]) -> Self:
        """With some numbers of one row put in, by their place among what was read there."""
        rows = list(self.table.rows)
        cells = list(rows[row].cells)
        at = [
            k
            for k, column in enumerate(self.table.columns)
            if column.name in ("ratio", "phase") and cells[k] is not None
        ]
        for place, value in shown.items():
            cells[at[place]] = self._cell(self.table.columns[at[place]].name, value)
        rows[row] = TableRow(rows[row].line_offset, tuple(cells))
        return self._with(rows)

    def _with(self, rows: Sequence[TableRow]) -> Self:
        return self.model_copy(update={"table": replace(self.table, rows=tuple(rows), text="")})

    def _cell(self, name: str, value: float) -> str:
        percent = any(one.name == name and one.unit_text == "%" for one in self.table.columns)
        return f"{value * (100.0 if percent else 1.0):.6g}"

    def working(self, view: View) -> Working | None:
        """The divider turned round at the row in the middle, and what that makes of the part."""
        whole = [one for one in self._points() if one.h is not None]
        ohms = self._ohms(view)
        if not whole or ohms is None or self.one_node:
            return None
        point = whole[len(whole) // 2]
        h = point.h
        assert h is not None
        bottom = h if self.probe_on == "resistor" else 1.0 - h
        top = 1.0 - h if self.probe_on == "resistor" else h
        if abs(bottom) < 1e-9:
            return None
        z = ohms * top / bottom
        form = "R (1 - H) / H" if self.probe_on == "resistor" else "R H / (1 - H)"
        said = f"{abs(h):.4g} at {degrees(cmath.phase(h)):.2f} deg"
        f_hz = point.f.value
        steps = [
            Step("One channel over the other", f"H at {show_plain(f_hz, 'Hz')}", said),
            Step(
                "The divider turned round",
                f"Z = {form} with R = {show_plain(ohms, 'ohm', 4)}",
                f"{show_plain(z.real, 'ohm', 4)} and {show_plain(z.imag, 'ohm', 4)} of reactance",
            ),
        ]
        return Working(
            f"{self.part or 'The board'} from {self.name}",
            self.name,
            (*steps, *self._value_step(view, z.imag, f_hz)),
            "voltage divider, any textbook",
            "One row alone, as if both channels were alike and on time. The full model takes all "
            "rows together, with the ratio of the gains and the time between the channels unknown.",
        )

    def _ohms(self, view: View) -> float | None:
        if isinstance(self.resistor, Quantity):
            return self.resistor.value
        return None if self.resistor is None else view.value((self.resistor, "resistance"))

    def _value_step(self, view: View, x_ohm: float, f_hz: float) -> Iterable[Step]:
        if self.part is None:
            return
        w = 2.0 * pi * f_hz
        if view.kind(self.part) == "inductor" and x_ohm > 0.0:
            yield Step("From reactance to inductance", "L = X / w", show_plain(x_ohm / w, "H", 4))
        if view.kind(self.part) == "capacitor" and x_ohm < 0.0:
            shown = show_plain(-1.0 / (w * x_ohm), "F", 4)
            yield Step("From reactance to capacitance", "C = -1 / (w X)", shown)
