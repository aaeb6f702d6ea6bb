"""A meter's clips: their resistance and inductance (read shorted), their capacitance (read open).

Where a meter's clips were read, what they add is counted in at every reading of that meter, as one
unknown that all of them share; where they were not, that is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from typing import ClassVar

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.circuit.network import Branch, Id, Node, Pair
from ohmbook.documents.reading import ReadingBase
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity

USUAL: dict[str, Prior] = {
    "resistance": Prior(log(0.1), log(4.0)),
    "inductance": Prior(log(0.3e-6), log(4.0)),
    "capacitance": Prior(log(10e-12), log(4.0)),
}
"""What clips and their leads usually have, before they are read; common practice, no source."""

OWN: Node = "meter's own"
"""The meter's own end of its - clip: both clips' resistance counts in that one, as a ground's."""


class ClipsRead(Reading):
    """A reading of the meter's own clips: `quantities` says of what."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ("tester", "multimeter")
    quantities: ClassVar[tuple[str, ...]] = ()

    def answers(self) -> Mapping[str, Quantity]:
        """What was read, by quantity."""
        found = {quantity: getattr(self, quantity) for quantity in self.quantities}
        return {quantity: written for quantity, written in found.items() if written is not None}


@dataclass(frozen=True, slots=True)
class Clips:
    """What is known to be between a meter and what it is clipped to: ids, None where not read."""

    resistance: Id | None = None
    inductance: Id | None = None
    capacitance: Id | None = None

    @property
    def any(self) -> bool:
        """Whether anything of them was read."""
        return bool(self.resistance or self.inductance or self.capacitance)

    def branches(self, desk: Desk, ends: Pair) -> tuple[tuple[Branch, ...], Pair]:
        """The clips as branches, and where the meter itself then is."""
        found: list[Branch] = []
        inner: Pair = ends
        if self.resistance or self.inductance:
            owner = (self.resistance or self.inductance or ("", ""))[0]
            if self.inductance is None:
                desk.constant((owner, "inductance"), 0.0)
            found.append(Branch(owner, "inductor", (ends[1], OWN)))
            inner = (ends[0], OWN)
        if self.capacitance:
            found.append(Branch(self.capacitance[0], "capacitor", inner))
        return tuple(found), inner


def clips_of(desk: Desk, reading: ReadingBase) -> Clips:
    """The clips of a reading's meter, as far as the sheet has readings of them."""
    name = reading.instrument
    read = {
        quantity
        for one in desk.sheet.readings
        if isinstance(one, ClipsRead) and one.instrument == name and one.struck is None
        for quantity in one.answers()
    }
    if name is None:
        return Clips()
    return Clips(**{quantity: clip_id(desk, name, quantity) for quantity in read})


def tell_unread(desk: Desk, reading: ReadingBase) -> None:
    """Say so where nothing is known of a meter's clips."""
    name = reading.instrument or "the meter"
    desk.find(
        "assumption",
        f"{name}: its clips were not read; they are taken to add nothing. Read them shorted (kind "
        '"clips shorted") and open (kind "clips open"), unless the meter was zeroed with them',
        readings=[reading.name],
    )


def clip_id(desk: Desk, name: str, quantity: str) -> Id:
    """One quantity of a meter's clips, entered in the books."""
    owner = f"{name}'s open clips" if quantity == "capacitance" else f"{name}'s clips"
    return desk.unknown((owner, quantity), "log", USUAL[quantity])
