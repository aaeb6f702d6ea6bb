"""A throw-away reading kind in one file: two lamps of equal glow say two resistances are equal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Literal, Self

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Candidate, Reading, View
from ohmbook.bench.meters import PartValue
from ohmbook.bench.row import Row
from ohmbook.circuit.network import Drive, Network
from ohmbook.documents.fields import Ohms
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.parse import parse_quantity


class TwoLamps(Reading):
    """A resistor that glows its lamp as a known one does."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ()

    kind: Literal["two lamps"]
    part: str
    like: Ohms

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        network = Network((desk.branch(self.part, ("a", "b")),), Drive(("a", "b")))
        return (SetUp("two lamps", network, (Clip("meter", "lamp", "+", "a"),)),)

    def rows(self, desk: Desk) -> Sequence[Row]:
        desk.part(self.part)
        model = PartValue((self.part, "resistance"))
        u = max(self.like.u, 0.1 * self.like.value)
        return [Row(self.name, f"{self.name}: glow", self.like.value, u**2, "normal", model)]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        shown = f"{value:.1f} ohm"
        return self.model_copy(update={"like": parse_quantity(shown, "ohm")}), {"like": shown}

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Candidate]:
        found = []
        for name, part in desk.sheet.parts.items():
            if part.kind == "resistor":
                blank = {"kind": "two lamps", "part": name}
                reading = cls.model_validate({**blank, "like": "10 ohm", "name": f"lamps {name}"})
                found.append(Candidate(reading, blank, 1.0, f"compare {name} with a known lamp"))
        return found
