"""An archive made a notebook again: with everything as it was, or not at all."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook import archive as made
from ohmbook.notebook.attachments import MOST_BYTES, every_hash, every_size
from ohmbook.notebook.book import Book
from ohmbook.notebook.commas import from_csv
from ohmbook.notebook.migrations import MIGRATIONS
from ohmbook.notebook.opening import fill_new, opened
from ohmbook.notebook.parcel import LIMITS, Limits, Parcel, opened_parcel, sha256
from ohmbook.notebook.placing import made_beside
from ohmbook.notebook.store import Store, insert, insert_attachment
from ohmbook.notebook.thumbnails import thumbnail
from ohmbook.notebook.told_history import told_history
from ohmbook.sheet.plain import plain_text

_CHANGED = "nothing was made from it; take another copy of the archive"
_FAULTS = (ValueError, TypeError, KeyError, AttributeError, LookupError, RecursionError)
"""What reading a text that is not what it should be comes to."""


def unpack(
    source: str | os.PathLike[str], path: str | os.PathLike[str], limits: Limits = LIMITS
) -> None:
    """Make a new notebook of an archive.

    Args:
        source: the zip file.
        path: the notebook; nothing may be there.
        limits: what the archive may hold.

    Raises:
        NotebookError: there is no such archive, it is from a newer ohmbook, it is not as ohmbook
            makes them, or no notebook can be made there; nothing is left behind.
        DamagedError: something else stands in it than was written.
    """
    file = os.fspath(source)
    with (
        made_beside(Path(path), os.fspath(path)) as draft,
        opened_parcel(Path(source), file, limits) as parcel,
    ):
        contents = _Contents(parcel)
        fill_new(draft, os.fspath(path))
        store = Store(draft, os.fspath(path))
        try:
            _write(store, contents)
        finally:
            store.close()
        _hold_against(draft, contents)


class _Contents:
    """What an archive holds, each file held against the manifest as it is read."""

    def __init__(self, parcel: Parcel) -> None:
        self.parcel, self.file = parcel, parcel.file
        self._manifest: Mapping[str, tuple[int, str]] = {}
        self._refuse_newer()
        self._manifest = self._listed()
        self.about = self._toml(made.ABOUT)
        self.read(made.README)
        with self.sound(made.ACTS):
            acts = from_csv(self.text(made.ACTS), made.ACT_COLUMNS)
        with self.sound(made.ENTRIES):
            entries = from_csv(self.text(made.ENTRIES), made.ENTRY_COLUMNS)
        with self.sound("its history"):
            self.ledger = told_history(acts, entries)
        self.hashes = every_hash(self.ledger.view())
        self.boards = self._boards()
        self._check_names()

    def read(self, name: str, most: int = LIMITS.one) -> bytes:
        """A file that is what the manifest says.

        Raises:
            DamagedError: it is not.
        """
        data = self.parcel.read(name, most)
        if (len(data), sha256(data)) != self._manifest.get(name):
            raise DamagedError(
                self.file, f"{name} is not what {made.MANIFEST} says of it", _CHANGED
            )
        return data

    def text(self, name: str) -> str:
        """The same as text."""
        return self.read(name).decode()

    def attachments(self) -> Iterator[tuple[str, bytes]]:
        """The hash and the bytes of each attachment, one after the other."""
        by_hash = {
            digest: name
            for name, (_, digest) in self._manifest.items()
            if name.startswith("attachments/")
        }
        sizes = every_size(self.ledger.view())
        for digest, subject in self.hashes.items():
            data = self.read(by_hash[digest], MOST_BYTES) if digest in by_hash else b""
            if sizes[digest] != {len(data)}:
                raise DamagedError(
                    self.file, f"the bytes of {subject.key} are not those attached", _CHANGED
                )
            yield digest, data

    @contextmanager
    def sound(self, what: str) -> Iterator[None]:
        """A text that is not what it should be becomes one clear message."""
        try:
            yield
        except _FAULTS as error:
            told = str(error) if type(error) is ValueError else "it is not as ohmbook writes it"
            raise DamagedError(
                self.file, f"{what} is not what was written: {told}", _CHANGED
            ) from error

    def _refuse_newer(self) -> None:
        with self.sound(made.ABOUT):
            about = tomllib.loads(self.parcel.read(made.ABOUT, 10_000_000).decode())
            newest = int(about["archive"]), int(about["notebook"])
            ours = about["format"] == made.FORMAT
        if not ours:
            raise NotebookError(self.file, "this is no archive of a notebook", "check the name")
        if newest[0] > made.VERSION or newest[1] > len(MIGRATIONS):
            raise NotebookError(
                self.file,
                f"it was made by a newer ohmbook (version {newest[0]} of the archive, {newest[1]} "
                f"of the notebook; this one reads up to {made.VERSION} and {len(MIGRATIONS)}); "
                "nothing was made from it",
                "use the newer ohmbook; the texts in it can be read by anything",
            )

    def _listed(self) -> Mapping[str, tuple[int, str]]:
        with self.sound(made.MANIFEST):
            text = self.parcel.read(made.MANIFEST, 10_000_000).decode()
            rows = from_csv(text, made.MANIFEST_COLUMNS)
            found = {name: (int(size), digest) for name, size, digest in rows}
        there = set(self.parcel.names) - {made.MANIFEST}
        for name in sorted(there ^ set(found)):
            what = "is not listed in" if name in there else "is missing, and listed in"
            raise DamagedError(self.file, f"{name!a} {what} {made.MANIFEST}", _CHANGED)
        return found

    def _toml(self, name: str) -> dict[str, Any]:
        with self.sound(name):
            return tomllib.loads(self.text(name))

    def _boards(self) -> dict[str, dict[str, Any]]:
        with self.sound(made.ABOUT):
            files = dict(self.about["boards"])
            every = {board: str(name) for board, name in files.items()}
        return {board: self._toml(name) for board, name in every.items()}

    def _check_names(self) -> None:
        expected = {
            made.README, made.ABOUT, made.ACTS, made.ENTRIES,
            *made.board_files(tuple(self.boards)).values(),
            *made.attachment_files(self.hashes).values(),
        }  # fmt: skip
        for name in sorted(expected ^ set(self._manifest)):
            what = "is missing" if name in expected else "does not belong there"
            raise DamagedError(self.file, f"{name} {what}", _CHANGED)
        told = [self.about.get(key) for key in ("acts", "entries", "attachments", "last_digest")]
        ledger = self.ledger
        found = [len(ledger.acts), len(ledger.entries), len(self.hashes), ledger.digest.hex()]
        if told != found:
            raise DamagedError(
                self.file, f"{made.ABOUT} says something else than the history", _CHANGED
            )


def _write(store: Store, contents: _Contents) -> None:
    ledger = contents.ledger
    with store.writing() as db:
        for act in ledger.acts:
            insert(db, act, ledger.made_by(act.id))
        for digest, data in contents.attachments():
            insert_attachment(db, bytes.fromhex(digest), data, thumbnail(data))


def _hold_against(draft: Path, contents: _Contents) -> None:
    """Open what was made as any notebook is, and hold its boards against those of the archive."""
    store, ledger = opened(draft, contents.file, readonly=True)
    book = Book(store, ledger)
    try:
        with contents.sound("a board"):
            boards = set(book.boards())
            wrong = store.damage() or [
                board
                for board in sorted(boards | set(contents.boards))
                if board not in boards
                or board not in contents.boards
                or plain_text(contents.boards[board]) != book.text(board)
            ]
    finally:
        book.close()
    if wrong:
        raise DamagedError(
            contents.file,
            f"{wrong[0]} says something else than the history",
            "nothing was made from it; to take in a changed sheet, unpack the archive as it was "
            "made and take the sheet in as a board of its own",
        )
