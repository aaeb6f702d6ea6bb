"""Reading a board from its sketch: a node is touched with the probe, an amplitude is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.part import Sketch
from ohmbook.documents.reading import Sheet
from ohmbook.job.drafting import Draft
from ohmbook.job.filling import begun_draft
from ohmbook.job.forms import Plain, bench_at, forms
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.read import draft_of
from ohmbook.units.parse import parse_quantity

_FREQUENCY = "1 kHz"
_WITH = ("source", "instrument")


@dataclass(frozen=True, slots=True)
class Connected:
    """How the board is connected while it is probed: kept from one node to the next.

    Args:
        at: where the source is clipped, a node against ground or a pair.
        frequency: as a person writes it.
        detached: the drivers that are unplugged.
        new: what it is taken with that is not on this board yet, by name.
    """

    at: Node | Pair | None
    frequency: str
    detached: tuple[str, ...]
    new: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """As JSON."""
        at = list(self.at) if isinstance(self.at, tuple) else self.at
        detached, new = list(self.detached), list(self.new)
        return {"at": at, "frequency": self.frequency, "detached": detached, "new": new}


def connected(book: Notebook, board: str) -> Connected:
    """How the board was connected last; with its drivers unplugged where it never was.

    Args:
        book: which.
        board: its name.
    """
    plain = book.plain(board)
    new = tuple(name for held in taken_with(plain).beside.values() for name in held)
    for raw in reversed(plain.get(READINGS, ())):
        if raw.get("kind") == "probe" and raw.get("at") and "struck" not in raw:
            at = raw["at"] if isinstance(raw["at"], str) else tuple(raw["at"])
            detached = tuple(map(str, raw.get("detached", ())))
            return Connected(at, str(raw.get("frequency", _FREQUENCY)), detached, new)
    draft = draft_of(plain)
    sketch = draft.sketch or Sketch()
    return Connected(sketch.input, _FREQUENCY, drivers_of(draft), new)


def drivers_of(draft: Sheet) -> tuple[str, ...]:
    """The drivers of a board."""
    return tuple(name for name, one in draft.parts.items() if one.kind == "driver")


def taken_with(plain: Plain) -> Draft:
    """What a board is probed with: as last, and what is usual where nothing is there yet.

    Args:
        plain: the board's plain values.
    """
    form = next(one for one in forms() if one.kind == "probe")
    last: Plain = next(
        (one for one in reversed(plain.get(READINGS, [])) if one.get("kind") == "probe"), {}
    )
    bench = bench_at(plain, form)
    draft = begun_draft(form, bench, {key: last[key] for key in _WITH if key in last})
    several = {"source": len(bench.sources()) > 1, "instrument": len(bench.able(form)) > 1}
    defaults = plain.get("defaults", {})
    named = {k: draft.reading[k] for k in _WITH if k in last or (several[k] and k not in defaults)}
    return Draft(named, draft.beside)


def new_with(board: str, using: Draft) -> list[Change]:
    """The source and the instrument that a board does not have yet, to be written.

    Args:
        board: which.
        using: what it is read with, see `taken_with`.
    """
    return [
        Change(Subject(board, section, name), value, 0)
        for section, held in using.beside.items()
        for name, value in held.items()
    ]


def probed(
    board: str, amplitudes: Mapping[Node, str], how: Connected, using: Draft
) -> list[Change]:
    """A probe reading to be written, after the source and the instrument that are new.

    Args:
        board: which.
        amplitudes: as they are told, by node.
        how: how it was connected.
        using: what it was taken with, see `taken_with`.

    Raises:
        QuantityError: a number is none of its kind.
    """
    parse_quantity(how.frequency, "Hz")
    for text in amplitudes.values():
        parse_quantity(text, "V")
    at: str | list[str] | None = list(how.at) if isinstance(how.at, tuple) else how.at
    raw: dict[str, Any] = {"kind": "probe", "at": at, "frequency": how.frequency}
    if how.detached:
        raw["detached"] = list(how.detached)
    raw |= {**using.reading, "amplitudes": dict(amplitudes)}
    return [*new_with(board, using), Change(Subject(board, READINGS, ""), raw)]


def probe_words(board: str, nodes: Sequence[Node]) -> str:
    """The same for the history."""
    return f"{', '.join(nodes)} of {board} probed"
