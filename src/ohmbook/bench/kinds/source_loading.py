"""`source loading`: a generator's output resistance, from its amplitude open and loaded."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import open_amplitude
from ohmbook.bench.kind import TO_READ, Candidate, Connection, FormWords, Reading, View, Wanted
from ohmbook.bench.layout import Look
from ohmbook.bench.probing import usual_open, usual_resistance, usual_scope
from ohmbook.bench.row import Row
from ohmbook.bench.screen import Driven, amplitude_row
from ohmbook.bench.volts import peak_to_peak, said_vpp
from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Hertz, OhmsOrPart, Volts, VoltsOrReading
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.series import nearest
from ohmbook.units.show import show_plain


class SourceLoading(Reading):
    """The generator read open, then across a known load."""

    instrument_kinds: ClassVar[tuple[str, ...]] = ("oscilloscope",)

    checks_source: ClassVar[bool] = True
    form: ClassVar[FormWords] = FormWords(
        heading="Check a generator",
        does="Its output resistance, once: every part that is read with it then rests on what the "
        "generator really is, and not on what its manual says.",
        labels={
            "open": "Nothing connected",
            "loaded": "With the resistor across it",
            "load": "The resistor",
            "frequency": "At the frequency",
        },
        helps={
            "load": "any resistor near 50 ohm that you have measured, with how well you know it",
            "frequency": "any will do, and it may stay empty",
        },
        order=("open", "load", "loaded", "frequency"),
        results=("open", "loaded"),
    )

    kind: Literal["source loading"]
    open: VoltsOrReading | None = None
    loaded: Volts
    load: OhmsOrPart
    frequency: Hertz | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A loaded source cannot read above the open one."""
        open_ = peak_to_peak(self.open) if isinstance(self.open, Quantity) else None
        if isinstance(self.open, Quantity) and open_ and peak_to_peak(self.loaded) > 1.1 * open_:
            yield Problem(
                ("loaded",),
                f'loaded "{self.loaded.text}" is above open '
                f'"{self.open.text}"; expected less across a load than without it',
            )
        if self.loaded.value == 0.0:
            yield Problem(
                ("loaded",),
                f'loaded "{self.loaded.text}" means that the load shorts the source; expected '
                "what is left across a resistor near the source's own resistance",
            )
        if isinstance(self.load, Quantity) and self.load.value == 0.0:
            yield Problem(
                ("load",),
                "a load of 0 ohm shorts the source; expected a resistor near "
                "the source's own resistance",
            )
        if isinstance(self.load, str) and sheet.parts[self.load].kind != "resistor":
            yield Problem(
                ("load",),
                f'"{self.load}" is not a resistor; expected a resistor, or a '
                'value such as "47.2 ohm ± 0.5 %"',
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The load straight across the source, the scope on it."""
        source, _ = desk.source(self)
        owner = desk.named_or_stated(f"{self.name}: load", "resistance", self.load)
        network = Network(
            (Branch(owner, "resistor", ("out", "com")),),
            Drive(("out", "com"), source),
            (("out", "com"),),
        )
        scope = self.instrument or "scope"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", scope, "tip", "out"),
            Clip("scope", scope, "ground", "com"),
        )
        return (SetUp(f"{source} across a known load", network, clips, (cautions.SCOPE_EARTH,)),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The loaded amplitude; the open one is entered with the EMF."""
        f_hz = None if self.frequency is None else self.frequency.value
        emf, drift = open_amplitude(desk, self, f_hz, self.open)
        look = Look(self.set_ups(desk)[0].network, f_hz or 1000.0)
        return [
            amplitude_row(desk, self, self.loaded, Driven(f"{self.name}: loaded", emf, drift, look))
        ]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the loaded amplitude it should show."""
        shown = f"{value:.4g} Vpp"
        loaded = parse_quantity(shown, "V")
        return self.model_copy(update={"loaded": loaded}), {"loaded": said_vpp(value)}

    def working(self, view: View) -> Working | None:
        """R = load x (open / loaded - 1), by voltage division."""
        if not isinstance(self.open, Quantity) or not isinstance(self.load, Quantity):
            return None
        ratio = peak_to_peak(self.open) / peak_to_peak(self.loaded)
        by_hand = self.load.value * (ratio - 1.0)
        settled = view.value((self.source or "", "resistance"))
        return Working(
            f"{self.source}'s output resistance",
            self.name,
            (
                Step(
                    "How much the load pulls the amplitude down",
                    f"open / loaded = {self.open.text} / {self.loaded.text}",
                    f"{ratio:.4f}",
                ),
                Step(
                    "Load and source divide the voltage",
                    f"R = {show_plain(self.load.value, 'ohm', 4)} x ({ratio:.4f} - 1)",
                    show_plain(by_hand, "ohm", 4),
                ),
            ),
            "voltage divider, any textbook",
            f"With every reading of this source and the scope's errors: "
            f"{show_plain(settled or by_hand, 'ohm', 4)}.",
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        """Each source across loads near, below and above its own resistance."""
        done = {
            (reading.source, _value(reading.load))
            for reading in desk.sheet.readings
            if isinstance(reading, cls)
        }
        return [
            cls._candidate(desk, view, (name, load), stated=source.open is not None)
            for name, source in desk.sheet.sources.items()
            for load in _loads(usual_resistance(desk.sheet, view, name))
            if (name, load) not in done
        ]

    @classmethod
    def _candidate(cls, desk: Desk, view: View, what: tuple[str, float], stated: bool) -> Candidate:
        """One source across one load; its open amplitude is read with it where none is stated."""
        sheet, (name, load) = desk.sheet, what
        open_, resistance = usual_open(sheet, view, name), usual_resistance(sheet, view, name)
        blank: dict[str, Any] = {
            "kind": "source loading",
            "source": name,
            "load": f"{load:g} ohm ± 0.5 %",
            "frequency": "1 kHz",
        }
        expected = {} if stated else {"open": f"{open_:.4g} Vpp"}
        expected["loaded"] = f"{open_ * load / (load + resistance):.4g} Vpp"
        scope = usual_scope(sheet)
        made = {**blank, **expected, "instrument": scope, "name": f"next: {name} on {load:g} ohm"}
        words = f"across a {load:g} ohm resistor that you have measured"
        return Candidate(
            cls.model_validate(made),
            {**blank, **dict.fromkeys(expected, "")},
            1.0,
            f"read {name} {words}" if stated else f"read {name} open, then {words}",
            1 if stated else 2,
            1,
            Connection(f"{name} across {load:g} ohm", 0.5),
        )

    @classmethod
    def together(cls, wanted: Sequence[Wanted]) -> Sequence[dict[str, Any]]:
        """Open once for each source, then each load."""
        first: dict[str, str] = {}
        found = []
        for number, one in enumerate(wanted, 1):
            blank = {**one.blank, "loaded": TO_READ}
            if "open" in blank:
                source = str(blank["source"])
                blank["name"] = f"check {number}"
                blank["open"] = f"@{first[source]}" if source in first else TO_READ
                first.setdefault(source, blank["name"])
            found.append(blank)
        return found

    def again(self, desk: Desk, view: View) -> Sequence[Candidate]:
        """The source once more, across smaller, like and larger resistors of the usual series."""
        name = self.source or ""
        resistance = view.value((name, "resistance"))
        if not resistance:
            return ()
        loads = (nearest(resistance * factor, "E6")[0] for factor in _AGAIN)
        return [
            self._candidate(desk, view, (name, load), stated=False) for load in dict.fromkeys(loads)
        ]


_AGAIN = (0.2, 0.45, 1.0, 2.0)
"""Loads for another look at a source, as shares of its resistance."""


def _loads(resistance: float) -> tuple[float, ...]:
    """Loads at hand for a source: preferred values near its resistance, below it, above it."""
    return tuple(nearest(ratio * resistance, "E12")[0] for ratio in (0.95, 0.45, 2.0))


def _value(load: Quantity | str) -> float:
    return load.value if isinstance(load, Quantity) else 0.0
