"""`driver impedance`: a driver behind a resistor, compared with a known one in its place.

With some 10 ohm that is a divider, with some 1000 ohm nearly a constant current; both are the same
circuit, and the source's own resistance is in it. A known resistor is read at each frequency, so
neither the source nor the meter need be flat. What the driver is at a frequency (its size, and
the cosine of its angle) is an unknown of its own; a voltage alone tells the size.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import log
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions, priors
from ohmbook.bench.columns import column_problems, rows_of
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen, shown
from ohmbook.bench.tables import filled_table
from ohmbook.bench.three_points import Curve, across_driver, across_known, three_points
from ohmbook.bench.volts import peak_to_peak
from ohmbook.bench.worked import Formula, Function
from ohmbook.circuit.network import Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import OhmsOrPart, TableText
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity, Unit
from ohmbook.units.show import show_plain

SIZE_U = log(4.0)
IN_STEP = Prior(1.5, 1.2)
"""What a driver's impedance may be beside its rated one, a factor; and the cosine of its angle, on
the logit scale: 0.3 to 0.98. Common practice, no source."""

_COLUMNS: dict[str, Unit] = {"frequency": "Hz", "across": "V", "known": "V"}


class DriverImpedance(Reading):
    """A driver's impedance, frequency by frequency, against a known resistor."""

    form: ClassVar[FormWords] = FormWords(
        heading="A driver's impedance",
        does="How large a driver's impedance is at each frequency, and its resonance, from "
        "voltages behind a resistor.",
        labels={
            "resistor": "The resistor in series",
            "known": "The known resistor",
            "table": "Frequency, volts across the driver, volts across the known resistor",
        },
        helps={
            "resistor": "10 ohm makes a divider, 1 kohm nearly a constant current",
            "known": "put in the driver's place at each frequency",
            "table": "frequency/Hz across/mVrms known/mVrms, a line for each frequency",
        },
        order=("part", "resistor", "known", "table"),
        results=("table",),
    )

    kind: Literal["driver impedance"]
    part: str
    resistor: OhmsOrPart
    known: OhmsOrPart
    table: TableText

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A driver, two resistors, both columns, frequencies that rise."""
        kind = sheet.parts[self.part].kind
        if kind != "driver":
            yield Problem(("part",), f"{self.part} is a {kind}; expected a driver")
        for key in ("resistor", "known"):
            value = getattr(self, key)
            if isinstance(value, str) and sheet.parts[value].kind != "resistor":
                yield Problem((key,), f'"{value}" is not a resistor; expected one')
            if isinstance(value, Quantity) and value.value == 0.0:
                yield Problem((key,), f'"{value.text}" is no resistor; expected such as "10 ohm"')
        found = list(column_problems(self.table, _COLUMNS, ("across", "known")))
        yield from found
        if not found:
            yield from self._row_problems()

    def _row_problems(self) -> Iterable[Problem]:
        rows = rows_of(self.table, _COLUMNS)
        for number, cells in rows:
            for name in ("across", "known"):
                if name not in cells or cells[name].value <= 0.0:
                    yield Problem(
                        ("table",),
                        f"no {name} was read in this row; expected both voltages above 0 at each "
                        "frequency",
                        number,
                    )
        for (_, one), (number, after) in pairwise(rows):
            if after["frequency"].value <= one["frequency"].value:
                told = f'"{after["frequency"].text}" is not above the row before it'
                yield Problem(("table",), f"{told}; expected frequencies that rise", number)

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor and driver; then the known resistor in the driver's place."""
        source, _ = desk.source(self)
        name = self.instrument or "scope"
        ends: Pair = ("x", "com")
        series = Branch(self._owner(desk, "resistor"), "resistor", ("out", "x"))
        known = Branch(self._owner(desk, "known"), "resistor", ends)
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", name, "tip", "x"),
            Clip("scope", name, "ground", "com"),
        )
        told = (cautions.SWEEP_LOW, cautions.SCOPE_EARTH)
        drive = Drive(("out", "com"), source)
        return tuple(
            SetUp(title, Network((series, one), drive, (ends,)), clips, told)
            for title, one in (
                (f"{self.part} behind a resistor, probe on it", desk.branch(self.part, ends)),
                (f"a known resistor in place of {self.part}, probe on it", known),
            )
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """Two rows for each frequency."""
        source, _ = desk.source(self)
        known: Id = (self._owner(desk, "known"), "resistance")
        behind: tuple[Id, Id] = (
            (source, "resistance"),
            (self._owner(desk, "resistor"), "resistance"),
        )
        rows = []
        for number, cells in rows_of(self.table, _COLUMNS):
            f_hz = cells["frequency"].value
            at = show_plain(f_hz, "Hz", 6)
            on = screen(desk, self)
            vpp = on.read(cells["known"]).vpp
            prior = Prior(log(max(vpp, 1e-6)), priors.OPEN_AMPLITUDE_FACTOR)
            emf = desk.unknown((self.name, f"open at {at}"), "log", prior)
            of = (emf, *self._driver(desk, at), *behind)
            told = (number, f_hz)
            label = f"{self.name}: across {self.part} at {at}"
            rows.append(self._row(desk, cells["across"], (across_driver, of, label), told))
            label = f"{self.name}: across the known resistor at {at}"
            rows.append(
                self._row(desk, cells["known"], (across_known, (emf, known, *behind), label), told)
            )
        return rows

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With what the last row should show."""
        return self, {"table": f"{show_plain(value, 'V')}pp at last"}

    def expecting_each(self, values: Sequence[float]) -> Self:
        """With every voltage it should show."""
        return self.model_copy(update={"table": filled_table(self.table, values)})

    def working(self, view: View) -> Working | None:
        """The size at the peak, then the three-point recipe where the curve has a peak."""
        ohms = {key: self._ohm(view, key) for key in ("resistor", "known")}
        source = view.value((self.source or "", "resistance"))
        if source is None or not all(ohms.values()):
            return None
        total = source + ohms["resistor"]
        curve = self._curve(total, ohms["known"])
        f_hz, size = max(curve, key=lambda one: one[1])
        steps = [
            Step(
                f"The size of the impedance at {show_plain(f_hz, 'Hz', 4)}, where it is largest",
                "E = V_known (R + R_known) / R_known, q = V / E, |Z| = R q / (1 - q), R = "
                f"{show_plain(total, 'ohm', 4)} with the source's own",
                show_plain(size, "ohm", 4),
            )
        ]
        steps += self._recipe(curve, view.value((self.part, "resistance")))
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            tuple(steps),
            "voltage divider; R. H. Small, J. Audio Eng. Soc. 20 (5), 1972, for the three points",
            "By hand the driver counts as a plain resistance, which it is at its peak; the full "
            "model leaves its angle open at each frequency. Box, temperature and level shift the "
            "resonance.",
        )

    def _recipe(self, curve: Curve, re_ohm: float | None) -> Iterable[Step]:
        found = None if re_ohm is None else three_points(curve, re_ohm)
        if found is None or re_ohm is None:
            return
        level = show_plain(found.highest_ohm / found.r0**0.5, "ohm", 4)
        f1, f2 = show_plain(found.f1_hz, "Hz", 5), show_plain(found.f2_hz, "Hz", 5)
        yield Step(
            "How much higher the peak is than the voice coil",
            f"r0 = Zmax / Re = {show_plain(found.highest_ohm, 'ohm', 4)} / "
            f"{show_plain(re_ohm, 'ohm', 4)}",
            f"{found.r0:.4f}",
        )
        yield Step(
            f"The resonance, from the two frequencies where |Z| is Re sqrt(r0) = {level}",
            f"fs = sqrt(f1 f2) = sqrt({f1} x {f2})",
            show_plain(found.fs_hz, "Hz", 4),
        )
        yield Step(
            "How it is damped",
            "Qms = fs sqrt(r0) / (f2 - f1), Qes = Qms / (r0 - 1), Qts = Qms / r0",
            f"Qms {found.qms:.4f}, Qes {found.qes:.4f}, Qts {found.qts:.4f}",
        )

    def _curve(self, total: float, known: float) -> Curve:
        found = []
        for _, cells in rows_of(self.table, _COLUMNS):
            open_ = peak_to_peak(cells["known"]) * (total + known) / known
            q = min(peak_to_peak(cells["across"]) / open_, 0.999999)
            found.append((cells["frequency"].value, total * q / (1.0 - q)))
        return found

    def _ohm(self, view: View, key: str) -> float:
        value = getattr(self, key)
        if isinstance(value, Quantity):
            return value.value
        return view.value((str(value), "resistance")) or 0.0

    def _driver(self, desk: Desk, at: str) -> tuple[Id, Id]:
        part = desk.part(self.part)
        rated = part.stated.value if part.stated is not None else 8.0
        size = desk.unknown(
            (self.part, f"impedance at {at}"), "log", Prior(log(rated), SIZE_U), nuisance=False
        )
        return size, desk.unknown((self.part, f"cosine at {at}"), "logit", IN_STEP)

    def _row(
        self,
        desk: Desk,
        written: Quantity,
        what: tuple[Function, tuple[Id, ...], str],
        told: tuple[int, float],
    ) -> Row:
        on = screen(desk, self)
        read = on.read(written)
        causes, own = shown(desk, on, written, read, self.name)
        excess = [*causes.excess, (ZERO, 0.0), (ZERO, 0.0)][:2]
        function, of, label = what
        model = Formula(
            function,
            (*of, *(one for one, _ in excess)),
            tuple(weight for _, weight in excess),
            tuple((one, 1.0) for one in causes.gains),
            told[1],
        )
        variance = own.u**2
        return Row(self.name, label, read.vpp, variance, own.shape, model, own.grid, told[0])

    def _owner(self, desk: Desk, key: str) -> str:
        value: Quantity | str = getattr(self, key)
        own = f"{self.name}: {'known ' if key == 'known' else ''}resistor"
        return desk.named_or_stated(own, "resistance", value)
