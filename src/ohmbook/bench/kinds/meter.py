"""`meter`: a tester's own answer for a part, at its frequency."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log
from typing import ClassVar, Literal

import numpy as np

from ohmbook.bench import cautions
from ohmbook.bench.clipping import clips_of
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Candidate, FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.meters import PartValue
from ohmbook.bench.ohms import as_shown, meter_of
from ohmbook.bench.row import Row
from ohmbook.bench.worked import Floats, Formula
from ohmbook.circuit.network import REFERENCE_HZ, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Farads, Henries, Hertz, Ohms
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.quantity import Accuracy, Quantity
from ohmbook.units.show import show_plain


def with_clips(value: Floats, loss: Floats, clips: Floats, octave: float) -> Floats:
    """What a tester shows with its clips: they are in series, or beside a capacitor."""
    return np.asarray(value * np.exp(-loss * octave) + clips)


_HAS = {
    "inductor": ("inductance", "resistance"),
    "capacitor": ("capacitance", "resistance"),
    "resistor": ("resistance",),
    "driver": ("resistance",),
}


class Meter(Reading):
    """One or more answers of a tester that was put on a part alone."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ("multimeter", "tester")

    form: ClassVar[FormWords] = FormWords(
        heading="What a tester says",
        does="A component tester's own answer, with the frequency at which it was given.",
        labels={"frequency": "The tester's frequency"},
        helps={"frequency": "as its manual says; 1 kHz is taken where it stays empty"},
        order=("part", "inductance", "capacitance", "resistance", "frequency"),
        results=("inductance", "capacitance", "resistance"),
        usual="pocket tester",
    )

    kind: Literal["meter"]
    part: str
    inductance: Henries | None = None
    capacitance: Farads | None = None
    resistance: Ohms | None = None
    frequency: Hertz | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """At least one answer, of a quantity that the part has."""
        kind = sheet.parts[self.part].kind
        if not self._answers():
            yield Problem(("kind",), f"no answer is written; expected {' or '.join(_HAS[kind])}")
        for quantity in self._answers():
            if quantity not in _HAS[kind]:
                yield Problem(
                    (quantity,),
                    f"{self.part} is a {kind}, which has no {quantity}; "
                    f"expected {' or '.join(_HAS[kind])}",
                )
        for quantity, written in self._answers().items():
            if quantity != "resistance" and written.value == 0.0:
                yield Problem(
                    (quantity,),
                    f'"{written.text}": a tester that shows 0 could not '
                    "read the part; leave the reading out",
                )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The tester's clips on the part."""
        name = self.instrument or "tester"
        ends: Pair = ("a", "b")
        network = Network((desk.branch(self.part, ends),), Drive(ends))
        clips = (Clip("meter", name, "+", "a"), Clip("meter", name, "-", "b"))
        first = (cautions.DISCHARGE,) if desk.part(self.part).kind == "capacitor" else ()
        return (SetUp(f"{name} on {self.part} alone", network, clips, first),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each answer."""
        desk.part(self.part)
        return [self._row(desk, quantity, written) for quantity, written in self._answers().items()]

    def working(self, view: View) -> Working | None:
        """Nothing to work out: the answer beside the settled value."""
        steps = []
        for quantity, written in self._answers().items():
            settled = self._settled(view, quantity)
            if settled is not None:
                shown = show_plain(settled, written.unit, 4)
                steps.append(
                    Step(
                        f"The tester's {quantity} against the settled one",
                        f"{written.text} / {shown}",
                        f"{100 * (written.value / settled - 1):+.1f} %",
                    )
                )
        return Working(
            f"{self.part}: a tester's answer",
            self.name,
            tuple(steps),
            "common practice, no source",
            "A tester's answer holds at its own frequency and level; the full model "
            "carries it to others by the part's loss exponent.",
        )

    def _settled(self, view: View, quantity: str) -> float | None:
        if quantity == "resistance":
            return view.value((self.part, quantity))
        return view.at(self.part, self._f_hz())

    def _f_hz(self) -> float:
        return REFERENCE_HZ if self.frequency is None else self.frequency.value

    def _answers(self) -> dict[str, Quantity]:
        found = {
            "inductance": self.inductance,
            "capacitance": self.capacitance,
            "resistance": self.resistance,
        }
        return {quantity: written for quantity, written in found.items() if written is not None}

    def _row(self, desk: Desk, quantity: str, written: Quantity) -> Row:
        _, meter = meter_of(desk, self)
        accuracy: Accuracy | None = getattr(meter, quantity, None)
        gains, own = as_shown(desk, self, written, quantity, accuracy)
        loss: Id = (self.part, "loss")
        known = loss in desk.unknowns and quantity != "resistance"
        if known and self.frequency is None:
            desk.find(
                "assumption",
                f"{self.name}: the tester's frequency is not stated; 1 kHz is taken",
                readings=[self.name],
                parts=[self.part],
            )
        model: PartValue | Formula = PartValue(
            (self.part, quantity), gains, loss if known else ZERO, self._f_hz()
        )
        own_clips: Id | None = getattr(clips_of(desk, self), quantity)
        if own_clips is not None:
            of = ((self.part, quantity), loss if known else ZERO, own_clips)
            told = tuple((one, 1.0) for one in gains)
            octave = log(self._f_hz() / REFERENCE_HZ)
            model = Formula(with_clips, of, (octave,), told, self._f_hz())
        return Row(
            self.name,
            f"{self.name}: {quantity} of {self.part}",
            written.value,
            own.u**2,
            own.shape,
            model,
            unit=written.unit,
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:  # noqa: ARG003
        """None: a tester either answers for a part or does not; the person has tried it."""
        return ()
