"""The notebook: opened, written in, looked at as it stood at any moment.

Whatever is written stays. A reading is struck or revised, never changed; undo and redo are entries
of their own. Everything one call writes is one transaction, all of it or nothing.
"""

from __future__ import annotations

import getpass
import os
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

from ohmbook.errors import CallError
from ohmbook.notebook.change import Change, Saved
from ohmbook.notebook.checking import body_of, check_board_name
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.keeping import Keeping
from ohmbook.notebook.ledger import View
from ohmbook.notebook.opening import begin, opened
from ohmbook.notebook.store import WAIT_S
from ohmbook.notebook.telling import changes_of, count_of, listed
from ohmbook.sheet.read import check_alone, read_sheet
from ohmbook.sheet.syntax import parse


class Notebook(Keeping):
    """An open notebook. Use it in a `with`, or `close` it."""

    @classmethod
    def new(cls, path: str | os.PathLike[str], who: str | None = None) -> Notebook:
        """Begin a notebook.

        Raises:
            NotebookError: something of that name is there, or nothing can be written there.
        """
        begin(Path(path), os.fspath(path))
        return cls.open(path, who=who)

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        *,
        readonly: bool = False,
        who: str | None = None,
        wait_s: float = WAIT_S,
    ) -> Notebook:
        """Open a notebook; every entry is checked.

        Args:
            path: where it is.
            readonly: leave the file as it is.
            who: the writer, for the history; the name of whoever is logged in where None.
            wait_s: how long another program's writing is waited for, s.

        Raises:
            NotebookError: it cannot be opened.
            DamagedError: something else stands in it than was written.
        """
        store, ledger = opened(Path(path), os.fspath(path), readonly=readonly, wait_s=wait_s)
        return cls(store, ledger, who or logged_in())

    def __enter__(self) -> Notebook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # writing

    def take_in(self, board: str, text: str, file: str = "sheet") -> Saved:
        """Begin a board with everything a sheet says.

        Raises:
            SheetError: the sheet is at fault, and where.
            CallError: there is a board of that name.
        """
        read_sheet(text=text, file=file)
        raw, _ = parse(file, text.removeprefix("\ufeff"))

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            check_board_name(view, board)
            return f"{Path(file).name} as {board}", changes_of(board, raw), None

        return self._act("take in", decide, checked=True)

    def begin_board(self, board: str) -> Saved:
        """Begin an empty board.

        Raises:
            CallError: there is a board of that name, or it cannot be one.
        """

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            check_board_name(view, board)
            return board, changes_of(board, {}), None

        return self._act("begin", decide)

    def put(self, board: str, text: str, file: str = "sheet") -> Saved:
        """Write a piece of a sheet: readings are added, anything else takes the place of what
        stood under its name.

        Raises:
            SheetError: it is at fault, and where.
            CallError: there is no such board, or nothing in the text.
        """
        self._known(board)
        raw, _ = parse(file, text.removeprefix("\ufeff"))
        check_alone(raw, file=file)
        changes = changes_of(board, raw)[1:]
        if not changes:
            raise CallError(f"{file}: nothing to write; expected a [[readings]] or a part.")
        return self.write("write", f"{listed(changes)} on {board}", changes)

    def take_out(self, board: str, section: str, name: str, base: int | None = None) -> Saved:
        """Take a part, a source or an instrument out of a board; its history stays.

        Raises:
            CallError: it is not there, or readings refer to it.
        """
        subject = Subject(self._known(board), section, name)
        if body_of(self.view(), subject) is None:
            raise CallError(f'There is no "{name}" among the {section} of {board}.')
        return self.write("take out", f"{name} of {board}", [Change(subject, None, base)])

    def add(self, board: str, *raws: dict[str, Any]) -> Saved:
        """Write further readings, as a sheet has them."""
        self._known(board)
        changes = [Change(Subject(board, READINGS, ""), raw) for raw in raws]
        return self.write("write", f"{count_of(len(raws), 'reading')} on {board}", changes)

    def revise(self, board: str, name: str, raw: dict[str, Any], base: int | None = None) -> Saved:
        """Put another text in a reading's place; the one before stays, and is pointed to.

        Args:
            board: which.
            name: the reading's.
            raw: its plain values from now on.
            base: the entry that the writer saw there, so that nothing is overwritten unseen.
        """
        kept = self.reading(board, name)
        change = Change(kept.entry.subject, raw, kept.entry.id if base is None else base)
        again = kept.struck is not None and "struck" not in raw
        words = f"{kept.name} of {board}" + (", struck before; it counts again" if again else "")
        return self.write("revise", words, [change])

    def revise_text(
        self, board: str, name: str, text: str, file: str = "sheet", base: int | None = None
    ) -> Saved:
        """Put the one reading that a text holds in a reading's place.

        `base` is the entry that the writer saw there, so that nothing is overwritten unseen.

        Raises:
            SheetError: the text is at fault, and where.
            CallError: it holds something else than one reading.
        """
        raw, _ = parse(file, text.removeprefix("\ufeff"))
        check_alone(raw, file=file)
        if list(raw) != [READINGS] or len(raw[READINGS]) != 1:
            raise CallError(f"{file}: expected one reading, under [[readings]], and nothing else.")
        return self.revise(board, name, raw[READINGS][0], base)

    def strike(self, board: str, name: str, why: str, base: int | None = None) -> Saved:
        """Strike a reading: it stays, and no longer counts.

        Raises:
            CallError: no reason is given, or it is struck already.
        """
        kept = self.reading(board, name)
        if not why.strip():
            raise CallError('Why is it struck? Expected a few words, such as "probe slipped".')
        if kept.struck is not None:
            raise CallError(f"{kept.name} of {board} is struck already ({kept.struck}).")
        change = Change(kept.entry.subject, {**kept.raw, "struck": why}, base or kept.entry.id)
        return self.write("strike", f"{kept.name} of {board}: {why}", [change])

    def restore(self, board: str, name: str, base: int | None = None) -> Saved:
        """Let a struck reading count again."""
        kept = self.reading(board, name)
        if kept.struck is None:
            raise CallError(f"{kept.name} of {board} is not struck.")
        raw = {key: value for key, value in kept.raw.items() if key != "struck"}
        change = Change(kept.entry.subject, raw, base or kept.entry.id)
        return self.write("restore", f"{kept.name} of {board}", [change])


def logged_in() -> str:
    """The name of whoever is logged in."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "someone"
