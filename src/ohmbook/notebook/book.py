"""A notebook looked at: what stands in it now, and what stood there at any moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.notebook import boards as standing
from ohmbook.notebook.boards import Kept
from ohmbook.notebook.ink import Act, Entry
from ohmbook.notebook.ledger import Ledger, View
from ohmbook.notebook.proving import proven, read_ledger
from ohmbook.notebook.store import Store
from ohmbook.sheet.plain import plain_text
from ohmbook.sheet.read import sheet_of


class Book:
    """What can be looked up in an open notebook."""

    def __init__(self, store: Store, ledger: Ledger) -> None:
        self._store, self._ledger = store, ledger

    def close(self) -> None:
        """Close the file."""
        self._store.close()

    @property
    def store(self) -> Store:
        """The file."""
        return self._store

    def refresh(self) -> int:
        """Read what others have written since; the last act's number."""
        return read_ledger(self._store, self._ledger).last

    def view(self, at: int | None = None) -> View:
        """What holds, or held after an act.

        Raises:
            CallError: there is no such act.
        """
        if at is not None and not 0 <= at <= self._ledger.last:
            raise CallError(
                f"{self._store.file} has no number {at} in its history; expected 0 to "
                f"{self._ledger.last}."
            )
        return self._ledger.view(at)

    def boards(self, at: int | None = None) -> tuple[str, ...]:
        """The boards that are there."""
        return standing.boards(self.view(at))

    def plain(self, board: str, at: int | None = None) -> dict[str, Any]:
        """A board's plain values, as a sheet has them.

        Raises:
            CallError: there is no such board.
        """
        return standing.plain(self.view(at), self._known(board, at))

    def text(self, board: str, at: int | None = None) -> str:
        """A board as a sheet's text: taken in again, it gives the same."""
        return plain_text(self.plain(board, at))

    def sheet(self, board: str, at: int | None = None) -> Sheet:
        """A board as a checked sheet.

        Raises:
            SheetError: the board is not finished, and what is missing.
        """
        return sheet_of(self.plain(board, at), file=f"{self._store.file}, {board}")

    def readings(self, board: str, at: int | None = None) -> tuple[Kept, ...]:
        """A board's readings, struck ones too."""
        return tuple(standing.readings(self.view(at), self._known(board, at)))

    def reading(self, board: str, name: str) -> Kept:
        """A reading by its name, or "reading 3".

        Raises:
            CallError: there is none.
        """
        found = {one.name: one for one in self.readings(board)}
        if name.isdecimal() and name not in found:
            name = f"reading {name}"
        if name not in found:
            raise CallError(
                f'There is no reading "{name}" on {board}; there are {", ".join(found) or "none"}.'
            )
        return found[name]

    def history(self) -> Sequence[Act]:
        """Everything that was done, in order."""
        return tuple(self._ledger.acts)

    def made_by(self, act: int) -> Sequence[Entry]:
        """What an act wrote."""
        return self._ledger.made_by(act)

    def check(self) -> None:
        """Look through the whole file once more, every page and attachment of it.

        Raises:
            DamagedError: something else stands in it than was written.
        """
        proven(self._store, wholly=True)

    def beside(self) -> tuple[Act, ...]:
        """Acts kept beside what holds, since they rested on an outdated state."""
        view = self.view()
        dealt_with = {one.undoes for one in self._ledger.acts if view.counts(one)}
        return tuple(one for one in self._ledger.acts if one.beside and one.id not in dealt_with)

    def _known(self, board: str, at: int | None = None) -> str:
        there = self.boards(at)
        if board not in there:
            listed = ", ".join(there) or "none yet"
            raise CallError(
                f'There is no board "{board}" in {self._store.file}; there are: {listed}.'
            )
        return board
