"""The voltage divider worked out by hand, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from ohmbook.documents.estimate import Step
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_plain

_UNIT: dict[str, Unit] = {"inductor": "H", "capacitor": "F"}


@dataclass(frozen=True, slots=True)
class Divider:
    """A part in series with a resistance R, read as a share q of the open amplitude.

    Args:
        kind: what the part is.
        q: the share, between 0 and 1.
        total_ohm: R, the source's own and a resistor's.
        read_ohm: the resistor that the probe is on; 0 where it is on the part.
        f_hz: the frequency.
    """

    kind: str
    q: float
    total_ohm: float
    read_ohm: float
    f_hz: float

    def steps(self) -> tuple[tuple[Step, ...], float]:
        """The steps from q to the part's value, and that value in SI units."""
        if self.kind in _UNIT:
            first, reactance = self._reactance()
            last, value = self._from_reactance(reactance)
            return (first, last), value
        step, value = self._resistance()
        return (step,), value

    def remark(self, by_hand: float, settled: float | None) -> str:
        """What the full model adds, and how much that changed the answer."""
        words = (
            "The full model adds the part's series resistance and losses, the scope's errors "
            "and every other reading."
        )
        if settled is None or by_hand <= 0.0:
            return words
        unit = _UNIT.get(self.kind, "ohm")
        return (
            f"{words} It says {show_plain(settled, unit, 4)}, "
            f"{100 * (settled / by_hand - 1):+.2f} % from the value by hand."
        )

    def _reactance(self) -> tuple[Step, float]:
        total = show_plain(self.total_ohm, "ohm", 4)
        if self.read_ohm:
            size = sqrt(max((self.read_ohm / self.q) ** 2 - self.total_ohm**2, 0.0))
            return Step(
                "The probe is on the resistor R', so q = R' / sqrt(R^2 + X^2)",
                f"X = sqrt(({show_plain(self.read_ohm, 'ohm', 4)} / {self.q:.4f})^2 - ({total})^2)",
                show_plain(size, "ohm", 4),
            ), size
        size = self.total_ohm * self.q / sqrt(1.0 - self.q**2)
        return Step(
            "Reactance and resistance stand at a right angle",
            f"X = R q / sqrt(1 - q^2) = {total} x {self.q:.4f} / sqrt(1 - {self.q:.4f}^2)",
            show_plain(size, "ohm", 4),
        ), size

    def _from_reactance(self, reactance: float) -> tuple[Step, float]:
        f, x = show_plain(self.f_hz, "Hz", 4), show_plain(reactance, "ohm", 4)
        if self.kind == "inductor":
            value = reactance / (2.0 * pi * self.f_hz)
            return Step(
                "From reactance to inductance",
                f"L = X / (2 pi f) = {x} / (2 pi {f})",
                show_plain(value, "H", 4),
            ), value
        value = 1.0 / (2.0 * pi * self.f_hz * reactance) if reactance else 0.0
        return Step(
            "From reactance to capacitance",
            f"C = 1 / (2 pi f X) = 1 / (2 pi {f} {x})",
            show_plain(value, "F", 4),
        ), value

    def _resistance(self) -> tuple[Step, float]:
        total = show_plain(self.total_ohm, "ohm", 4)
        if self.read_ohm:
            read = show_plain(self.read_ohm, "ohm", 4)
            value = self.read_ohm / self.q - self.total_ohm
            formula = f"{read} / {self.q:.4f} - {total}"
        else:
            value = self.total_ohm * self.q / (1.0 - self.q)
            formula = f"R = {total} x {self.q:.4f} / (1 - {self.q:.4f})"
        return Step(
            "A resistor divides without a right angle", formula, show_plain(value, "ohm", 4)
        ), value
