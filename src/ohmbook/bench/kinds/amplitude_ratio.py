"""`amplitude ratio`: one part alone across the source, open and with the part connected.

The half-amplitude method is the case across = open / 2. With R in series (the source's own and a
resistor's) and a coil of reactance X and resistance r, the probe on the part:

    |across / open|^2 = (r^2 + X^2) / ((R + r)^2 + X^2)

so X^2 = (q^2 (R + r)^2 - r^2) / (1 - q^2) with q = across / open (G. Rico, The Technology
Interface, fall 1996, for the method).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import pi, sqrt
from typing import Literal

from ohmbook.units.show import show_plain

from ohmbook.bench import cautions
from ohmbook.bench.board import EARTH, ground_lead, is_earthed, probe_load
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Candidate, Reading, View
from ohmbook.bench.row import Row
from ohmbook.bench.screen import Driven, amplitude_row, frequency, open_amplitude, screen
from ohmbook.bench.state import Look
from ohmbook.bench.volts import PEAK_TO_PEAK, convention_of
from ohmbook.circuit.network import Branch, Drive, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Hertz, OhmsOrPart, Volts, VoltsOrReading
from ohmbook.documents.part import Part
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.quantity import Quantity


class AmplitudeRatio(Reading):
    """A part alone across the source; `probe_on` says which of part and resistor is read."""

    kind: Literal["amplitude ratio"]
    part: str
    frequency: Hertz
    open: VoltsOrReading | None = None
    across: Volts | None = None
    half_of: Volts | None = None
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
        open_ = self.open if self.open is not None else sheet.sources[self.source or ""].open
        if isinstance(open_, Quantity) and self.across is not None:
            yield from self._above_open(open_, self.across)

    def _above_open(self, open_: Quantity, across: Quantity) -> Iterable[Problem]:
        room = (
            0.02
            + open_.half_width / max(open_.value, 1e-9)
            + across.half_width / max(across.value, 1e-9)
        )
        if _vpp(across) > _vpp(open_) * (1.0 + room):
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
        network = Network(
            (*middle, *lead, *probe_load(desk, on, probe)), Drive(("out", ground), source), (probe,)
        )
        where = "across the resistor" if self.probe_on == "resistor" else f"across {self.part}"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", on.name or "scope", "tip", tip),
            Clip("scope", on.name or "scope", "ground", "com"),
        )
        return (SetUp(f"{self.part} alone, probe {where}", network, clips, self._cautions(desk)),)

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

    def working(self, view: View) -> Working | None:
        """The closed form for the part's kind, with the person's numbers in."""
        ratio = self._ratio()
        source = view.value((self.source or "", "resistance"))
        if ratio is None or source is None or not 0.0 < ratio < 1.0:
            return None
        return _working(self, view, ratio, source)

    def _ratio(self) -> float | None:
        if self.half_of is not None:
            return 0.5
        if self.across is None or not isinstance(self.open, Quantity):
            return None
        return _vpp(self.across) / _vpp(self.open)

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
            for found in _candidates(cls, desk, view, name, part)
        ]


def _candidates(
    cls: type[AmplitudeRatio], desk: Desk, view: View, name: str, part: Part
) -> Iterable[Candidate]:
    source = desk.sheet.defaults.source or next(iter(desk.sheet.sources), None)
    scope = desk.sheet.defaults.instrument or next(
        (key for key, one in desk.sheet.instruments.items() if one.kind == "oscilloscope"), None
    )
    open_ = view.value((source or "", "open"))
    resistance = view.value((source or "", "resistance"))
    value = view.at(name, 1000.0)
    if (
        source is None
        or not open_
        or not resistance
        or not value
        or part.kind not in ("inductor", "capacitor")
    ):
        return
    for reactance in (0.3 * resistance, resistance / sqrt(3.0), resistance):
        f_hz = (
            reactance / (2 * pi * value)
            if part.kind == "inductor"
            else (1.0 / (2 * pi * reactance * value))
        )
        f_hz = float(f"{f_hz:.2g}")
        if not 20.0 <= f_hz <= 1e6:
            continue
        share = reactance / sqrt(resistance**2 + reactance**2)
        blank = {
            "kind": "amplitude ratio",
            "part": name,
            "source": source,
            "frequency": f"{f_hz:g} Hz",
        }
        reading = cls.model_validate(
            {
                **blank,
                "open": f"{open_:.4g} Vpp",
                "instrument": scope,
                "across": f"{open_ * share:.4g} Vpp",
                "name": f"next: {name} at {f_hz:g} Hz",
            }
        )
        yield Candidate(
            reading,
            blank,
            2.0,
            f"{name} alone across {source}, read at {show_plain(f_hz, 'Hz')}, open and across",
        )


def _working(reading: AmplitudeRatio, view: View, q: float, source: float) -> Working | None:
    kind = view.kind(reading.part)
    extra = 0.0
    if reading.resistor is not None:
        extra = (
            reading.resistor.value
            if isinstance(reading.resistor, Quantity)
            else view.value((reading.resistor, "resistance")) or 0.0
        )
    f_hz = reading.frequency.value
    total = source + extra
    steps = [
        Step("The share of the open amplitude that is left", _ratio_words(reading), f"q = {q:.4f}")
    ]
    if kind == "resistor":
        reactance = 0.0
    elif reading.probe_on == "resistor":
        reactance = _on_resistor(steps, q, total, extra)
    else:
        reactance = total * q / sqrt(1.0 - q * q)
        steps.append(
            Step(
                "Reactance and resistance stand at a right angle",
                f"X = R q / sqrt(1 - q^2) = {show_plain(total, 'ohm', 4)} x {q:.4f} / "
                f"sqrt(1 - {q:.4f}^2)",
                show_plain(reactance, "ohm", 4),
            )
        )
    by_hand, last = _from_reactance(kind, reactance, f_hz, q, total)
    steps.append(last)
    settled = view.at(reading.part, f_hz)
    unit = {"inductor": "H", "capacitor": "F"}.get(kind, "ohm")
    remark = "The full model adds the part's series resistance and losses, the scope's errors and "
    remark += "every other reading."
    if settled is not None and by_hand > 0:
        remark += (
            f" It says {show_plain(settled, unit, 4)}, "  # type: ignore[arg-type]
            f"{100 * (settled / by_hand - 1):+.2f} % from the value by hand."
        )
    return Working(
        f"{reading.part} from {reading.name}",
        reading.name,
        tuple(steps),
        "G. Rico, The Technology Interface, fall 1996 (method); voltage divider",
        remark,
    )


def _on_resistor(steps: list[Step], q: float, total: float, extra: float) -> float:
    inside = (extra / q) ** 2 - total**2
    reactance = sqrt(max(inside, 0.0))
    steps.append(
        Step(
            "The probe is on the resistor R', so q = R' / sqrt(R^2 + X^2)",
            f"X = sqrt(({show_plain(extra, 'ohm', 4)} / {q:.4f})^2 - "
            f"({show_plain(total, 'ohm', 4)})^2)",
            show_plain(reactance, "ohm", 4),
        )
    )
    return reactance


def _from_reactance(
    kind: str, reactance: float, f_hz: float, q: float, total: float
) -> tuple[float, Step]:
    f_words = show_plain(f_hz, "Hz", 4)
    x_words = show_plain(reactance, "ohm", 4)
    if kind == "inductor":
        value = reactance / (2 * pi * f_hz)
        return value, Step(
            "From reactance to inductance",
            f"L = X / (2 pi f) = {x_words} / (2 pi {f_words})",
            show_plain(value, "H", 4),
        )
    if kind == "capacitor":
        value = 1.0 / (2 * pi * f_hz * reactance) if reactance else 0.0
        return value, Step(
            "From reactance to capacitance",
            f"C = 1 / (2 pi f X) = 1 / (2 pi {f_words} {x_words})",
            show_plain(value, "F", 4),
        )
    if extra and on_resistor:
        value = extra / q - total
        return value, Step(
            "A resistor divides without a right angle",
            f"{show_plain(extra, 'ohm', 4)} / {q:.4f} - {show_plain(total, 'ohm', 4)}",
            show_plain(value, "ohm", 4),
        )
    value = total * q / (1.0 - q)
    return value, Step(
        "A resistor divides without a right angle",
        f"R = {show_plain(total, 'ohm', 4)} x {q:.4f} / (1 - {q:.4f})",
        show_plain(value, "ohm", 4),
    )


def _ratio_words(reading: AmplitudeRatio) -> str:
    if reading.half_of is not None:
        return f"half of {reading.half_of.text}"
    across = reading.across.text if reading.across is not None else ""
    open_ = reading.open.text if isinstance(reading.open, Quantity) else ""
    return f"across / open = {across} / {open_}"


def _vpp(written: Quantity) -> float:
    return written.value * PEAK_TO_PEAK[convention_of(written, None)]
