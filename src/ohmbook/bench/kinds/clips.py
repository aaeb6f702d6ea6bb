"""`clips shorted` and `clips open`: what a meter shows of its own clips, so that it can be taken
off every other reading of that meter.

Two kinds in one file, since they are the two halves of one calibration.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Literal

from ohmbook.bench.clipping import ClipsRead, clip_id
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import FormWords, View
from ohmbook.bench.meters import Sum
from ohmbook.bench.ohms import as_shown, meter_of
from ohmbook.bench.row import Row
from ohmbook.circuit.network import Branch, Drive, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Farads, Henries, Ohms
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.show import show_plain

_ENDS: Pair = ("a", "b")


class _Clips(ClipsRead):
    """What both halves have in common."""

    how: ClassVar[Literal["shorted", "open"]]

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A meter that has a name."""
        if self.instrument is None and len(sheet.instruments) != 1:
            yield Problem(
                ("instrument",),
                "no instrument is named, so nothing is known of its clips; expected "
                'instrument = "..."',
            )

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:  # noqa: ARG002
        """The clips on each other, or on nothing."""
        name = self.instrument or "tester"
        element: Literal["short", "open"] = "short" if self.how == "shorted" else "open"
        network = Network((Branch("", element, _ENDS),), Drive(_ENDS))
        clips = (Clip("meter", name, "+", "a"), Clip("meter", name, "-", "b"))
        return (SetUp(f"{name} with its clips {self.how}", network, clips),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each answer."""
        _, meter = meter_of(desk, self)
        rows = []
        for quantity, written in self.answers().items():
            one = clip_id(desk, self.instrument or "meter", quantity)
            accuracy = getattr(meter, quantity, None)
            gains, own = as_shown(desk, self, written, quantity, accuracy)
            label = f"{self.name}: {quantity} of clips {self.how}"
            model = Sum(((one, 1.0),), gains)
            variance = own.u**2
            rows.append(
                Row(
                    self.name,
                    label,
                    written.value,
                    variance,
                    own.shape,
                    model,
                    unit=written.unit,
                )
            )
        return rows

    def working(self, view: View) -> Working | None:
        """What is taken off."""
        name = self.instrument or "the meter"
        owner = f"{name}'s open clips" if self.how == "open" else f"{name}'s clips"
        steps = []
        for quantity, written in self.answers().items():
            settled = view.value((owner, quantity))
            shown = written.value if settled is None else settled
            words = f"The {quantity} to take off every reading of {name}"
            steps.append(Step(words, written.text, show_plain(shown, written.unit)))
        return Working(
            f"{name}'s clips, from {self.name}",
            self.name,
            tuple(steps),
            "open and short correction; common practice, no source",
            "Shorted clips stand in series with the part, open ones beside it: the full model "
            "puts them there, shared by all readings of this meter.",
        )


class ClipsShorted(_Clips):
    """The meter's clips on each other: resistance and inductance of clips and leads."""

    how: ClassVar[Literal["shorted", "open"]] = "shorted"
    quantities: ClassVar[tuple[str, ...]] = ("resistance", "inductance")

    form: ClassVar[FormWords] = FormWords(
        heading="The meter's clips on each other",
        does="What a meter shows with its clips shorted, so that"
        " it is taken off every other reading of that meter.",
        results=("resistance", "inductance"),
        usual="LCR meter",
    )

    kind: Literal["clips shorted"]
    resistance: Ohms
    inductance: Henries | None = None


class ClipsOpen(_Clips):
    """The meter's clips apart, as far as they are on a part: their capacitance."""

    how: ClassVar[Literal["shorted", "open"]] = "open"
    quantities: ClassVar[tuple[str, ...]] = ("capacitance",)

    form: ClassVar[FormWords] = FormWords(
        heading="The meter's clips apart",
        does="What a meter shows with its clips open, so that"
        " it is taken off every other reading of that meter.",
        results=("capacitance",),
        usual="LCR meter",
    )

    kind: Literal["clips open"]
    capacitance: Farads
