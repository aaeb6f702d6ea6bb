"""Where source and scope are clipped: grounds, their leads, the probe's load, and shorts."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from ohmbook.bench import priors
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.bench.screen import Screen
from ohmbook.circuit.network import Branch, Drive, Node, Pair
from ohmbook.documents.part import Oscilloscope, Source
from ohmbook.documents.reading import Sheet
from ohmbook.documents.setup import Clip
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity

EARTH: Node = "earth (instruments)"
"""The node of the instruments' own ground, apart from the board's by the ground clip."""


@dataclass(frozen=True, slots=True)
class Grounds:
    """Where source and scope are clipped: the drive, the reference node, and the clips."""

    drive: Drive
    reference: Node
    lead: tuple[Branch, ...]
    clips: tuple[Clip, ...]


def ground_node(sheet: Sheet) -> Node:
    """The board's ground node."""
    return "gnd" if sheet.sketch is None else sheet.sketch.ground


def is_earthed(thing: Source | Oscilloscope | None) -> bool:
    """Whether a thing's ground is earth; not stated counts as earthed, the cautious side."""
    return thing is not None and thing.earthed is not False


def grounds(desk: Desk, reading: Reading, ends: Pair, reference: Node, on: Screen) -> Grounds:
    """The drive and the scope's ground, with the ground lead between instrument and board.

    Where both are earthed the source's minus and the scope's ground are one node, apart from the
    board's node by the lead: all current returns through it.
    """
    name, source = desk.source(reading)
    clips = (
        Clip("source", name, "+", ends[0]),
        Clip("source", name, "-", ends[1]),
        Clip("scope", on.name or "scope", "ground", reference),
    )
    if not (is_earthed(source) and (on.scope is None or is_earthed(on.scope))):
        return Grounds(Drive(ends, name), reference, (), clips)
    lead = ground_lead(
        desk, on, (ends, reading.source, getattr(reading, "changes", tuple)()), reference
    )
    if not lead:
        return Grounds(Drive(ends, name), reference, (), clips)
    return Grounds(Drive((ends[0], EARTH), name), EARTH, lead, clips)


def ground_lead(
    desk: Desk, on: Screen, connection: object, node: Node, always: bool = True
) -> tuple[Branch, ...]:
    """The lead between the instruments' ground and a node, shared by a set-up; may be none.

    Args:
        desk: the books.
        on: the instrument whose lead it is.
        connection: what identifies the set-up.
        node: the board's node it is clipped to.
        always: take the usual lead where the sheet states none.
    """
    stated = None if on.scope is None else on.scope.return_lead
    if (stated is None and not always) or (stated is not None and stated.value == 0.0):
        return ()
    owner = f"{on.name or 'scope'}'s ground lead, set-up {desk.number((on.name, connection))}"
    desk.unknown((owner, "resistance"), "log", _lead_prior(stated))
    desk.unknown(
        (owner, "inductance"), "log", Prior(log(priors.RETURN_INDUCTANCE_H), priors.RETURN_FACTOR)
    )
    return (Branch(owner, "inductor", (node, EARTH)),)


def probe_owner(on: Screen, node: Node) -> str:
    """Whose capacitance the probe's is while it is on a node."""
    return f"{on.name or 'scope'}'s probe on {node}"


def probe_load(desk: Desk, on: Screen, ends: Pair) -> tuple[Branch, ...]:
    """The probe's capacitance across what it reads; none where none is stated."""
    if on.scope is None or on.scope.probe_capacitance is None:
        return ()
    owner, probe = probe_owner(on, ends[0]), f"{on.name or 'scope'}'s probe"
    desk.same[(owner, "capacitance")] = desk.stated(
        probe, "capacitance", on.scope.probe_capacitance
    )
    return (Branch(owner, "capacitor", ends),)


def owners_of(*groups: tuple[Branch, ...]) -> tuple[str, ...]:
    """The owners of the instruments' own branches, each once."""
    return tuple(dict.fromkeys(one.owner for group in groups for one in group))


def counted_in(lead: tuple[Branch, ...], loads: tuple[Branch, ...]) -> tuple[str, ...]:
    """What the model counts in besides the board, in words."""
    words = [
        *(["the scope's ground lead"] if lead else []),
        *(["the probe's capacitance"] if loads else []),
    ]
    return (f"counted in: {' and '.join(words)}",) if words else ()


def shorting(sheet: Sheet, reading: Reading, minus: Node, reference: Node) -> str | None:
    """The sentence that tells of grounds that short the board; None where they do not."""
    source = sheet.sources.get(reading.source or "")
    scope = sheet.instruments.get(reading.instrument or "")
    if minus == reference or not isinstance(scope, Oscilloscope):
        return None
    if not (is_earthed(source) and is_earthed(scope)):
        return None
    return (
        f"{reading.source}'s ground is on \"{minus}\" and {reading.instrument}'s on "
        f'"{reference}", and both are earthed: that shorts the board between them. Clip both '
        "grounds to one node, or use a source that is not earthed (earthed = false)"
    )


def _lead_prior(stated: Quantity | None) -> Prior:
    if stated is not None and stated.spread is not None:
        return priors.stated_prior(stated)
    centre = priors.RETURN_RESISTANCE_OHM if stated is None else stated.value
    return Prior(log(centre), priors.RETURN_FACTOR)
