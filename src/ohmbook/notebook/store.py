"""The file itself: SQLite with a write-ahead log. `writing` alone begins and ends transactions.

Every way in which the disk or another program can be in the way ends in one message that says what
was and was not written.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import log_of, way_out
from ohmbook.notebook.held import inode_of, let_go, opening
from ohmbook.notebook.ink import Act, Entry
from ohmbook.notebook.rows import act_of, entry_of
from ohmbook.notebook.trouble import in_words, name_of

WAIT_S = 5.0
"""How long another program's writing is waited for."""


class Store:
    """An open file.

    Args:
        path: where it is; it exists.
        file: what to call it in messages.
        readonly: nothing will be written.
        at_rest: nobody writes in it, and a log beside it is not looked at; for reading only.
        wait_s: how long to wait for another program's writing, s.
    """

    def __init__(
        self,
        path: Path,
        file: str,
        *,
        readonly: bool = False,
        at_rest: bool = False,
        wait_s: float = WAIT_S,
    ) -> None:
        self.path, self.file, self.readonly = path.resolve(), file, readonly or at_rest
        connect = _at_rest if at_rest else _for_reading if readonly else _for_writing
        with self.told(), opening(self.path) as self._held:
            self._db = connect(self.path, wait_s)
        self._closed, self._logs = False, False

    def close(self) -> None:
        """Close the file."""
        if not self._closed:
            self._closed = True
            self._db.close()
            let_go(self._held)

    def log_ahead(self) -> None:
        """Write through a write-ahead log from now on, so that readers and a writer don't wait."""
        with self.told():
            ((mode,),) = _rows(self._db.execute("PRAGMA journal_mode = WAL"))
        self._logs = mode == "wal"

    @contextmanager
    def told(self) -> Iterator[None]:
        """What SQLite reports inside becomes one clear message."""
        try:
            yield
        except sqlite3.ProgrammingError:
            raise  # a mistake of ours, and not the file's
        except sqlite3.Error as error:
            raise in_words(error, self.file, self.path) from error
        except _OddError as error:
            raise self.damaged(f"{error} is not what was written") from error
        except UnicodeDecodeError as error:
            raise self.damaged("a text in it cannot be read") from error
        except UnicodeEncodeError as error:
            raise NotebookError(
                self.file,
                "half a character stands in it, which cannot be kept; nothing was written",
                "write it anew",
            ) from error

    def damaged(self, what: str) -> DamagedError:
        """The error that tells what is damaged, that nothing was changed, and the ways out."""
        return DamagedError(
            self.file, f"the file is damaged ({what}); nothing was changed", way_out(self.path)
        )

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction, alone in writing: all of it or nothing. The only one that commits."""
        if self.readonly:
            raise NotebookError(self.file, "it was opened for reading only", "open it for writing")
        with self.told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                self._check_in_place()
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def _check_in_place(self) -> None:
        """Whether the open file is still the one of its name: what is written would be lost.

        Raises:
            NotebookError: it has been moved, replaced or removed; or its log has.
        """
        if inode_of(self.path) != self._held:
            what = "the file has been moved, replaced or removed"
        elif self._logs and not os.path.exists(f"{self.path}-wal"):
            what = f"the log beside it ({self.path.name}-wal) has been removed"
        else:
            return
        raise NotebookError(
            self.file,
            f"{what} since it was opened; nothing of this was written",
            "close it, look what stands there now, and open that",
        )

    @contextmanager
    def _standing_still(self) -> Iterator[None]:
        """What is read inside is of one moment, whatever others write meanwhile."""
        if self._db.in_transaction:
            yield
            return
        self._db.execute("BEGIN")
        try:
            yield
        finally:
            self._db.execute("ROLLBACK")  # nothing was written

    def version(self) -> int:
        """How many migrations the file has been through."""
        with self.told():
            ((found,),) = _rows(self._db.execute("PRAGMA user_version"))
        return int(found)

    def written_after(self, act: int, entry: int) -> list[tuple[Act, list[Entry]]]:
        """Every act after one, with its entries, in order.

        Args:
            act: the last one that is known.
            entry: the last entry that is known.
        """
        with self.told(), self._standing_still():
            return _written_after(self._db, act, entry)

    def last(self) -> tuple[int, bytes]:
        """The last act's number and digest, as they stand there; 0 and nothing before the first."""
        with self.told():
            rows = _rows(self._db.execute("SELECT id, digest FROM act ORDER BY id DESC LIMIT 1"))
        return rows[0] if rows else (0, b"")

    def tables(self) -> dict[str, str]:
        """What each table and trigger was made with, by name."""
        with self.told():
            return dict(
                _rows(self._db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))
            )

    def migrated(self) -> list[tuple[str, str]]:
        """The migrations that the file says it has been through: their names, and when."""
        with self.told():
            return _rows(self._db.execute("SELECT name, at FROM migration ORDER BY number"))

    def damage(self, *, wholly: bool = True) -> list[str]:
        """What SQLite itself finds wrong (`PRAGMA integrity_check`, `foreign_key_check`).

        Args:
            wholly: look at every page; else at those of acts and entries alone.
        """
        with self.told():
            if wholly:
                rows = _rows(self._db.execute("PRAGMA integrity_check"))
            else:
                rows = _rows(self._db.execute("PRAGMA integrity_check(act)"))
                rows += _rows(self._db.execute("PRAGMA integrity_check(entry)"))
                rows += _rows(self._db.execute("PRAGMA integrity_check(migration)"))
            loose = _rows(self._db.execute("PRAGMA foreign_key_check"))
        found = [str(one) for (one,) in rows if one != "ok"]
        return found + [f"{table}: a row hangs loose" for table, *_ in loose]

    def attachment(self, digest: bytes) -> tuple[bytes, bytes | None] | None:
        """The bytes and the thumbnail kept under a hash, as they are there."""
        with self.told():
            rows = _rows(
                self._db.execute(
                    "SELECT bytes, thumbnail FROM attachment WHERE hash = ?", (digest,)
                )
            )
        return (bytes(rows[0][0]), rows[0][1]) if rows else None

    def thumbnail(self, digest: bytes) -> bytes | None:
        """The thumbnail kept under a hash, without the bytes; None where there is none."""
        with self.told():
            rows = _rows(
                self._db.execute("SELECT thumbnail FROM attachment WHERE hash = ?", (digest,))
            )
        return rows[0][0] if rows and isinstance(rows[0][0], bytes) else None

    def attachment_hashes(self) -> list[tuple[bytes, int]]:
        """Every attachment's hash and size in bytes."""
        with self.told():
            return _rows(self._db.execute("SELECT hash, size FROM attachment ORDER BY hash"))

    def copy_to(self, path: Path) -> None:
        """The whole file as it stands into an empty one, through SQLite's backup.

        Raises:
            sqlite3.Error: it could not be read here, or not be written there.
        """
        other = sqlite3.connect(path, isolation_level=None)
        try:
            with self._standing_still():
                _rows(self._db.execute("PRAGMA user_version"))  # so that nothing locks it
                self._db.backup(other)
        finally:
            other.close()


def insert(db: sqlite3.Connection, act: Act, entries: Sequence[Entry]) -> None:
    """Write one act, inside a transaction of `Store.writing`."""
    db.execute(
        "INSERT INTO act (id, at, who, kind, words, undoes, beside, digest) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (act.id, act.at, act.who, act.kind, act.words, act.undoes, int(act.beside), act.digest),
    )
    db.executemany(
        "INSERT INTO entry (id, act, board, section, key, base, body) VALUES (?, ?, ?, ?, ?, ?, ?)",
        [(one.id, one.act, *one.subject, one.base, one.body) for one in entries],
    )


def insert_attachment(
    db: sqlite3.Connection, digest: bytes, data: bytes, thumbnail: bytes | None
) -> None:
    """Keep bytes under their hash, once, inside a transaction of `Store.writing`."""
    db.execute(
        "INSERT OR IGNORE INTO attachment (hash, size, bytes, thumbnail) VALUES (?, ?, ?, ?)",
        (digest, len(data), data, thumbnail),
    )


class _OddError(Exception):
    """Something else stands in a row than can have been written."""


def _written_after(db: sqlite3.Connection, act: int, entry: int) -> list[tuple[Act, list[Entry]]]:
    made: dict[int, tuple[Act, list[Entry]]] = {}
    acts = db.execute(
        "SELECT id, at, who, kind, words, undoes, beside, digest FROM act WHERE id > ? ORDER BY id",
        (act,),
    )
    for row in _rows(acts):
        done = act_of(row)
        if done is None:
            raise _OddError(f"number {row[0]} of its history")
        made[done.id] = (done, [])
    entries = db.execute(
        "SELECT id, act, board, section, key, base, body FROM entry WHERE id > ? ORDER BY id",
        (entry,),
    )
    for row in _rows(entries):
        one = entry_of(row)
        if one is None or one.act not in made:
            raise _OddError(f"entry {row[0]}")
        made[one.act][1].append(one)
    return list(made.values())


def _rows(cursor: sqlite3.Cursor) -> list[tuple[Any, ...]]:
    """Every row. A statement left unfinished by an error would keep the file open."""
    with closing(cursor):
        return cursor.fetchall()


_SHUT = ("SQLITE_CANTOPEN", "SQLITE_READONLY")


def _for_writing(path: Path, wait_s: float) -> sqlite3.Connection:
    return _connected(path, "rw", wait_s)


def _for_reading(path: Path, wait_s: float) -> sqlite3.Connection:
    """A log that lies there is left as it is; so is a folder that may not be written in.

    A file at rest is opened as for writing, which leaves nothing beside it, and never written in.
    """
    log = log_of(path)
    try:
        return _connected(path, "rw" if log is None else "ro", wait_s, looking=True)
    except sqlite3.Error as error:
        if log is not None or not name_of(error).startswith(_SHUT):
            raise
    return _at_rest(path, wait_s)


def _at_rest(path: Path, wait_s: float) -> sqlite3.Connection:
    return _connected(path, "ro&immutable=1", wait_s, looking=True)


def _connected(
    path: Path, mode: str, wait_s: float, *, looking: bool = False
) -> sqlite3.Connection:
    address = f"{path.as_uri()}?mode={mode}"
    # Threads take turns: whoever shares a notebook among them holds a lock of their own.
    db = sqlite3.connect(
        address, uri=True, isolation_level=None, timeout=wait_s, check_same_thread=False
    )
    try:
        db.execute("PRAGMA trusted_schema = OFF")
        if looking:
            db.execute("PRAGMA query_only = ON")
            _rows(db.execute("PRAGMA user_version"))
        else:
            db.execute("PRAGMA synchronous = FULL")
            db.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        db.close()
        raise
    return db
