"""`ESR by step`: the jump that a square wave's edge makes across a capacitor.

A capacitor holds its voltage, its series resistance does not: at the edge

    jump = open x (ESR + leads) / (Rs + R + ESR + leads)

so the leads between the probe's clips and the part are read with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log
from typing import ClassVar, Literal, Self

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import open_amplitude
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.row import Row
from ohmbook.bench.screen import screen, shown
from ohmbook.bench.steps import jump_volts
from ohmbook.bench.tank import resistor_problems
from ohmbook.bench.volts import peak_to_peak, said_vpp
from ohmbook.bench.worked import Formula
from ohmbook.circuit.network import Branch, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Ohms, OhmsOrPart, Volts, VoltsOrReading
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

CLIP_OHM = Prior(log(0.03), log(3.0))
"""Clips and wire between probe and part where nothing is stated; common practice, no source."""


class EsrByStep(Reading):
    """The jump across a capacitor at a square wave's edge; `wires = 4` where the probe has clips of
    its own on the part."""

    form: ClassVar[FormWords] = FormWords(
        heading="A capacitor's series resistance",
        does="What a capacitor has in series, from the jump at a square wave's edge.",
        labels={
            "open": "The whole edge, with nothing connected",
            "jump": "The jump across the capacitor",
            "resistor": "A resistor in series",
            "leads": "The leads between probe and part",
            "wires": "Wires to the part",
        },
        helps={
            "leads": "read with the clips on each other; they are read as series resistance",
            "wires": "4 where the probe has clips of its own on the part",
            "jump": "only the upright part, before the slope begins",
        },
        order=("part", "open", "jump", "resistor", "wires", "leads"),
        results=("jump",),
    )

    kind: Literal["ESR by step"]
    part: str
    open: VoltsOrReading | None = None
    jump: Volts
    resistor: OhmsOrPart | None = None
    leads: Ohms | None = None
    wires: Literal[2, 4] = 2

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A capacitor, a jump below the whole edge, volts peak to peak."""
        kind = sheet.parts[self.part].kind
        if kind != "capacitor":
            yield Problem(("part",), f"{self.part} is a {kind}; expected a capacitor")
        yield from resistor_problems(self.resistor, sheet)
        if self.wires == 4 and self.leads is not None:
            yield Problem(("leads",), "with four wires the leads do not count; expected no leads")
        for key in ("open", "jump"):
            written = getattr(self, key)
            if isinstance(written, Quantity) and written.convention == "rms":
                yield Problem(
                    (key,),
                    f'"{written.text}" of a square wave is not what a sine\'s would be; expected '
                    'volts peak to peak, such as "2.00 Vpp"',
                )
        open_ = self.open if self.open is not None else sheet.sources[self.source or ""].open
        if isinstance(open_, Quantity) and peak_to_peak(self.jump) >= peak_to_peak(open_):
            yield Problem(
                ("jump",),
                f'a jump of "{self.jump.text}" is the whole edge of "{open_.text}": the clips are '
                "open, or there is no resistance between source and part",
            )
        source = sheet.sources[self.source or ""].resistance
        if self.resistor is None and source is not None and source.value == 0.0:
            yield Problem(
                ("resistor",),
                f"{self.source} has no resistance, so the whole edge is across {self.part}; "
                'expected a resistor in series, such as resistor = "47 ohm"',
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """Source, resistor if any, and the capacitor; the scope on it."""
        source, _ = desk.source(self)
        top = "out" if self.resistor is None else "x"
        probe: Pair = (top, "com")
        branches = [desk.branch(self.part, probe)]
        if self.resistor is not None:
            branches.insert(0, Branch(self._resistor(desk), "resistor", ("out", "x")))
        network = Network(tuple(branches), Drive(("out", "com"), source), (probe,))
        scope = self.instrument or "scope"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", scope, "tip", top),
            Clip("scope", scope, "ground", "com"),
        )
        told = (cautions.DISCHARGE, cautions.SCOPE_EARTH)
        return (SetUp(f"a square wave into {self.part}, probe on it", network, clips, told),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """The jump; the open amplitude is entered with the EMF."""
        desk.part(self.part)
        source, _ = desk.source(self)
        emf, drift = open_amplitude(desk, self, None, self.open)
        on = screen(desk, self)
        read = on.read(self.jump)
        causes, own = shown(desk, on, self.jump, read, self.name)
        resistor: Id = ZERO if self.resistor is None else (self._resistor(desk), "resistance")
        of = (emf, (self.part, "resistance"), self._leads(desk), (source, "resistance"), resistor)
        errors = (*drift, *((one, 1.0) for one in causes.gains))
        label = f"{self.name}: jump across {self.part}"
        model = Formula(jump_volts, of, (), errors)
        return [Row(self.name, label, read.vpp, own.u**2, own.shape, model, own.grid)]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the jump it should show."""
        jump = parse_quantity(f"{value:.4g} Vpp", "V")
        return self.model_copy(update={"jump": jump}), {"jump": said_vpp(value)}

    def working(self, view: View) -> Working | None:
        """The voltage divider at the edge, less the leads."""
        stated = self.open if isinstance(self.open, Quantity) else None
        open_ = peak_to_peak(stated) if stated else view.value((self.source or "", "open"))
        source = view.value((self.source or "", "resistance"))
        if not open_ or source is None:
            return None
        extra = (
            self.resistor.value
            if isinstance(self.resistor, Quantity)
            else view.value((str(self.resistor), "resistance")) or 0.0
        )
        ratio = peak_to_peak(self.jump) / open_
        whole = (source + extra) * ratio / (1.0 - ratio)
        leads = 0.0 if self.leads is None else self.leads.value
        settled = view.value((self.part, "resistance"))
        return Working(
            f"{self.part}'s series resistance from {self.name}",
            self.name,
            (
                Step("The share that jumps", f"{self.jump.text} / open", f"{ratio:.5f}"),
                Step(
                    "A divider of resistances at the edge",
                    f"(Rs + R) q / (1 - q) = {show_plain(source + extra, 'ohm', 4)} x "
                    f"{ratio:.5f} / {1.0 - ratio:.5f}",
                    show_plain(whole, "ohm", 4),
                ),
                Step(
                    "Less the leads",
                    f"{show_plain(whole, 'ohm', 4)} - {show_plain(leads, 'ohm')}",
                    show_plain(whole - leads, "ohm", 4),
                ),
            ),
            "voltage divider at a square wave's edge; common practice, no source",
            "A short and a perfect capacitor look alike here: read its capacitance as well. The "
            f"full model says {show_plain(settled or whole, 'ohm', 4)}.",
        )

    def _leads(self, desk: Desk) -> Id:
        if self.wires == 4:
            return ZERO
        owner = f"{self.name}: leads"
        if self.leads is not None:
            return desk.stated(owner, "resistance", self.leads)
        desk.find(
            "assumption",
            f"{self.name}: its leads are read as series resistance; some 10 to 90 mohm are taken. "
            'Use four clips (wires = 4), or read a short and write leads = "..."',
            readings=[self.name],
        )
        return desk.unknown((owner, "resistance"), "log", CLIP_OHM)

    def _resistor(self, desk: Desk) -> str:
        assert self.resistor is not None
        return desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
