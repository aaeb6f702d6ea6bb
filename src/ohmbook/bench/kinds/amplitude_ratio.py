"""`amplitude ratio`: one part alone across the source, open and with the part connected.

The half-amplitude method is the case across = open / 2. With R in series (the source's own and a
resistor's) and a coil of reactance X and resistance r, the probe on the part:

    |across / open|^2 = (r^2 + X^2) / ((R + r)^2 + X^2)

so X^2 = (q^2 (R + r)^2 - r^2) / (1 - q^2) with q = across / open (G. Rico, The Technology
Interface, fall 1996, for the method).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.besides import resistor_problems
from ohmbook.bench.by_hand import Divider
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import frequency, open_amplitude
from ohmbook.bench.grounds import EARTH, counted_in, ground_lead, is_earthed, owners_of, probe_load
from ohmbook.bench.kind import Candidate, FormWords, Reading, View, Way
from ohmbook.bench.layout import Look
from ohmbook.bench.probing import alone
from ohmbook.bench.row import Row
from ohmbook.bench.screen import Driven, amplitude_row, screen
from ohmbook.bench.volts import peak_to_peak, said_vpp
from ohmbook.circuit.network import Branch, Drive, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Hertz, OhmsOrPart, SomeVolts, Volts, VoltsOrReading
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain


class AmplitudeRatio(Reading):
    """A part alone across the source; `probe_on` says which of part and resistor is read."""

    form: ClassVar[FormWords] = FormWords(
        heading="One part across the generator",
        does="A coil's or a capacitor's value, from the frequency at which it leaves half of the "
        "generator's amplitude, or any other share of it.",
        labels={
            "frequency": "Frequency",
            "open": "Amplitude with nothing connected",
            "across": "Amplitude with the part connected",
            "half_of": "Amplitude with nothing connected",
            "resistor": "A resistor in series",
            "probe_on": "The probe is on the",
        },
        helps={
            "half_of": "then turn the frequency until the part leaves half of it",
            "frequency": "where the amplitude was read",
            "open": "may stay empty where the generator's own is known",
            "resistor": "besides the generator's own resistance; leave it empty if there is none",
        },
        order=("part", "half_of", "open", "frequency", "across", "resistor", "probe_on"),
        ways=(
            Way("turned until half is left", ("half_of",)),
            Way("two amplitudes", ("across", "open")),
        ),
        results=("across",),
        seldom=("resistor", "probe_on"),
    )

    kind: Literal["amplitude ratio"]
    part: str
    frequency: Hertz
    open: VoltsOrReading | None = None
    across: Volts | None = None
    half_of: SomeVolts | None = None
    resistor: OhmsOrPart | None = None
    probe_on: Literal["part", "resistor"] = "part"

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """One of `across` and `half_of`, never above open, and a resistor to probe."""
        if (self.across is None) == (self.half_of is None):
            yield Problem(("across",), 'write either across = "2.06 Vpp" or half_of = "4.12 Vpp"')
        if self.half_of is not None and self.open is not None:
            yield Problem(
                ("half_of",),
                "half_of already says what the source read open; expected no other open",
            )
        if self.probe_on == "resistor" and self.resistor is None:
            yield Problem(
                ("probe_on",),
                'the probe is on "resistor" but no resistor is stated; '
                'expected resistor = "100.2 ohm"',
            )
        none = "leave the key out where there is none"
        yield from resistor_problems(self.part, self.resistor, sheet, none)
        source = sheet.sources[self.source or ""].resistance
        if source is not None and source.value == 0.0 and self.resistor is None:
            yield Problem(
                ("resistor",),
                f"{self.source} has no resistance, so all of its amplitude is across {self.part}; "
                'expected a resistor in series, such as resistor = "100.2 ohm"',
            )
        open_ = self.open if self.open is not None else sheet.sources[self.source or ""].open
        if isinstance(open_, Quantity) and self.across is not None:
            yield from self._above_open(open_, self.across)

    def _above_open(self, open_: Quantity, across: Quantity) -> Iterable[Problem]:
        room = (
            0.02
            + open_.half_width / max(open_.value, 1e-9)
            + across.half_width / max(across.value, 1e-9)
        )
        if peak_to_peak(across) > peak_to_peak(open_) * (1.0 + room):
            yield Problem(
                ("across",),
                f'across "{across.text}" is above open "{open_.text}" '
                "beyond its limits; expected less across a part than without it",
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor if any, and part in series; the scope on part or resistor."""
        source, what = desk.source(self)
        on = screen(desk, self)
        lead = (
            ground_lead(desk, on, (self.part, "alone"), "com", always=False)
            if (is_earthed(what) and on.scope is not None and is_earthed(on.scope))
            else ()
        )
        ground = EARTH if lead else "com"
        middle = self._series(desk)
        tip = "out" if self.resistor is None else "x"
        probe: Pair = (tip, ground)
        load = probe_load(desk, on, probe)
        network = Network((*middle, *lead, *load), Drive(("out", ground), source), (probe,))
        where = "across the resistor" if self.probe_on == "resistor" else f"across {self.part}"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", on.name or "scope", "tip", tip),
            Clip("scope", on.name or "scope", "ground", "com"),
        )
        return (
            SetUp(
                f"{self.part} alone, probe {where}",
                network,
                clips,
                self._cautions(desk),
                counted_in(lead, load),
                owners_of(lead, load),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The amplitude across; the open one is entered with the EMF."""
        f_hz = self.frequency.value
        stated = self.half_of if self.half_of is not None else self.open
        emf, drift = open_amplitude(desk, self, f_hz, stated)
        look = Look(self.set_ups(desk)[0].network, f_hz, frequency(desk, self, self.frequency))
        label = f"{self.name}: across {self.part} at {show_plain(f_hz, 'Hz')}"
        if self.half_of is None:
            assert self.across is not None
            return [amplitude_row(desk, self, self.across, Driven(label, emf, drift, look))]
        range_v = screen(desk, self).read(self.half_of).range_v
        half = Driven(label, emf, drift, look, range_v=range_v, share=0.5)
        return [amplitude_row(desk, self, self.half_of, half)]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the amplitude across that it should show."""
        shown = f"{value:.4g} Vpp"
        across = parse_quantity(shown, "V")
        return self.model_copy(update={"across": across}), {"across": said_vpp(value)}

    def working(self, view: View) -> Working | None:
        """The closed form for the part's kind, with the person's numbers in."""
        open_ = view.value((self.source or "", "open"))
        ratio = self._ratio(open_)
        source = view.value((self.source or "", "resistance"))
        if ratio is None or source is None or not 0.0 < ratio < 1.0:
            return None
        extra = (
            self.resistor.value
            if isinstance(self.resistor, Quantity)
            else (view.value((str(self.resistor), "resistance")) or 0.0)
        )
        divider = Divider(
            view.kind(self.part),
            ratio,
            source + extra,
            extra if self.probe_on == "resistor" else 0.0,
            self.frequency.value,
        )
        steps, by_hand = divider.steps()
        first = Step(
            "The share of the open amplitude that is left", self._ratio_words(), f"q = {ratio:.4f}"
        )
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            (first, *steps),
            "voltage divider; G. Rico, The Technology Interface, fall 1996, for the method",
            divider.remark(by_hand, view.at(self.part, self.frequency.value)),
        )

    def _ratio_words(self) -> str:
        if self.half_of is not None:
            return f"half of {self.half_of.text}"
        across = "" if self.across is None else self.across.text
        open_ = self.open.text if isinstance(self.open, Quantity) else "the source's open amplitude"
        return f"across / open = {across} / {open_}"

    def _ratio(self, source_open: float | None) -> float | None:
        if self.half_of is not None:
            return 0.5
        open_ = peak_to_peak(self.open) if isinstance(self.open, Quantity) else source_open
        if self.across is None or not open_:
            return None
        return peak_to_peak(self.across) / open_

    def _series(self, desk: Desk) -> tuple[Branch, ...]:
        if self.resistor is None:
            return (desk.branch(self.part, ("out", "com")),)
        owner = desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
        on_part = self.probe_on == "part"
        ends: tuple[Pair, Pair] = (("out", "x"), ("x", "com"))
        return (
            Branch(owner, "resistor", ends[0 if on_part else 1]),
            desk.branch(self.part, ends[1 if on_part else 0]),
        )

    def _cautions(self, desk: Desk) -> tuple[str, ...]:
        first = (cautions.DISCHARGE,) if desk.part(self.part).kind == "capacitor" else ()
        return (*first, cautions.SCOPE_EARTH)

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        """Each part that is not on the board, alone, where its reactance is about half of R."""
        return [
            found
            for name, part in desk.sheet.parts.items()
            if part.between is None
            for found in alone(cls, desk, view, name)
        ]
