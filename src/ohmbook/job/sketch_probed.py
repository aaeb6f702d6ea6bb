"""Reading a board from its sketch: a node is touched with the probe, an amplitude is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.part import Sketch
from ohmbook.documents.reading import Sheet
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.read import draft_of

_FREQUENCY = "1 kHz"


@dataclass(frozen=True, slots=True)
class Connected:
    """How the board is connected while it is probed: kept from one node to the next.

    Args:
        at: where the source is clipped, a node against ground or a pair.
        frequency: as a person writes it.
        detached: the drivers that are unplugged.
    """

    at: Node | Pair | None
    frequency: str
    detached: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """As JSON."""
        at = list(self.at) if isinstance(self.at, tuple) else self.at
        return {"at": at, "frequency": self.frequency, "detached": list(self.detached)}


def connected(book: Notebook, board: str) -> Connected:
    """How the board was connected last; with its drivers unplugged where it never was.

    Args:
        book: which.
        board: its name.
    """
    plain = book.plain(board)
    for raw in reversed(plain.get(READINGS, ())):
        if raw.get("kind") == "probe" and raw.get("at") and "struck" not in raw:
            at = raw["at"] if isinstance(raw["at"], str) else tuple(raw["at"])
            detached = tuple(map(str, raw.get("detached", ())))
            return Connected(at, str(raw.get("frequency", _FREQUENCY)), detached)
    draft = draft_of(plain)
    sketch = draft.sketch or Sketch()
    return Connected(sketch.input, _FREQUENCY, drivers_of(draft))


def drivers_of(draft: Sheet) -> tuple[str, ...]:
    """The drivers of a board."""
    return tuple(name for name, one in draft.parts.items() if one.kind == "driver")


def probed(board: str, amplitudes: Mapping[Node, str], how: Connected) -> Change:
    """A probe reading to be written.

    Args:
        board: which.
        amplitudes: as they are told, by node.
        how: how it was connected.
    """
    at: str | list[str] | None = list(how.at) if isinstance(how.at, tuple) else how.at
    raw: dict[str, Any] = {"kind": "probe", "at": at, "frequency": how.frequency}
    if how.detached:
        raw["detached"] = list(how.detached)
    raw["amplitudes"] = dict(amplitudes)
    return Change(Subject(board, READINGS, ""), raw)


def probe_words(board: str, nodes: Sequence[Node]) -> str:
    """The same for the history."""
    return f"{', '.join(nodes)} of {board} probed"
