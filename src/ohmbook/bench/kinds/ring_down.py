"""`ring-down`: how a coil and a capacitor ring after a kick: frequency, and peaks or decay.

The loop rings at s = -d + j w with w = 2 pi f, and in the plain case (one resistance R)

    L = 1 / (C (w^2 + d^2)),    R = 2 L d,    Q = pi f / d

The model finds s on the loop with losses, winding and probe capacitance.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import log, pi
from typing import ClassVar, Literal, Self

from pydantic import StrictBool, field_validator

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import counted_in, owners_of, probe_load
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.loops import decay_s, peak_volts, ring_hz
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen, shown
from ohmbook.bench.tank import pair_problems, resistor_problems
from ohmbook.bench.times import as_read, shared_clock
from ohmbook.bench.worked import Formula, entered
from ohmbook.circuit.network import Branch, Drive, Id, Network
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import OhmsOrPart, SomeHertz, SomeSeconds, SomeVolts
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.parse import parse_quantity
from ohmbook.units.show import show_plain

UNSTATED, DECAY_UNSTATED = 0.01, 0.05
"""Limits, relative, of a frequency counted on the screen and of a decay read there, where nothing
is stated; common practice, no source."""

_BETWEEN = re.compile(r"\s*;\s*|,\s+|\n")
"""What stands between two peaks in one text; a comma without a space may be a decimal one."""

FIRST_PEAK = Prior(0.0, log(10.0))


class RingDown(Reading):
    """The ringing of a coil with a known capacitor, or the other way round."""

    uses_source: ClassVar[bool] = True

    form: ClassVar[FormWords] = FormWords(
        heading="Ringing after a kick",
        does="A coil from a known capacitor, or the other way round, from how the two ring when "
        "left alone, and how fast that dies away.",
        labels={
            "partner": "With which known part",
            "resistor": "A resistor in the loop",
            "through_source": "The generator stays in the loop",
            "frequency": "Frequency of the ringing",
            "peaks": "Peaks, one period after the other",
            "decay": "Time until a third is left (1/e)",
        },
        helps={
            "peaks": "such as 1.00 V, 0.82 V, 0.67 V: all on one side, above the line that the "
            "ringing ends on",
            "frequency": "count several periods",
            "decay": "0.368 of the first peak",
        },
        order=("part", "partner", "frequency", "peaks", "decay", "resistor", "through_source"),
        results=("frequency", "peaks", "decay"),
        seldom=("resistor", "through_source"),
    )

    kind: Literal["ring-down"]
    part: str
    partner: str
    resistor: OhmsOrPart | None = None
    through_source: StrictBool = False
    frequency: SomeHertz
    peaks: tuple[SomeVolts, ...] | None = None
    decay: SomeSeconds | None = None

    @field_validator("peaks", mode="before")
    @classmethod
    def _listed(cls, value: object) -> object:
        """A list, or one text with the peaks one after the other, as a form has it."""
        if not isinstance(value, str):
            return value
        return tuple(one.strip() for one in _BETWEEN.split(value) if one.strip()) or None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A coil and a capacitor; peaks that fall."""
        yield from pair_problems(self, sheet, self.part, self.partner)
        yield from resistor_problems(self.resistor, sheet)
        if self.peaks is not None and len(self.peaks) < 2:
            yield Problem(
                ("peaks",), "one peak says nothing of the decay; expected two or more, in order"
            )
        if self.peaks is not None and self.decay is not None:
            yield Problem(
                ("decay",), "the peaks tell the decay already; expected either peaks or decay"
            )
        for k, (one, after) in enumerate(pairwise(self.peaks or ())):
            if after.value > one.value:
                yield Problem(
                    ("peaks", k + 1),
                    f'"{after.text}" is above the peak before it, "{one.text}"; expected '
                    "successive peaks on one side, each a period after the other, above the "
                    "line they ring down to",
                )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The loop, and the scope across the capacitor."""
        source, _ = desk.source(self)
        on = screen(desk, self)
        capacitor = self._capacitor(desk)
        coil = self.part if capacitor == self.partner else self.partner
        ends = "out" if self.resistor is None else "y"
        loop = [desk.branch(coil, (ends, "x")), desk.branch(capacitor, ("x", "com"))]
        if self.resistor is not None:
            loop.append(Branch(self._resistor(desk), "resistor", ("out", "y")))
        load = probe_load(desk, on, ("x", "com"))
        network = Network((*loop, *load), Drive(("out", "com"), source), (("x", "com"),))
        scope = on.name or "scope"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", scope, "tip", "x"),
            Clip("scope", scope, "ground", "com"),
        )
        how = "kicked by a slow square wave" if self.through_source else "kicked, then left alone"
        return (
            SetUp(
                f"{self.part} with {self.partner}, {how}",
                network,
                clips,
                (cautions.DISCHARGE, cautions.KICK, cautions.SCOPE_EARTH),
                counted_in((), load),
                owners_of(load),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The peaks or the decay, and the frequency."""
        loop = self._loop(desk)
        rows = self._peak_rows(desk, loop)
        if self.decay is not None:
            model = Formula(decay_s, loop, (), shared_clock(desk, self, self.decay))
            u, shape = as_read(desk, self, self.decay, DECAY_UNSTATED, "decay")
            label = f"{self.name}: decay of {self.part} with {self.partner}"
            rows.append(Row(self.name, label, self.decay.value, u**2, shape, model, unit="s"))
        f = self.frequency
        model = Formula(ring_hz, loop, (), shared_clock(desk, self, f), f.value)
        u, shape = as_read(desk, self, f, UNSTATED, "frequency")
        label = f"{self.name}: ringing of {self.part} with {self.partner}"
        return [*rows, Row(self.name, label, f.value, u**2, shape, model, unit="Hz")]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the frequency it should ring at."""
        frequency = parse_quantity(f"{value:.6g} Hz", "Hz")
        return self.model_copy(update={"frequency": frequency}), {
            "frequency": show_plain(value, "Hz")
        }

    def working(self, view: View) -> Working | None:
        """Decay, then the unknown one of the two, then Q and the loop's resistance."""
        known = view.at(self.partner, self.frequency.value)
        if known is None:
            return None
        rate, steps = self._rate()
        w = 2.0 * pi * self.frequency.value
        by_hand = 1.0 / (known * (w**2 + rate**2))
        coil = view.kind(self.part) == "inductor"
        letters, unit = ("LC", "H") if coil else ("CL", "F")
        other = show_plain(known, "F" if coil else "H", 4)
        told: Literal["H", "F"] = "H" if unit == "H" else "F"
        steps.append(
            Step(
                "Frequency and decay make the resonance",
                f"{letters[0]} = 1 / ({letters[1]} (w^2 + d^2)), {letters[1]} = {other}",
                show_plain(by_hand, told, 4),
            )
        )
        if rate:
            henry = by_hand if coil else known
            q = pi * self.frequency.value / rate
            steps.append(Step("How long it rings", "Q = pi f / d", f"{q:.3g}"))
            ohms = show_plain(2.0 * henry * rate, "ohm", 4)
            steps.append(Step("All resistance in the loop", "R = 2 L d", ohms))
        settled = view.at(self.part, self.frequency.value) or by_hand
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            tuple(steps),
            "damped oscillation of R, L and C, any textbook",
            f"{self.partner}'s own doubt passes one to one to {self.part}; probe and winding add "
            "to the capacitance, and the decay holds at this level only where the core is iron or "
            f"ferrite. The full model says {show_plain(settled, told, 4)}.",
        )

    def _rate(self) -> tuple[float, list[Step]]:
        """The decay rate d, 1/s, and the step that finds it; 0 where none was read."""
        if self.decay is not None:
            rate = 1.0 / self.decay.value
            return rate, [Step("The decay rate", f"d = 1 / {self.decay.text}", f"{rate:.4g} 1/s")]
        if not self.peaks:
            return 0.0, []
        first, last, n = self.peaks[0], self.peaks[-1], len(self.peaks) - 1
        decrement = log(first.value / last.value) / n
        rate = decrement * self.frequency.value
        return rate, [
            Step(
                "The logarithmic decrement, from the first peak to the last",
                f"ln({first.text} / {last.text}) / {n}",
                f"{decrement:.4f}",
            ),
            Step("The decay rate", "d = decrement x f", f"{rate:.4g} 1/s"),
        ]

    def _peak_rows(self, desk: Desk, loop: tuple[Id, ...]) -> list[Row]:
        if not self.peaks:
            return []
        on = screen(desk, self)
        centre = log(max(on.read(self.peaks[0]).vpp, 1e-6))
        first = desk.unknown((self.name, "first peak"), "log", Prior(centre, FIRST_PEAK.u))
        rows = []
        for n, written in enumerate(self.peaks):
            read = on.read(written)
            causes, own = shown(desk, on, written, read, self.name)
            errors = tuple((one, 1.0) for one in causes.gains)
            model = Formula(peak_volts, (first, *loop), (float(n),), errors)
            label = f"{self.name}: peak {n + 1}"
            rows.append(Row(self.name, label, read.vpp, own.u**2, own.shape, model, own.grid))
        return rows

    def _loop(self, desk: Desk) -> tuple[Id, ...]:
        """What `natural` wants, in order; what is not there is 0."""
        capacitor = self._capacitor(desk)
        coil = self.part if capacitor == self.partner else self.partner
        desk.part(coil)
        source, _ = desk.source(self)
        load = probe_load(desk, screen(desk, self), ("x", "com"))
        probe = desk.same[(load[0].owner, "capacitance")] if load else ZERO
        known = {**desk.unknowns, **dict.fromkeys(desk.constants)}
        wanted = [
            (coil, "inductance"), (coil, "resistance"), (coil, "loss"),
            (coil, "winding_capacitance"), (capacitor, "capacitance"), (capacitor, "resistance"),
            (capacitor, "loss"),
        ]  # fmt: skip
        resistor = ZERO if self.resistor is None else (self._resistor(desk), "resistance")
        through: Id = (source, "resistance") if self.through_source else ZERO
        values = [entered(tuple(known), one, ZERO) for one in wanted]
        return (*values, probe, resistor, through)

    def _capacitor(self, desk: Desk) -> str:
        return self.part if desk.part(self.part).kind == "capacitor" else self.partner

    def _resistor(self, desk: Desk) -> str:
        assert self.resistor is not None
        return desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
