"""The board as connected for a reading: what was detached, put instead, shorted, added, lifted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pydantic import Field

from ohmbook.bench import cautions, priors
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.bench.screen import Screen
from ohmbook.circuit.network import Branch, Drive, Node, Pair
from ohmbook.documents.fields import OhmsOrPart
from ohmbook.documents.part import Driver, Oscilloscope, Source
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

EARTH: Node = "earth (instruments)"
"""The node of the instruments' own ground, apart from the board's by the ground clip."""


class OnBoard(Reading):
    """A reading on the board, and what was changed on it for the reading.

    `detached`: parts unplugged or unsoldered. `instead`: a known resistance in a part's place.
    `shorted`: parts bridged by a wire. `added`: parts of the drawer put between two nodes.
    `lifted`: one leg off the board ("C1.1"), which leaves the part open.
    """

    detached: tuple[str, ...] = ()
    instead: dict[str, OhmsOrPart] = Field(default_factory=dict)
    shorted: tuple[str, ...] = ()
    added: dict[str, tuple[str, str]] = Field(default_factory=dict)
    lifted: tuple[str, ...] = ()

    def board_problems(self, sheet: Sheet) -> Iterable[Problem]:
        """What is wrong with the changes: parts that are not on the board."""
        changed = [("detached", name) for name in self.detached]
        changed += [("instead", name) for name in self.instead]
        changed += [("shorted", name) for name in self.shorted]
        changed += [("lifted", name.rpartition(".")[0]) for name in self.lifted]
        for key, name in changed:
            part = sheet.parts.get(name)
            if part is not None and part.between is None:
                yield Problem(
                    (key,),
                    f'"{name}" is not on the board (it has no nodes); expected '
                    "a part of the sketch",
                )
        nodes = {node for part in sheet.parts.values() for node in part.between or ()}
        for name, ends in self.added.items():
            for node in ends:
                if node not in nodes:
                    yield Problem(
                        ("added", name),
                        f'"{node}" is no node of the board; expected '
                        f"one of {', '.join(sorted(nodes))}",
                    )
        if sheet.sketch is None and not any(part.between for part in sheet.parts.values()):
            yield Problem(
                ("kind",),
                "the sheet has no board: give its parts nodes "
                '(between = ["in", "w"]) or write a [sketch]',
            )

    def board(self, desk: Desk, *, direct: bool = False) -> tuple[Branch, ...]:
        """The board's branches as connected, for a signal or for direct current."""
        gone = {*self.detached, *(end.rpartition(".")[0] for end in self.lifted)}
        found: list[Branch] = []
        for name, part in desk.sheet.parts.items():
            if part.between is None or name in gone:
                continue
            if name in self.shorted:
                found.append(Branch(name, "short", part.between))
            elif name in self.instead:
                owner = desk.named_or_stated(
                    f"{self.name}: instead of {name}", "resistance", self.instead[name]
                )
                found.append(Branch(owner, "resistor", part.between))
            else:
                found.append(desk.branch(name) if direct else self._load(desk, name))
        found += [desk.branch(name, ends) for name, ends in self.added.items()]
        return tuple(found)

    def changes(self) -> tuple[str, ...]:
        """What was changed on the board, in words."""
        words = [f"{name} detached" for name in self.detached]
        words += [
            f"{value if isinstance(value, str) else value.text} instead of {name}"
            for name, value in self.instead.items()
        ]
        words += [f"{name} shorted" for name in self.shorted]
        words += [f"{name} added between {a} and {b}" for name, (a, b) in self.added.items()]
        return (
            *words,
            *(
                f"{end.rpartition('.')[0]} lifted at end {end.rpartition('.')[2]}"
                for end in self.lifted
            ),
        )

    def _load(self, desk: Desk, name: str) -> Branch:
        if isinstance(desk.sheet.parts[name], Driver):
            desk.find(
                "assumption",
                f"{name} was connected during in-circuit readings; it is taken as its rated "
                "resistance, which a real driver is only near. Detach it for readings you want to "
                "rely on",
                parts=[name],
            )
        return desk.load(name)


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
    board's node by the lead: all current returns through it (DESIGN.md 5).
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
        (owner, "inductance"), "log", Prior(_log(priors.RETURN_INDUCTANCE_H), priors.RETURN_FACTOR)
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


def load_watts(reading: OnBoard, source: Source) -> tuple[str, ...]:
    """What each load put instead of a driver could have to bear, in words."""
    open_ = getattr(reading, "open", None) or source.open
    if not isinstance(open_, Quantity):
        return ()
    from ohmbook.bench.volts import PEAK_TO_PEAK, convention_of

    vrms = open_.value * PEAK_TO_PEAK[convention_of(open_, None)] / PEAK_TO_PEAK["rms"]
    series = source.resistance.value if source.resistance is not None else 0.0
    words = []
    for name, load in reading.instead.items():
        ohms = load.value if isinstance(load, Quantity) else 0.0
        # the most a source can give away is a quarter of its short-circuit power
        watts = vrms**2 / (4.0 * series) if series else vrms**2 / ohms if ohms else 0.0
        if watts:
            words.append(
                f"the load instead of {name} takes at most "
                f"{show_plain(watts, 'W')} from this source"
            )
    return tuple(words)


def board_cautions(desk: Desk, reading: OnBoard) -> tuple[str, ...]:
    """The cautions of a reading on the board, in order."""
    drivers = [name for name, part in desk.sheet.parts.items() if isinstance(part, Driver)]
    loose = any(name in drivers for name in reading.detached)
    found = [cautions.DISCHARGE]
    if loose:
        found.append(cautions.NO_POWER_AMPLIFIER)
    return (*found, cautions.SCOPE_EARTH, cautions.BRIDGED)


def _lead_prior(stated: Quantity | None) -> Prior:
    if stated is not None and stated.spread is not None:
        return priors.stated_prior(stated)
    centre = priors.RETURN_RESISTANCE_OHM if stated is None else stated.value
    return Prior(_log(centre), priors.RETURN_FACTOR)


def _log(value: float) -> float:
    from math import log

    return log(value)
