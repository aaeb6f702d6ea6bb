"""The board as connected for a reading: what was detached, put instead, shorted, added, lifted."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import Field

from ohmbook.bench import cautions
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.circuit.network import Branch
from ohmbook.documents.fields import OhmsOrPart
from ohmbook.documents.part import Driver, Source
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain


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
        yield from self._twice_problems()
        yield from self._instead_problems(sheet)
        nodes = {node for part in sheet.parts.values() for node in part.between or ()}
        for name, ends in self.added.items():
            yield from self._added_problems(sheet, name, ends)
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

    def _twice_problems(self) -> Iterable[Problem]:
        for name in set(self.shorted).intersection(self.instead):
            yield Problem(
                ("instead",),
                f'"{name}" is shorted as well; expected one of these for a part',
            )

    def _instead_problems(self, sheet: Sheet) -> Iterable[Problem]:
        for name, other in self.instead.items():
            if isinstance(other, str) and sheet.parts[other].kind not in ("resistor", "driver"):
                yield Problem(
                    ("instead", name),
                    f'"{other}" is not a resistor; expected a resistor, or a value such as '
                    '"10 ohm ± 1 %"',
                )

    def _added_problems(self, sheet: Sheet, name: str, ends: tuple[str, str]) -> Iterable[Problem]:
        if ends[0] == ends[1]:
            yield Problem(
                ("added", name),
                f'both ends of "{name}" are on node "{ends[0]}"; expected two nodes',
            )
        part = sheet.parts.get(name)
        if part is not None and part.between is not None and name not in self.detached:
            yield Problem(
                ("added", name),
                f'"{name}" is on the board already; expected a part without nodes, or one that is '
                "detached as well",
            )

    def board(self, desk: Desk, *, direct: bool = False) -> tuple[Branch, ...]:
        """The board's branches as connected, for a signal or for direct current."""
        gone = {*self.detached, *(end.rpartition(".")[0] for end in self.lifted)}
        found: list[Branch] = []
        for name, part in desk.sheet.parts.items():
            if part.between is None:
                continue
            if name in self.shorted:  # a wire or a load may stand where a part was detached
                found.append(Branch(name, "short", part.between))
            elif name in self.instead:
                owner = desk.named_or_stated(
                    f"{self.name}: instead of {name}", "resistance", self.instead[name]
                )
                found.append(Branch(owner, "resistor", part.between))
            elif name not in gone:
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
                f"{name} was connected during in-circuit readings; it is taken as a "
                "resistance within a quarter or so of its rated one, which a real driver is only "
                "in part of the band. Detach it, or put a known resistor in its place, for "
                "readings you want to rely on",
                parts=[name],
            )
        return desk.load(name)


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
