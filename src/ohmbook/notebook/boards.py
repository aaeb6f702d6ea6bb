"""A board at one moment: its plain values as a sheet has them, and its readings with their ink."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.ink import BOARD, NAMED, READINGS, WHOLE, Entry, Subject
from ohmbook.notebook.ledger import View


@dataclass(frozen=True)
class Kept:
    """A reading as it stands.

    Args:
        number: counted from 1 over all readings that the board ever had since it was begun, so it
            never changes.
        entry: the entry that holds.
        raw: its plain values.
    """

    number: int
    entry: Entry
    raw: dict[str, Any]

    @property
    def name(self) -> str:
        """Its own name, or "reading N"."""
        return str(self.raw.get("name") or f"reading {self.number}")

    @property
    def struck(self) -> str | None:
        """Why it does not count, where it is struck."""
        found = self.raw.get("struck")
        return None if found is None else str(found)


def boards(view: View) -> tuple[str, ...]:
    """The boards that are there, in the order they were begun."""
    every = view.ledger.boards()
    return tuple(one for one in every if view.head(Subject(one, BOARD, "")) is not None)


def readings(view: View, board: str) -> Iterator[Kept]:
    """Every reading of a board, struck ones too, in order."""
    for number, subject in enumerate(reading_subjects(view, board), 1):
        found = kept(view, subject, number)
        if found is not None:
            yield found


def reading_subjects(view: View, board: str) -> Sequence[Subject]:
    """Every reading that a board ever had since it was begun, in order.

    One that was begun, taken back and begun anew counts from 1 again: what came before and counts
    no longer is left out. (In a rescued notebook what counts can come before.)
    """
    every = view.ledger.subjects(board, READINGS)
    begun = view.head(Subject(board, BOARD, ""))
    if begun is None:
        return every
    earlier = bisect_right(every, begun.id, key=lambda one: view.ledger.history(one)[0].id)
    if not earlier:
        return every
    return [*(one for one in every[:earlier] if view.head(one) is not None), *every[earlier:]]


def kept(view: View, subject: Subject, number: int) -> Kept | None:
    """A reading as it stands; None where it is taken out, or its writing was taken back."""
    head = view.head(subject)
    if head is None or head.body is None:
        return None
    return Kept(number, head, from_body(head.body))


def plain(view: View, board: str, *, with_readings: bool = True) -> dict[str, Any]:
    """A board's plain values, as a sheet has them.

    Args:
        view: the moment.
        board: its name.
        with_readings: whether they are wanted too.
    """
    found: dict[str, Any] = {}
    for section in (*WHOLE[:2], *NAMED, WHOLE[2]):
        held = {
            one.subject.key: from_body(one.body)
            for one in view.standing(board, section)
            if one.body is not None
        }
        if held:
            found[section] = held[""] if section in WHOLE else held
    listed = [_in_place(one, place) for place, one in enumerate(readings(view, board), 1)]
    if with_readings and listed:
        found[READINGS] = listed
    return found


def _in_place(kept: Kept, place: int) -> dict[str, Any]:
    """A reading with its name told where its place no longer tells it."""
    if kept.number == place or "name" in kept.raw:
        return kept.raw
    return {**kept.raw, "name": kept.name}
