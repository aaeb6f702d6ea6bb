"""`three voltages`: a resistor and a part in series; both, the resistor and the part are read.

Three magnitudes make a triangle, which has an angle:

    cos phi = (V^2 - V_R^2 - V_Z^2) / (2 V_R V_Z)

so a meter without phase finds resistance and reactance (the three-voltmeter method).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log, pi, sqrt
from typing import ClassVar, Literal, Self

from ohmbook.bench import priors
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import frequency
from ohmbook.bench.in_series import ON_BOTH, ON_PART, ON_RESISTOR, InSeries
from ohmbook.bench.kind import FormWords, View
from ohmbook.bench.layout import Look
from ohmbook.bench.row import Row
from ohmbook.bench.screen import Driven, amplitude_row, screen
from ohmbook.bench.volts import peak_to_peak, said_vpp
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import SomeVolts
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.parse import parse_quantity
from ohmbook.units.show import show_plain

SLACK = 1.06
"""How far three voltages may miss a triangle before they are refused: two gains of 3 %."""


class ThreeVoltages(InSeries):
    """Three amplitudes around a resistor and a part in series."""

    form: ClassVar[FormWords] = FormWords(
        heading="Three voltages around a resistor",
        does="A part's resistance and reactance from three voltages, with a meter that knows no "
        "phase.",
        labels={
            "resistor": "The resistor in series",
            "both": "Voltage across both",
            "across_resistor": "Voltage across the resistor",
            "across_part": "Voltage across the part",
        },
        helps={"both": "at the two ends of resistor and part, not the generator's setting"},
        order=("part", "resistor", "frequency", "both", "across_resistor", "across_part"),
        results=("both", "across_resistor", "across_part"),
    )

    kind: Literal["three voltages"]
    both: SomeVolts
    across_resistor: SomeVolts
    across_part: SomeVolts

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """Three sides of a triangle."""
        yield from super().check(sheet)
        both, one, other = (peak_to_peak(v) for v in self._volts())
        longest = max(both, one, other)
        if longest > SLACK * (both + one + other - longest):
            told = f'"{self.both.text}", "{self.across_resistor.text}", "{self.across_part.text}"'
            yield Problem(
                ("both",),
                f"{told} are no triangle: one is more than the other two together; expected the "
                "voltage across both, across the resistor and across the part, in one convention",
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The two in series, read at three places."""
        places = (ON_BOTH, ON_RESISTOR, ON_PART)
        return (self.connected(desk, places, f"{self.part} in series with a known resistor"),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """Three amplitudes; only their ratios count, for the source's own is unknown."""
        look = Look(
            self.set_ups(desk)[0].network,
            self.frequency.value,
            frequency(desk, self, self.frequency),
        )
        vpp = screen(desk, self).read(self.both).vpp
        prior = Prior(log(vpp), priors.OPEN_AMPLITUDE_FACTOR)
        emf = desk.unknown((self.name, "open"), "log", prior)
        words = ("both", "the resistor", self.part)
        at = show_plain(self.frequency.value, "Hz")
        return [
            amplitude_row(
                desk,
                self,
                written,
                Driven(f"{self.name}: across {word} at {at}", emf, (), look, k),
            )
            for k, (written, word) in enumerate(zip(self._volts(), words, strict=True))
        ]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the amplitude across the part that it should show."""
        across = parse_quantity(f"{value:.4g} Vpp", "V")
        return self.model_copy(update={"across_part": across}), {"across_part": said_vpp(value)}

    def working(self, view: View) -> Working | None:
        """The triangle's angle, the current, and the part from them."""
        ohm = self.resistor_ohm(view.value((str(self.resistor), "resistance")))
        both, one, other = (peak_to_peak(v) for v in self._volts())
        cosine = (both**2 - one**2 - other**2) / (2.0 * one * other)
        size = ohm * other / one
        resistance, reactance = size * cosine, size * sqrt(max(1.0 - cosine**2, 0.0))
        steps = (
            Step(
                "The triangle's angle",
                f"cos phi = (V^2 - VR^2 - VZ^2) / (2 VR VZ), V = {self.both.text}, "
                f"VR = {self.across_resistor.text}, VZ = {self.across_part.text}",
                f"{cosine:.4f}",
            ),
            Step(
                "The same current flows through both",
                f"|Z| = R VZ / VR with R = {show_plain(ohm, 'ohm', 4)}",
                show_plain(size, "ohm", 4),
            ),
            Step("In step", "R_Z = |Z| cos phi", show_plain(resistance, "ohm", 4)),
            Step("A quarter apart", "X = |Z| sin phi", show_plain(reactance, "ohm", 4)),
            *self._value_step(view, reactance),
        )
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            steps,
            "three-voltmeter method, any textbook of electrical measurement",
            "Where the angle is near a quarter turn its cosine is a small difference of large "
            "numbers: the resistance is then poorly known, the reactance well. Gains that the "
            "three readings share cancel; those of their ranges do not.",
        )

    def _value_step(self, view: View, reactance: float) -> Iterable[Step]:
        w, kind = 2.0 * pi * self.frequency.value, view.kind(self.part)
        if kind == "inductor":
            yield Step("To inductance", "L = X / (2 pi f)", show_plain(reactance / w, "H", 4))
        elif kind == "capacitor" and reactance:
            value = 1.0 / (w * reactance)
            yield Step("To capacitance", "C = 1 / (2 pi f X)", show_plain(value, "F", 4))

    def _volts(self) -> tuple[SomeVolts, SomeVolts, SomeVolts]:
        return self.both, self.across_resistor, self.across_part
