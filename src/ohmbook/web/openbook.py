"""The one notebook that a server has open: read and written by one request at a time.

Settled boards are kept until something on them changes. A write that was sent again, since its
answer was lost, is found to be there already.
"""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ohmbook.documents.reading import Sheet
from ohmbook.job import Settled, settle
from ohmbook.notebook.bodies import to_body
from ohmbook.notebook.change import Change, Saved
from ohmbook.notebook.ink import READINGS, Entry
from ohmbook.notebook.notebook import Notebook

KEPT = 4
"""Settled boards held at a time."""

_Key = tuple[str, str]


class OpenBook:
    """An open notebook behind a lock.

    Args:
        path: where it is; it exists.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._notebook = Notebook.open(path)
        self._gate = threading.RLock()
        self._settled: OrderedDict[_Key, Settled] = OrderedDict()
        self._settling: dict[str, threading.Lock] = {}

    def close(self) -> None:
        """Close the file, once nobody is at it."""
        with self._gate:
            self._notebook.close()

    @property
    def identity(self) -> str:
        """What tells this notebook from any other, for what the browser keeps of it."""
        with self.reading() as book:
            acts = book.history()
            return acts[0].digest.hex()[:16] if acts else "blank"

    @contextmanager
    def reading(self) -> Iterator[Notebook]:
        """The notebook as it stands, with nobody else at it."""
        with self._gate:
            self._notebook.refresh()
            yield self._notebook

    def last(self) -> int:
        """The number of the last act, by whoever wrote it."""
        with self.reading() as book:
            acts = book.history()
            return acts[-1].id if acts else 0

    def sheet(self, board: str) -> Sheet:
        """A board as a checked sheet.

        Raises:
            CallError: there is no such board.
            SheetError: it is not finished, and what is missing.
        """
        with self.reading() as book:
            return book.sheet(board)

    def settled(self, board: str) -> Settled:
        """A board with every value worked out; worked out once for what stands there.

        Raises:
            CallError: there is no such board.
            OhmbookError: it cannot be settled, and why.
        """
        with self._gate:
            alone = self._settling.setdefault(board, threading.Lock())
        with alone:
            with self.reading() as book:
                key = (board, json.dumps(book.plain(board), default=str))
                found = self._settled.get(key)
                sheet = None if found is not None else book.sheet(board)
            if sheet is not None:
                found = settle(sheet)
                self._keep(key, found)
            assert found is not None
            return found

    def _keep(self, key: _Key, found: Settled) -> None:
        with self._gate:
            self._settled[key] = found
            while len(self._settled) > KEPT:
                self._settled.popitem(last=False)

    def write(
        self, kind: str, words: str, changes: Sequence[Change], after: int | None = None
    ) -> Saved:
        """Write changes: all of them or none.

        Args:
            kind: what is done; see `ink.ActKind`.
            words: the same for the history.
            changes: each with the entry that its writer saw there as `base`.
            after: the last act that the writer knew of when it was first sent; where the very
                same has been written since, it is not written again.
        """
        with self.reading() as book:
            there = None if after is None else _written_since(book, changes, after)
            return there if there is not None else book.write(kind, words, changes)

    def do(self, deed: Callable[[Notebook], Saved]) -> Saved:
        """Anything else that the notebook can do, as one act."""
        with self.reading() as book:
            return deed(book)


def _written_since(book: Notebook, changes: Sequence[Change], after: int) -> Saved | None:
    """The act after a moment that wrote exactly these changes; None where there is none."""
    wanted = sorted(_gist(one.subject.board, *_of(one)) for one in changes)
    for act in book.history()[max(after, 0) :]:
        made = book.made_by(act.id)
        if made and sorted(_gist(one.subject.board, *_made(one)) for one in made) == wanted:
            return Saved(act.id, tuple(one.id for one in made), act.beside)
    return None


def _of(change: Change) -> tuple[str, str, str]:
    new = change.subject.section == READINGS and not change.subject.key
    key = "" if new else change.subject.key
    return change.subject.section, key, "" if change.value is None else to_body(change.value)


def _made(entry: Entry) -> tuple[str, str, str]:
    """The same of an entry: a reading's first one has its own number as its key."""
    section, key = entry.subject.section, entry.subject.key
    new = section == READINGS and key == str(entry.id)
    return section, "" if new else key, entry.body or ""


def _gist(board: str, section: str, key: str, body: str) -> tuple[str, ...]:
    return board, section, key, body
