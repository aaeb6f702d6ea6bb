"""The mistakes that a sketch or a set-up may hold: how often each is met, and a change as such."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.reading import Sheet

ChangeKind = Literal[
    "open",
    "short",
    "link missing",
    "swapped",
    "end moved",
    "other kind",
    "link extra",
    "probe moved",
    "source moved",
    "ground moved",
    "not detached",
    "part missing",
]

ODDS: dict[ChangeKind, tuple[float, str]] = {
    "end moved": (0.10, "the commonest slip of tracing copper: a track followed one pad too far"),
    "swapped": (0.08, "parts of a size side by side are taken for each other"),
    "probe moved": (0.08, "nodes that meet at neighbouring pads, columns of a table exchanged"),
    "open": (0.05, "cold joints and burnt resistors are why boards come to a bench"),
    "link missing": (0.04, "a jumper or a track under a part is overlooked"),
    "other kind": (0.04, "a brown tube with wires may be any of them where no marking is left"),
    "not detached": (0.03, "a driver is unplugged at one terminal and hangs on the other"),
    "part missing": (0.03, "a small part under a coil or on the copper side is overlooked"),
    "source moved": (0.03, "the clip sits where it holds, not where it was meant to"),
    "short": (0.02, "solder bridges; parts that fail as a short are rarer than those that open"),
    "link extra": (0.02, "a crossing of tracks taken for a joint"),
    "ground moved": (0.02, "one clip for a whole evening; wrong ones are soon noticed"),
}
"""How likely a drawing or a set-up holds such a mistake, all of that kind together, and why.

Common practice, no source: what counts is their order, since evidence outweighs them by far.
"""


@dataclass(frozen=True, slots=True)
class Change:
    """One way in which the sketch may be wrong.

    Args:
        kind: of mistake.
        what: in words, as what is really so.
        text: what to write into the sheet.
        sheet: the changed sheet; the same readings in the same order.
        parts: the parts concerned.
        readings: the readings concerned, by name; none where all are.
    """

    kind: ChangeKind
    what: str
    text: str
    sheet: Sheet
    parts: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()


def nodes_of(sheet: Sheet) -> tuple[Node, ...]:
    """The board's nodes, in the order in which its parts name them."""
    named = (node for part in sheet.parts.values() for node in part.between or ())
    return tuple(dict.fromkeys(named))


def toml_pair(ends: Pair) -> str:
    """Two nodes as a part of the sheet has them."""
    return f'between = ["{ends[0]}", "{ends[1]}"]'
