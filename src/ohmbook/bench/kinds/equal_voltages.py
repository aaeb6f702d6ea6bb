"""`equal voltages`: the frequency at which a part and a resistor in series show the same voltage.

There |Z| = R, so an ideal coil is L = R / (2 pi f) and an ideal capacitor C = 1 / (2 pi f R). A
poor meter will do, because only equality matters. Each of the two is then 0.707 of both together,
not half.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sqrt
from typing import ClassVar, Literal, Self

from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import frequency
from ohmbook.bench.in_series import ON_PART, ON_RESISTOR, InSeries
from ohmbook.bench.kind import Candidate, Connection, FormWords, View
from ohmbook.bench.layout import Look
from ohmbook.bench.probing import hertz_words, usual_scope, usual_source
from ohmbook.bench.row import Row
from ohmbook.bench.screens import Ratio
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import RelativeAccuracy
from ohmbook.documents.setup import SetUp
from ohmbook.units.show import show_plain

UNSTATED = 0.01
"""Limits within which two voltages are called equal; common practice, no source."""


class EqualVoltages(InSeries):
    """The frequency of equal voltages; `within` is how well they were seen to be equal."""

    form: ClassVar[FormWords] = FormWords(
        heading="Equal voltages",
        does="A coil or a capacitor from the frequency at which it shows the same voltage as a "
        "known resistor in series. A poor meter will do.",
        labels={
            "resistor": "The resistor in series",
            "frequency": "Frequency at which both show the same",
            "within": "How well they were seen to be equal",
        },
        helps={
            "frequency": "compare the two with each other, never with the generator",
            "within": "1 % is taken where it stays empty",
        },
        order=("part", "resistor", "frequency", "within"),
        results=("frequency",),
    )

    kind: Literal["equal voltages"]
    within: RelativeAccuracy | None = None

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The two in series, read across each."""
        title = f"{self.part} in series with a known resistor, both read"
        return (self.connected(desk, (ON_PART, ON_RESISTOR), title),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """Their ratio is 1."""
        limit = UNSTATED if self.within is None else self.within.relative
        if self.within is None:
            desk.find(
                "assumption",
                f"{self.name}: nothing says how well its voltages were seen to be equal; 1 % is "
                'taken (write within = "2 %" where it was less)',
                readings=[self.name],
            )
        shift = frequency(desk, self, self.frequency)
        look = Look(self.set_ups(desk)[0].network, self.frequency.value, shift)
        label = f"{self.name}: {self.part} and the resistor alike at " + show_plain(
            self.frequency.value, "Hz"
        )
        u = max(limit / sqrt(3.0), 1e-6)
        return [Row(self.name, label, 1.0, u**2, "rectangle", Ratio(look), unit="1")]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:  # noqa: ARG002
        """At the frequency that is written: they are equal there."""
        return self, {"frequency": show_plain(self.frequency.value, "Hz")}

    def working(self, view: View) -> Working | None:
        """X from R, less the part's own resistance, and the value."""
        kind = view.kind(self.part)
        if kind not in ("inductor", "capacitor"):
            return None
        ohm = self.resistor_ohm(view.value((str(self.resistor), "resistance")))
        own = view.value((self.part, "resistance")) or 0.0
        reactance = sqrt(max(ohm**2 - own**2, 0.0))
        w = 2.0 * pi * self.frequency.value
        coil = kind == "inductor"
        value = reactance / w if coil else 1.0 / (w * reactance) if reactance else 0.0
        unit: Literal["H", "F"] = "H" if coil else "F"
        settled = view.at(self.part, self.frequency.value) or value
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            (
                Step(
                    "Equal voltages, equal sizes: the part's |Z| is the resistor's R",
                    f"X = sqrt(R^2 - r^2), R = {show_plain(ohm, 'ohm', 4)}, "
                    f"r = {show_plain(own, 'ohm')}",
                    show_plain(reactance, "ohm", 4),
                ),
                Step(
                    "From reactance to the value",
                    "L = X / (2 pi f)" if coil else "C = 1 / (2 pi f X)",
                    show_plain(value, unit, 4),
                ),
            ),
            "equal-voltage method, L = R / (2 pi f); voltage divider, any textbook",
            "Each of the two is 0.707 of both together, not half: compare them with each other, "
            f"never with the source. The full model says {show_plain(settled, unit, 4)}.",
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        """Each coil and capacitor alone with each known resistor that is not on the board."""
        source, scope = usual_source(desk.sheet), usual_scope(desk.sheet)
        alone = {name: one.kind for name, one in desk.sheet.parts.items() if one.between is None}
        if source is None or scope is None:
            return ()
        found = []
        for part in (name for name, kind in alone.items() if kind in ("inductor", "capacitor")):
            for resistor in (name for name, kind in alone.items() if kind == "resistor"):
                value, ohm = view.at(part, 1000.0), view.value((resistor, "resistance"))
                if value and ohm:
                    x = ohm / (2 * pi * value), 1.0 / (2 * pi * value * ohm)
                    f_hz = x[0] if alone[part] == "inductor" else x[1]
                    if 20.0 <= f_hz <= 2e5:
                        found.append(cls._candidate((part, resistor), (source, scope), f_hz))
        return found

    @classmethod
    def _candidate(cls, parts: tuple[str, str], tools: tuple[str, str], f_hz: float) -> Candidate:
        said = {"kind": "equal voltages", "part": parts[0], "resistor": parts[1]}
        said["source"] = tools[0]
        name = f"next: {parts[0]} against {parts[1]}"
        near = hertz_words(float(f"{f_hz:.4g}"))
        guess = {"frequency": near, "instrument": tools[1], "within": "1 %", "name": name}
        words = (
            f"{parts[1]} and {parts[0]} in series across {tools[0]}: find the frequency near "
            f"{show_plain(f_hz, 'Hz', 2)} at which both show the same voltage"
        )
        return Candidate(
            cls.model_validate({**said, **guess}),
            {**said, "frequency": "", "within": "1 %"},
            2.0,
            words,
            connection=Connection(name, 1.0),
        )
