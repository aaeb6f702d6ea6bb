"""A notebook that keeps things: attachments, labels, the drawer of spare parts."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace

from ohmbook.errors import CallError
from ohmbook.notebook import attachments as attaching
from ohmbook.notebook import labels as labelling
from ohmbook.notebook.acting import Acting
from ohmbook.notebook.attachments import Attached, To
from ohmbook.notebook.change import Change, Saved
from ohmbook.notebook.drawer import DRAWER, Move, moving
from ohmbook.notebook.labels import Labelled
from ohmbook.notebook.ledger import View
from ohmbook.notebook.store import insert_attachment


class Keeping(Acting):
    """A notebook's attachments, labels and drawer."""

    # attachments

    def attach(self, board: str, name: str, data: bytes, *, to: To = None, note: str = "") -> Saved:
        """Keep a photo or a capture with a board.

        Args:
            board: which.
            name: the person's name for it; made safe, with " (2)" where the board has one of that
                name. `attachments(board)[-1].name` is what it became.
            data: the original bytes.
            to: ("parts", "L1") or ("readings", "reading 3"); None: the board as a whole.
            note: a few words on it.

        Raises:
            NotebookError: it is empty, or larger than 25 MB.
            CallError: there is no such board, part or reading.
        """
        self._known(board)
        found = attaching.looked_at(data, name)

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            change = attaching.attaching(view, board, (name, found), to, note)
            return f"{change.subject.key} to {to[1] if to else board}", [change], None

        def keep(db: sqlite3.Connection) -> None:
            insert_attachment(db, found.digest, found.data, found.thumbnail)

        return self._act("attach", decide, also=keep)

    def attachments(self, board: str, at: int | None = None) -> tuple[Attached, ...]:
        """The attachments of a board, in the order they came.

        Raises:
            CallError: there is no such board.
        """
        return tuple(attaching.attachments(self.view(at), self._known(board, at)))

    def attachment(self, board: str, name: str, at: int | None = None) -> Attached:
        """An attachment by its name.

        Raises:
            CallError: there is none of that name.
        """
        there = {one.name: one for one in self.attachments(board, at)}
        if name not in there:
            raise CallError(
                f'There is no attachment "{name}" on {board}; there are: '
                f"{', '.join(there) or 'none yet'}."
            )
        return there[name]

    def take_out_attachment(self, board: str, name: str, base: int | None = None) -> Saved:
        """Take an attachment out of a board; its bytes and its history stay.

        Raises:
            CallError: there is none of that name.
        """
        subject = self.attachment(board, name).entry.subject
        return self.write("take out", f"{name} of {board}", [Change(subject, None, base)])

    def owner_name(self, one: Attached) -> str:
        """What an attachment belongs to, by its name: a part, a reading, or the board."""
        return attaching.owner_name(self.view(), one)

    def bytes_of(self, one: Attached) -> bytes:
        """An attachment's original bytes.

        Raises:
            DamagedError: they are not those that were attached.
        """
        return attaching.bytes_of(self._store, one.sha256, one.name)

    def thumbnail_of(self, one: Attached) -> bytes | None:
        """A small PNG or JPEG of it, upright; None where it is no picture."""
        return self._store.thumbnail(bytes.fromhex(one.sha256))

    def check(self) -> None:
        """Look through the whole file once more, every page and everything ever attached.

        Raises:
            DamagedError: something else stands in it than was written, or something is missing.
        """
        super().check()
        there = {digest.hex() for digest, _ in self._store.attachment_hashes()}
        for sha256, subject in attaching.every_hash(self.view()).items():
            if sha256 not in there:
                attaching.bytes_of(self._store, sha256, subject.key)

    # labels

    def label(self, board: str, part: str) -> str:
        """The code to stick on a part.

        Raises:
            CallError: there is no such part.
        """
        return labelling.label(self.view(), board, part)

    def labels(self, board: str, at: int | None = None) -> dict[str, str]:
        """The codes of the parts of a board, by name.

        Raises:
            CallError: there is no such board.
        """
        return labelling.labels(self.view(at), self._known(board, at))

    def part_of(self, code: str) -> Labelled:
        """The part that a label is on, and where it is now.

        Raises:
            CallError: the code is mistyped, or from another notebook.
        """
        return labelling.part_of(self.view(), code)

    # the drawer

    def put_away(
        self, board: str, part: str, value: str | None = None, resistance: str | None = None
    ) -> Saved:
        """Put a part into the drawer of spare parts, with what is known of it.

        Its own readings go along, with their source and instrument; from the board it is taken
        out where nothing else there refers to it.

        Args:
            board: where it is.
            part: its name there.
            value: its settled value, to be stated from now on, such as
                "0.812 mH ± 0.02 mH (k=2)"; its readings are then kept and no longer count, since
                what they say is in the value.
            resistance: its settled series resistance, likewise.

        Returns:
            What became of it; `told` says why it stays on the board as well, if it does.

        Raises:
            CallError: there is no such part.
            SheetError: the value is no such quantity.
        """
        stated = {"value": value, "resistance": resistance}
        said = {key: text for key, text in stated.items() if text is not None}
        return self._moved(Move(board, part, DRAWER, None, said))

    def take_from_drawer(self, name: str, board: str, as_name: str) -> Saved:
        """Take a part out of the drawer onto a board, with what is known of it.

        Args:
            name: its name in the drawer.
            board: where it goes; it is not drawn into the sketch.
            as_name: its name there.

        Raises:
            CallError: there is no such part or board, or the name is taken.
        """
        return self._moved(Move(DRAWER, name, board, as_name))

    def _moved(self, move: Move) -> Saved:
        if move.board == move.to:
            raise CallError(f"{move.part} is on {move.to} already.")
        told = ""

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            nonlocal told
            found = moving(view, move, self._store.file)
            told = found.told
            return found.words, found.changes, None

        kind = "put away" if move.to == DRAWER else "bring"
        return replace(self._act(kind, decide, checked=True), told=told)
