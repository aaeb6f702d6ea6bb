"""`time constant`: a step into a coil or capacitor behind resistance, timed on the screen.

    coil, read across the resistor:     tau = L / (Rs + R + r)
    capacitor, read across itself:      tau = C (Rs + R + ESR)

The source's own resistance and the part's are in the sum, and a wave that turns before it has
settled is reckoned with (`window`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp, log, pi
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import counted_in, owners_of, probe_load
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen
from ohmbook.bench.steps import capacitor_s, coil_s
from ohmbook.bench.tank import resistor_problems
from ohmbook.bench.times import as_read, shared_clock
from ohmbook.bench.worked import Formula, entered
from ohmbook.circuit.network import REFERENCE_HZ, Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import OhmsOrPart, SomeSeconds
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

UNSTATED = 0.03
"""Limits, relative, of a time read off the screen; common practice, no source."""

SETTLED = 5.0
"""Time constants after which a step has settled to 0.7 %."""

_SHARES = {"63 %": (1.0 - exp(-1.0), 0.0), "50 %": (0.5, 0.0), "10 to 90 %": (0.9, 0.1)}
_TAUS = {"63 %": 1.0, "50 %": log(2.0), "10 to 90 %": log(9.0)}
_FOREVER_S = 1e9


class TimeConstant(Reading):
    """The time that a step takes through a coil or a capacitor."""

    form: ClassVar[FormWords] = FormWords(
        heading="The time of a step",
        does="A coil or a capacitor from how long a square wave's step takes through it.",
        labels={
            "resistor": "A resistor in series",
            "time": "The time read",
            "to": "Of how much of the step",
            "window": "Half a period of the square wave",
        },
        helps={
            "to": "10 to 90 % does not ask where the edge was",
            "window": "where the wave turned before the step had settled",
            "resistor": "a coil's current is read across it",
        },
        order=("part", "resistor", "to", "time", "window"),
        results=("time",),
        seldom=("window",),
    )

    kind: Literal["time constant"]
    part: str
    resistor: OhmsOrPart | None = None
    time: SomeSeconds
    to: Literal["63 %", "50 %", "10 to 90 %"] = "63 %"
    window: SomeSeconds | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A coil or a capacitor, behind some resistance, with a window that can be."""
        kind = sheet.parts[self.part].kind
        if kind not in ("inductor", "capacitor"):
            yield Problem(
                ("part",),
                f"{self.part} is a {kind}, which has no time constant of its own; expected a coil "
                "or a capacitor",
            )
        yield from resistor_problems(self.resistor, sheet)
        source = sheet.sources[self.source or ""].resistance
        no_source = source is not None and source.value == 0.0
        if self.resistor is None and (kind == "inductor" or no_source):
            told = (
                "a coil's current is read across a resistor"
                if kind == "inductor"
                else f"{self.source} has no resistance, so nothing slows the step"
            )
            yield Problem(("resistor",), f'{told}; expected resistor = "100.2 ohm"')
        if self.window is not None and self.window.value <= self.time.value:
            yield Problem(
                ("window",),
                f'within "{self.window.text}" no time of "{self.time.text}" can be read; expected '
                "half a period of the square wave",
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor and part; the scope on the resistor (coil) or the part (capacitor)."""
        source, _ = desk.source(self)
        on = screen(desk, self)
        coil = desk.part(self.part).kind == "inductor"
        ends: tuple[Pair, Pair] = (("out", "x"), ("x", "com"))
        if self.resistor is None:
            branches: tuple[Branch, ...] = (desk.branch(self.part, ("out", "com")),)
        else:
            own, other = (0, 1) if coil else (1, 0)
            resistor = Branch(self._resistor(desk), "resistor", ends[other])
            branches = (desk.branch(self.part, ends[own]), resistor)
        tip = "out" if self.resistor is None else "x"
        load = probe_load(desk, on, (tip, "com"))
        network = Network((*branches, *load), Drive(("out", "com"), source), ((tip, "com"),))
        scope = on.name or "scope"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", scope, "tip", tip),
            Clip("scope", scope, "ground", "com"),
        )
        first = cautions.KICK if coil else cautions.DISCHARGE
        return (
            SetUp(
                f"a slow square wave into {self.part}, probe on "
                f"{'the resistor' if coil else self.part}",
                network,
                clips,
                (first, cautions.SCOPE_EARTH),
                counted_in((), load),
                owners_of(load),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The time."""
        part = desk.part(self.part)
        tau = self.time.value / _TAUS[self.to]
        at_hz = 1.0 / (2.0 * pi * tau)
        self._tell(desk, tau)
        window_s = _FOREVER_S if self.window is None else self.window.value
        fixed = (*_SHARES[self.to], window_s, log(at_hz / REFERENCE_HZ))
        function = coil_s if part.kind == "inductor" else capacitor_s
        errors = shared_clock(desk, self, self.time)
        model = Formula(function, self._ids(desk), fixed, errors, at_hz)
        u, shape = as_read(desk, self, self.time, UNSTATED, "time")
        label = f"{self.name}: time of a step in {self.part}"
        return [Row(self.name, label, self.time.value, u**2, shape, model, unit="s")]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the time it should take."""
        time = parse_quantity(f"{value:.6g} s", "s")
        return self.model_copy(update={"time": time}), {"time": show_plain(value, "s")}

    def working(self, view: View) -> Working | None:
        """tau, then all resistance in the loop, then the part."""
        coil = view.kind(self.part) == "inductor"
        tau = self.time.value / _TAUS[self.to]
        source = view.value((self.source or "", "resistance")) or 0.0
        own = view.value((self.part, "resistance")) or 0.0
        extra = (
            self.resistor.value
            if isinstance(self.resistor, Quantity)
            else view.value((str(self.resistor), "resistance")) or 0.0
        )
        total = source + extra + own
        value, unit = (tau * total, "H") if coil else (tau / total, "F")
        told: Literal["H", "F"] = "H" if unit == "H" else "F"
        settled = view.at(self.part, 1.0 / (2.0 * pi * tau)) or value
        ohms = " + ".join(show_plain(one, "ohm", 4) for one in (source, extra, own))
        return Working(
            f"{self.part} from {self.name}",
            self.name,
            (
                Step(
                    "From the time to the time constant",
                    f"tau = {self.time.text} / {_TAUS[self.to]:.4f} ({self.to})",
                    show_plain(tau, "s", 4),
                ),
                Step(
                    "All resistance in the loop: source, resistor, the part's own",
                    ohms,
                    show_plain(total, "ohm", 4),
                ),
                Step(
                    "From the time constant to the value",
                    "L = tau (Rs + R + r)" if coil else "C = tau / (Rs + R + ESR)",
                    show_plain(value, told, 4),
                ),
            ),
            "step into R and L or C, any textbook",
            "The full model reckons with a wave that turns before it has settled, with a "
            "capacitor's jump at the edge, and with what the probe adds: "
            f"{show_plain(settled, told, 4)}.",
        )

    def _tell(self, desk: Desk, tau: float) -> None:
        if self.window is None:
            desk.find(
                "assumption",
                f"{self.name}: the wave is taken to have settled before it turned (five time "
                f"constants are {show_plain(SETTLED * tau, 's', 2)}); write window = half a period "
                "where it had not",
                readings=[self.name],
            )
        elif self.window.value < SETTLED * tau:
            desk.find(
                "limit",
                f"{self.name}: the wave turned after {self.window.value / tau:.1f} time constants, "
                "before it had settled; that is reckoned with, but a slower wave tells more",
                readings=[self.name],
            )

    def _ids(self, desk: Desk) -> tuple[Id, ...]:
        part = desk.part(self.part)
        source, _ = desk.source(self)
        load = probe_load(desk, screen(desk, self), ("x", "com"))
        probe = desk.same[(load[0].owner, "capacitance")] if load else ZERO
        known = (*desk.unknowns, *desk.constants)
        own = [
            entered(known, (self.part, quantity), ZERO)
            for quantity in (MAIN_QUANTITY[part.kind], "resistance", "loss")
        ]
        resistor = ZERO if self.resistor is None else (self._resistor(desk), "resistance")
        return (*own, probe, (source, "resistance"), resistor)

    def _resistor(self, desk: Desk) -> str:
        assert self.resistor is not None
        return desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
