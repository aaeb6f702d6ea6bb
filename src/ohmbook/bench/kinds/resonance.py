"""`resonance`: where a coil and a capacitor peak or dip, and how wide 3 dB are.

In series the current is largest at f = 1 / (2 pi sqrt(L C)), with the width R / (2 pi L) between
its half-power points; in parallel the voltage is. The extreme is looked for on the circuit as
connected, so series resistances, losses, winding and probe capacitance and the source's own
resistance shift and widen it as they do on the bench.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import pi, sqrt
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import counted_in, owners_of, probe_load
from ohmbook.bench.kind import Candidate, Connection, FormWords, Reading, View
from ohmbook.bench.layout import Look
from ohmbook.bench.probing import usual_scope, usual_source
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen
from ohmbook.bench.tank import Wiring, main_ids, pair_problems, resistor_problems
from ohmbook.bench.times import shared_clock
from ohmbook.bench.worked import Extreme
from ohmbook.circuit.network import Drive, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import OhmsOrPart, SomeHertz
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

FLAT = 0.07
"""How far from the extreme, as a share of the 3 dB width, the amplitude has changed by 1 %."""

UNSTATED = 0.01
WIDTH_UNSTATED = 0.05
"""Limits of a frequency found by eye and of a width between two of them, where nothing is stated;
common practice, no source."""


class Resonance(Reading):
    """The frequency at which two joined parts peak or dip, and the -3 dB width there."""

    form: ClassVar[FormWords] = FormWords(
        heading="A resonance",
        does="A coil from a known capacitor, or a capacitor from a known coil: the frequency at "
        "which the two together peak or dip, and how wide that is.",
        labels={
            "partner": "With which known part",
            "connected": "The two are in",
            "resistor": "A resistor in series",
            "probe_on": "The probe is across",
            "frequency": "Frequency of the peak or dip",
            "width": "Width where it has changed by 3 dB",
        },
        helps={
            "partner": "its own doubt passes one to one to the part",
            "width": "between the two frequencies with 0.707 of a peak, or 1.41 of a dip",
            "resistor": "besides the generator's own resistance; leave it empty if there is none",
        },
        order=("part", "partner", "connected", "resistor", "probe_on", "frequency", "width"),
        results=("frequency", "width"),
    )

    kind: Literal["resonance"]
    part: str
    partner: str
    connected: Literal["series", "parallel"] = "series"
    resistor: OhmsOrPart | None = None
    probe_on: Literal["both", "resistor", "part", "partner"] = "both"
    frequency: SomeHertz
    width: SomeHertz | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A coil and a capacitor, a resistance somewhere, a width that can be."""
        yield from pair_problems(self, sheet, self.part, self.partner)
        yield from resistor_problems(self.resistor, sheet)
        if self.probe_on == "resistor" and self.resistor is None:
            yield Problem(
                ("probe_on",),
                'the probe is on "resistor" but no resistor is stated; '
                'expected resistor = "100.2 ohm"',
            )
        if self.connected == "parallel" and self.probe_on in ("part", "partner"):
            yield Problem(
                ("probe_on",), 'in parallel both parts have the same voltage; expected "both"'
            )
        source = sheet.sources[self.source or ""].resistance
        if source is not None and source.value == 0.0 and self.resistor is None:
            yield Problem(
                ("resistor",),
                f"{self.source} has no resistance, so nothing shows a resonance; expected a "
                'resistor in series, such as resistor = "100.2 ohm"',
            )
        if self.width is not None and self.width.value >= 2.0 * self.frequency.value:
            yield Problem(
                ("width",),
                f'"{self.width.text}" wide at "{self.frequency.text}" is no resonance; expected '
                "the distance between the two frequencies where the amplitude is 3 dB from it",
            )

    @property
    def _largest(self) -> bool:
        dips = (self.connected == "series") == (self.probe_on == "both")
        return not dips

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor if any, and the two parts; the scope on what is read."""
        source, _ = desk.source(self)
        on = screen(desk, self)
        wiring = self._wiring(desk)
        probe: Pair = (wiring.tip, "com")
        load = probe_load(desk, on, probe)
        network = Network((*wiring.branches(desk), *load), Drive(("out", "com"), source), (probe,))
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", on.name or "scope", "tip", wiring.tip),
            Clip("scope", on.name or "scope", "ground", "com"),
        )
        what = f"{self.part} and {self.partner}"
        read = {"both": what, "resistor": "the resistor"}.get(
            self.probe_on, getattr(self, self.probe_on, what)
        )
        return (
            SetUp(
                f"{what} in {self.connected}, probe across {read}",
                network,
                clips,
                (cautions.DISCHARGE, cautions.RESONANT_VOLTS, cautions.SCOPE_EARTH),
                counted_in((), load),
                owners_of(load),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The width, where it was read, and the frequency."""
        look = Look(self.set_ups(desk)[0].network, self.frequency.value)
        where = f"{self.part} with {self.partner}"
        rows = []
        if self.width is not None:
            label = f"{self.name}: -3 dB width of {where}"
            rows.append(self._row(desk, look, self.width, label))
        label = f"{self.name}: {'peak' if self._largest else 'dip'} of {where}"
        return [*rows, self._row(desk, look, self.frequency, label)]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the frequency it should be found at."""
        frequency = parse_quantity(f"{value:.6g} Hz", "Hz")
        return self.model_copy(update={"frequency": frequency}), {
            "frequency": show_plain(value, "Hz")
        }

    def expecting_each(self, values: Sequence[float]) -> Self:
        """With the width too."""
        found = self.expecting(values[-1])[0]
        if self.width is None:
            return found
        width = parse_quantity(f"{values[0]:.6g} Hz", "Hz")
        return found.model_copy(update={"width": width})

    def working(self, view: View) -> Working | None:
        """The unknown one of the two from the other, and the resistance from the width."""
        coil = view.kind(self.part) == "inductor"
        known = view.at(self.partner, self.frequency.value)
        if known is None:
            return None
        w = 2.0 * pi * self.frequency.value
        by_hand = 1.0 / (w**2 * known)
        letters = ("L", "C") if coil else ("C", "L")
        units: tuple[Literal["H", "F"], Literal["H", "F"]] = ("H", "F") if coil else ("F", "H")
        steps = [
            Step(
                "At resonance the two reactances are equal",
                f"{letters[0]} = 1 / ((2 pi f)^2 {letters[1]}) = 1 / ((2 pi "
                f"{self.frequency.text})^2 {show_plain(known, units[1], 4)})",
                show_plain(by_hand, units[0], 4),
            )
        ]
        if self.width is not None:
            q = self.frequency.value / self.width.value
            ratio = f"{self.frequency.text} / {self.width.text}"
            steps.append(Step("How sharp it is", f"Q = f / width = {ratio}", f"{q:.3g}"))
            if self.connected == "series":
                ohms = 2.0 * pi * (by_hand if coil else known) * self.width.value
                words = "R = 2 pi L width"
                steps.append(Step("All resistance in the loop", words, show_plain(ohms, "ohm", 4)))
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            tuple(steps),
            "resonance of a coil and a capacitor, half-power width R / (2 pi L), any textbook",
            f"{self.partner}'s own doubt passes one to one to {self.part}. The full model finds "
            "the extreme on the circuit as connected, probe, losses and all: "
            f"{show_plain(view.at(self.part, self.frequency.value) or by_hand, units[0], 4)}.",
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        """Each coil with each capacitor, both alone, where the dip is easily found."""
        sheet = desk.sheet
        source, scope = usual_source(sheet), usual_scope(sheet)
        alone = {name: one.kind for name, one in sheet.parts.items() if one.between is None}
        if source is None or scope is None:
            return ()
        found = []
        for coil in (name for name, kind in alone.items() if kind == "inductor"):
            for capacitor in (name for name, kind in alone.items() if kind == "capacitor"):
                values = view.at(coil, 1000.0), view.at(capacitor, 1000.0)
                if values[0] and values[1]:
                    f_hz = 1.0 / (2.0 * pi * sqrt(values[0] * values[1]))
                    if 20.0 <= f_hz <= 2e5:
                        found.append(cls._candidate((coil, capacitor), (source, scope), f_hz))
        return found

    @classmethod
    def _candidate(cls, parts: tuple[str, str], tools: tuple[str, str], f_hz: float) -> Candidate:
        coil, capacitor = parts
        said = {"kind": "resonance", "part": coil, "partner": capacitor, "source": tools[0]}
        name = f"next: {coil} with {capacitor}"
        guess = {"frequency": f"{f_hz:.5g} Hz", "instrument": tools[1], "name": name}
        words = (
            f"{coil} and {capacitor} in series across {tools[0]}, the probe across both: find the "
            f"frequency of the dip near {show_plain(f_hz, 'Hz', 2)}"
        )
        return Candidate(
            cls.model_validate({**said, **guess}),
            {**said, "frequency": ""},
            2.0,
            words,
            connection=Connection(name, 1.0),
        )

    def _wiring(self, desk: Desk) -> Wiring:
        resistor = None
        if self.resistor is not None:
            resistor = desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
        return Wiring(self.part, self.partner, self.connected, resistor, self.probe_on)

    def _row(self, desk: Desk, look: Look, written: Quantity, label: str) -> Row:
        width = written is self.width
        near = main_ids(desk, self.part, self.partner)
        errors = shared_clock(desk, self, written)
        model = Extreme(look, self._largest, width, near, errors)
        if written.spread is not None:
            u, normal = max(written.u, 1e-7 * written.value), not written.rectangular
        else:
            u, normal = self._unstated(desk, written) / sqrt(3.0), False
        shape: Literal["normal", "rectangle"] = "normal" if normal else "rectangle"
        return Row(self.name, label, written.value, u**2, shape, model, unit="Hz")

    def _unstated(self, desk: Desk, written: Quantity) -> float:
        if written is self.width:
            limit, words = WIDTH_UNSTATED * written.value, "its width within 5 %"
        elif self.width is not None:
            limit = FLAT * self.width.value
            words = (
                f"its frequency where the amplitude is within 1 % ({show_plain(limit, 'Hz', 2)})"
            )
        else:
            limit, words = UNSTATED * written.value, "its frequency within 1 %"
        desk.find(
            "assumption",
            f"{self.name}: no ± says how well the resonance was found; {words} is taken",
            readings=[self.name],
        )
        return limit
