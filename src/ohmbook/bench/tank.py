"""A coil and a capacitor joined, across the source: what resonance and ring-down are read on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from ohmbook.bench.desk import Desk
from ohmbook.circuit.network import Branch, Id, Pair
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.units.quantity import Quantity

Joined = Literal["series", "parallel"]
ProbedOn = Literal["both", "resistor", "part", "partner"]


@dataclass(frozen=True, slots=True)
class Wiring:
    """How the two parts, a resistor and the probe are joined.

    Args:
        part, partner: names.
        joined: to each other.
        resistor: the owner of a series resistor; None where there is none.
        probe_on: what is read.
    """

    part: str
    partner: str
    joined: Joined
    resistor: str | None
    probe_on: ProbedOn

    def branches(self, desk: Desk) -> tuple[Branch, ...]:
        """Between "out" (the source's +) and "com"; what is probed stands at "com"."""
        resistor = self.resistor
        above: Pair = ("out", "x" if resistor and self.probe_on != "resistor" else "com")
        if resistor is None:
            return self._two(desk, ("out", "com"))
        if self.probe_on == "resistor":
            return (*self._two(desk, ("out", "x")), Branch(resistor, "resistor", ("x", "com")))
        return (Branch(resistor, "resistor", above), *self._two(desk, ("x", "com")))

    @property
    def tip(self) -> str:
        """The node of the probe's tip."""
        if self.probe_on in ("part", "partner") and self.joined == "series":
            return "m"
        return "out" if self.resistor is None else "x"

    def _two(self, desk: Desk, ends: Pair) -> tuple[Branch, ...]:
        first, last = self.part, self.partner
        if self.joined == "parallel":
            return desk.branch(first, ends), desk.branch(last, ends)
        if self.probe_on == "part":
            first, last = last, first
        return desk.branch(first, (ends[0], "m")), desk.branch(last, ("m", ends[1]))


def pair_problems(reading: ReadingBase, sheet: Sheet, part: str, partner: str) -> Iterable[Problem]:
    """One coil and one capacitor, both off the board, are needed."""
    kinds = {sheet.parts[part].kind, sheet.parts[partner].kind}
    if kinds != {"inductor", "capacitor"}:
        yield Problem(
            ("partner",),
            f"{part} and {partner} do not resonate with each other; expected a coil and a "
            "capacitor",
        )
    assert reading is not None


def resistor_problems(resistor: Quantity | str | None, sheet: Sheet) -> Iterable[Problem]:
    """A series resistor that is none."""
    if isinstance(resistor, str) and sheet.parts[resistor].kind != "resistor":
        yield Problem(
            ("resistor",),
            f'"{resistor}" is not a resistor; expected one, or a value such as "100.2 ohm"',
        )
    if isinstance(resistor, Quantity) and resistor.value == 0.0:
        yield Problem(
            ("resistor",),
            f'"{resistor.text}" is no resistor; leave the key out where there is none',
        )


def main_ids(desk: Desk, part: str, partner: str) -> tuple[Id, Id]:
    """The two main values, of which the product makes the resonance."""
    one, other = ((name, MAIN_QUANTITY[desk.part(name).kind]) for name in (part, partner))
    return one, other
