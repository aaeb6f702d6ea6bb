"""`coupled coils`: two coils, or two sections of a tapped one, in series aiding or opposing.

    L_aiding = L1 + L2 + 2 M,    L_opposing = L1 + L2 - 2 M,    M = (L_aiding - L_opposing) / 4

Each coil by itself is a reading of its own (kind "meter", or any other). A tapped coil's whole is
its two sections aiding.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log, sqrt
from typing import ClassVar, Literal, Self

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import FormWords, Reading, View
from ohmbook.bench.layout import ZERO
from ohmbook.bench.ohms import as_shown, meter_of
from ohmbook.bench.row import Row
from ohmbook.bench.worked import Formula, entered
from ohmbook.circuit.network import REFERENCE_HZ, Coupling, Drive, Id, Network, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Hertz, SomeHenries
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Prior
from ohmbook.units.parse import parse_quantity
from ohmbook.units.show import show_plain

Floats = NDArray[np.float64]

COUPLING = Prior(0.0, 1.7)
"""On the logit scale: anything from 0.03 to 0.97 is likely; common practice, no source."""


def in_series(*values: Floats | float) -> Floats:
    """Two coupled coils in series, H: inductance and loss of each, k; sign, ln(f / 1 kHz)."""
    one, one_loss, other, other_loss, k, sign, octave = values
    first = one * np.exp(-np.asarray(one_loss) * octave)
    second = other * np.exp(-np.asarray(other_loss) * octave)
    return np.asarray(first + second + 2.0 * sign * k * np.sqrt(first * second))


class CoupledCoils(Reading):
    """The inductance of two coupled coils in series."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ("tester", "multimeter")

    form: ClassVar[FormWords] = FormWords(
        heading="Two coupled coils",
        does="How two coils, or two sections of a tapped one, are coupled: read both in series, "
        "aiding and opposing, besides each by itself.",
        labels={
            "parts": "The two coils",
            "connected": "They are",
            "inductance": "Inductance of both in series",
            "frequency": "The tester's frequency",
        },
        helps={
            "connected": "aiding reads more than opposing; a tapped coil's whole is aiding",
            "frequency": "as its manual says; 1 kHz is taken where it stays empty",
        },
        order=("parts", "connected", "inductance", "frequency"),
        results=("inductance",),
        usual="LCR meter",
    )

    kind: Literal["coupled coils"]
    parts: tuple[str, str]
    connected: Literal["aiding", "opposing"]
    inductance: SomeHenries
    frequency: Hertz | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """Two coils."""
        if self.parts[0] == self.parts[1]:
            yield Problem(("parts",), f'"{self.parts[0]}" stands twice; expected two coils')
        for k, name in enumerate(self.parts):
            kind = sheet.parts[name].kind
            if kind != "inductor":
                yield Problem(("parts", k), f"{name} is a {kind}; expected a coil")

    @property
    def owner(self) -> str:
        """Whose coupling it is: the two names, in one order."""
        return " and ".join(sorted(self.parts))

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The tester on both coils in series."""
        name = self.instrument or "tester"
        self._coupling(desk)
        second: Pair = ("m", "b") if self.connected == "aiding" else ("b", "m")
        branches = (desk.branch(self.parts[0], ("a", "m")), desk.branch(self.parts[1], second))
        coupling = (Coupling(self.owner, self.parts),)
        network = Network(branches, Drive(("a", "b")), (), coupling)
        clips = (Clip("meter", name, "+", "a"), Clip("meter", name, "-", "b"))
        title = f"{name} on {self.parts[0]} and {self.parts[1]} in series, {self.connected}"
        return (SetUp(title, network, clips),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        """What the tester shows of both."""
        for name in self.parts:
            desk.part(name)
        _, meter = meter_of(desk, self)
        accuracy = None if meter is None else meter.inductance
        gains, own = as_shown(desk, self, self.inductance, "inductance", accuracy)
        f_hz = REFERENCE_HZ if self.frequency is None else self.frequency.value
        if self.frequency is None:
            desk.find(
                "assumption",
                f"{self.name}: the tester's frequency is not stated; 1 kHz is taken",
                readings=[self.name],
                parts=self.parts,
            )
        known = (*desk.unknowns, *desk.constants)
        of: list[Id] = []
        for name in self.parts:
            of += [(name, "inductance"), entered(known, (name, "loss"), ZERO)]
        of.append(self._coupling(desk))
        sign = 1.0 if self.connected == "aiding" else -1.0
        errors = tuple((one, 1.0) for one in gains)
        model = Formula(in_series, tuple(of), (sign, log(f_hz / REFERENCE_HZ)), errors, f_hz)
        label = f"{self.name}: {self.parts[0]} and {self.parts[1]} {self.connected}"
        return [
            Row(
                self.name,
                label,
                self.inductance.value,
                own.u**2,
                own.shape,
                model,
                unit="H",
            )
        ]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the inductance it should show."""
        shown = parse_quantity(f"{value:.5g} H", "H")
        return self.model_copy(update={"inductance": shown}), {
            "inductance": show_plain(value, "H", 4)
        }

    def working(self, view: View) -> Working | None:
        """Twice the mutual inductance is what both have more or less than their sum."""
        f_hz = REFERENCE_HZ if self.frequency is None else self.frequency.value
        one, other = (view.at(name, f_hz) for name in self.parts)
        if not one or not other:
            return None
        sign = 1.0 if self.connected == "aiding" else -1.0
        mutual = sign * (self.inductance.value - one - other) / 2.0
        settled = view.value((self.owner, "coupling")) or 0.0
        given = " and ".join(show_plain(value, "H", 4) for value in (one, other))
        return Working(
            f"How {self.parts[0]} and {self.parts[1]} are coupled, from {self.name}",
            self.name,
            (
                Step(
                    f"In series {self.connected}: L = L1 + L2 {'+' if sign > 0 else '-'} 2 M",
                    f"M = ({self.inductance.text} - L1 - L2) / 2"
                    if sign > 0
                    else f"M = (L1 + L2 - {self.inductance.text}) / 2",
                    show_plain(mutual, "H", 4),
                ),
                Step(
                    "The coupling",
                    f"k = M / sqrt(L1 L2), L1 and L2 are {given}",
                    f"{mutual / sqrt(one * other):.4f}",
                ),
            ),
            "coils in series, M = (L_aiding - L_opposing) / 4, any textbook",
            "Read aiding and opposing: their difference is four times M, whatever L1 and L2 are. "
            f"With every reading k is {settled:.4f} and M "
            f"{show_plain(settled * sqrt(one * other), 'H', 4)}.",
        )

    def _coupling(self, desk: Desk) -> Id:
        return desk.unknown((self.owner, "coupling"), "logit", COUPLING, nuisance=False)
