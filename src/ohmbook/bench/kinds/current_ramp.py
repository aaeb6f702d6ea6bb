"""`current ramp`: a steady voltage switched onto a coil, its current read on a shunt as it rises.

    V = L di/dt,  so  L = V / (di/dt)

less what is lost in resistance. Where an iron or ferrite core saturates the ramp bends upwards:
the current at which the inductance has fallen by 10, 20 and 30 % is what tells of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import log
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.columns import column_problems, rows_of
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.ramps import current_at, shunt_volts
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen, shown
from ohmbook.bench.tables import filled_table
from ohmbook.bench.volts import Amplitude, likely_range, step_of
from ohmbook.bench.worked import Formula, entered
from ohmbook.circuit.network import REFERENCE_HZ, Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Ohms, OhmsOrPart, SomeVolts, TableText
from ohmbook.documents.part import Inductor
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity, Unit
from ohmbook.units.show import show_plain

AT_30 = "current at -30 %"
BEND = "bend"
BEND_PRIOR = Prior(log(3.0), log(1.6))
"""How sharply a core saturates; common practice, no source."""

AT_30_U = log(5.0)
NEVER_A = 1e9
COARSE = 20.0
"""Read-out steps below which a whole ramp is too small on the screen to tell its slope."""

_COLUMNS: dict[str, Unit] = {"time": "s", "shunt": "V"}


class CurrentRamp(Reading):
    """The voltage on a shunt, time by time, after a steady voltage was switched onto a coil."""

    uses_source: ClassVar[bool] = False

    form: ClassVar[FormWords] = FormWords(
        heading="A current ramp",
        does="A coil's inductance as its current grows, and where its core saturates.",
        labels={
            "voltage": "The steady voltage",
            "shunt": "The shunt",
            "series": "What else is in series",
            "table": "Time and shunt voltage",
        },
        helps={
            "table": "time/us shunt/mV, from the moment of switching on",
            "series": "the switch and the supply; leave it empty if there is none",
            "voltage": "at the coil's side of the supply, while the current flows",
        },
        order=("part", "voltage", "shunt", "series", "table"),
        results=("table",),
        seldom=("series",),
    )

    kind: Literal["current ramp"]
    part: str
    voltage: SomeVolts
    shunt: OhmsOrPart
    series: Ohms | None = None
    table: TableText

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A coil, a shunt, times that grow."""
        kind = sheet.parts[self.part].kind
        if kind != "inductor":
            yield Problem(("part",), f"{self.part} is a {kind}; expected a coil")
        if isinstance(self.shunt, str) and sheet.parts[self.shunt].kind != "resistor":
            yield Problem(("shunt",), f'"{self.shunt}" is not a resistor; expected one')
        if isinstance(self.shunt, Quantity) and self.shunt.value == 0.0:
            yield Problem(
                ("shunt",), f'"{self.shunt.text}" shows no current; expected such as "0.1 ohm"'
            )
        if self.voltage.convention is not None:
            yield Problem(
                ("voltage",),
                f'"{self.voltage.text}": a steady voltage is neither peak to peak nor rms; '
                'expected such as "12.0 V"',
            )
        found = list(column_problems(self.table, _COLUMNS, ("shunt",)))
        yield from found
        if not found:
            yield from self._order_problems()

    def _order_problems(self) -> Iterable[Problem]:
        rows = rows_of(self.table, _COLUMNS)
        for (_, one), (number, after) in pairwise(rows):
            if after["time"].value <= one["time"].value:
                yield Problem(
                    ("table",),
                    f'"{after["time"].text}" is not later than "{one["time"].text}"; expected '
                    "times that grow, from the moment of switching on",
                    number,
                )
        for number, cells in rows:
            read = cells.get("shunt")
            if read is not None and not 0.0 <= read.value < self.voltage.value:
                yield Problem(
                    ("table",),
                    f'"{read.text}" on the shunt cannot be with "{self.voltage.text}" across '
                    "all; expected between 0 and that",
                    number,
                )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Supply, coil and shunt in one loop; the scope on the shunt."""
        on = screen(desk, self)
        probe: Pair = ("x", "com")
        branches = (
            desk.branch(self.part, ("out", "x")),
            Branch(self._shunt(desk), "resistor", probe),
        )
        network = Network(branches, Drive(("out", "com")), (probe,))
        scope = on.name or "scope"
        clips = (
            Clip("source", "supply", "+", "out"),
            Clip("source", "supply", "-", "com"),
            Clip("scope", scope, "tip", "x"),
            Clip("scope", scope, "ground", "com"),
        )
        told = (cautions.KICK, cautions.SHORT_PULSES, cautions.SCOPE_EARTH)
        title = f"a steady voltage switched onto {self.part}, probe on the shunt"
        return (SetUp(title, network, clips, told),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each time."""
        cells = [one for one in rows_of(self.table, _COLUMNS) if "shunt" in one[1]]
        longest = max(one["time"].value for _, one in cells)
        at_hz = 1.0 / (4.0 * longest)
        highest = max(one["shunt"].value for _, one in cells)
        range_v = likely_range(highest)
        self._tell_coarse(desk, highest, range_v)
        of = self._ids(desk, highest)
        octave = log(at_hz / REFERENCE_HZ)
        return [self._row(desk, of, one, (octave, at_hz, range_v)) for one in cells]

    def _row(
        self,
        desk: Desk,
        of: tuple[Id, ...],
        cell: tuple[int, dict[str, Quantity]],
        told: tuple[float, float, float],
    ) -> Row:
        number, read = cell
        octave, at_hz, range_v = told
        time, written = read["time"].value, read["shunt"]
        on = screen(desk, self)
        range_v = written.per_division or range_v
        size = Amplitude(written.value, 1.0, range_v, written.per_division is None)
        causes, own = shown(desk, on, written, size, self.name)
        clock = (
            ()
            if on.scope is None or on.scope.frequency is None
            else ((desk.limits((on.name, "frequency"), on.scope.frequency.relative), -1.0),)
        )
        errors = (*((one, 1.0) for one in causes.gains), *clock)
        model = Formula(shunt_volts, of, (time, octave), errors, at_hz)
        label = f"{self.name}: shunt after {show_plain(time, 's')}"
        return Row(self.name, label, written.value, own.u**2, own.shape, model, own.grid, number)

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the last voltage it should show."""
        return self, {"table": f"{show_plain(value, 'V')} at last"}

    def expecting_each(self, values: Sequence[float]) -> Self:
        """With every voltage it should show."""
        return self.model_copy(update={"table": filled_table(self.table, values)})

    def working(self, view: View) -> Working | None:
        """The slope of the first two rows, and what that makes; then where the core gives in."""
        cells = [one for _, one in rows_of(self.table, _COLUMNS) if "shunt" in one]
        ohm = (
            self.shunt.value
            if isinstance(self.shunt, Quantity)
            else view.value((str(self.shunt), "resistance"))
        )
        if not ohm:
            return None
        first = cells[0]
        current, time = first["shunt"].value / ohm, first["time"].value
        if not current:
            return None
        slope = current / time
        steps = [
            Step(
                "The current on the shunt",
                f"i = {first['shunt'].text} / {show_plain(ohm, 'ohm')}",
                show_plain(current, "A", 4),
            ),
            Step(
                "How fast it rises at first",
                f"di/dt = {show_plain(current, 'A', 4)} / {first['time'].text}",
                f"{slope:.4g} A/s",
            ),
            Step(
                "From the slope to inductance",
                f"L = V / (di/dt) = {self.voltage.text} / {slope:.4g} A/s",
                show_plain(self.voltage.value / slope, "H", 4),
            ),
        ]
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            tuple(steps),
            "V = L di/dt, any textbook",
            self._bent(view, max(one["shunt"].value for one in cells) / ohm),
        )

    def _bent(self, view: View, highest: float) -> str:
        words = "The full model takes off what is lost in resistance and follows the bend. "
        i_30, bend = view.value((self.part, AT_30)), view.value((self.part, BEND))
        if i_30 is None or bend is None or i_30 >= NEVER_A:
            return f"{words}An air coil does not saturate."
        found = [(fall, current_at(fall, i_30, bend)) for fall in (0.1, 0.2, 0.3)]
        seen = [one for one in found if one[1] <= highest]
        if not seen:
            told = show_plain(highest, "A", 2)
            return f"{words}Up to {told} its inductance has not fallen by 10 %."
        told = ", ".join(f"by {100 * fall:.0f} % at {show_plain(i, 'A', 2)}" for fall, i in seen)
        return f"{words}The inductance has fallen {told}."

    def _ids(self, desk: Desk, highest: float) -> tuple[Id, ...]:
        part = desk.part(self.part)
        shunt: Id = (self._shunt(desk), "resistance")
        ohm = self.shunt.value if isinstance(self.shunt, Quantity) else 0.1
        if isinstance(part, Inductor) and part.core != "air":
            i_30 = desk.unknown(
                (self.part, AT_30), "log", Prior(log(highest / ohm), AT_30_U), nuisance=False
            )
            bend = desk.unknown((self.part, BEND), "log", BEND_PRIOR)
        else:
            i_30 = desk.constant((self.part, AT_30), NEVER_A)
            bend = desk.constant((self.part, BEND), 3.0)
        known = (*desk.unknowns, *desk.constants)
        own = [
            entered(known, (self.part, quantity), ZERO)
            for quantity in ("inductance", "resistance", "loss")
        ]
        series = ZERO
        if self.series is not None:
            series = desk.stated(f"{self.name}: in series", "resistance", self.series)
        volts = desk.stated(f"{self.name}: supply", "voltage", self.voltage)
        return (*own, i_30, bend, shunt, series, volts)

    def _tell_coarse(self, desk: Desk, highest: float, range_v: float) -> None:
        on = screen(desk, self)
        if on.scope is None:
            return
        step = step_of(on.scope, Amplitude(highest, 1.0, range_v, True))
        if step and highest < COARSE * step:
            desk.find(
                "caution",
                f"{self.name}: the whole ramp is {highest / step:.0f} steps of the screen; a finer "
                "vertical range shows its slope, and what looks like a ramp may be something else",
                readings=[self.name],
            )

    def _shunt(self, desk: Desk) -> str:
        return desk.named_or_stated(f"{self.name}: shunt", "resistance", self.shunt)
