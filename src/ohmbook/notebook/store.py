"""The file itself: SQLite with a write-ahead log. `writing` alone begins and ends transactions.

Every way in which the disk or another program can be in the way ends in one message that says what
was and was not written.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.ink import Act, Entry, Subject

WAIT_S = 5.0
"""How long another program's writing is waited for."""

_RESCUE = (
    "take the newest copy of the notebook, or `ohmbook notebook rescue`, which writes what can "
    "still be read into a new one"
)


class Store:
    """An open file.

    Args:
        path: where it is; it exists.
        file: what to call it in messages.
        readonly: nothing will be written.
        wait_s: how long to wait for another program's writing, s.
    """

    def __init__(
        self, path: Path, file: str, *, readonly: bool = False, wait_s: float = WAIT_S
    ) -> None:
        self.path, self.file, self.readonly = path, file, readonly
        with self.told():
            self._db = _connected(path, readonly, wait_s)

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    @contextmanager
    def told(self) -> Iterator[None]:
        """What SQLite reports inside becomes one clear message."""
        try:
            yield
        except sqlite3.Error as error:
            raise _in_words(error, self.file) from error
        except UnicodeDecodeError as error:
            raise DamagedError(self.file, "a text in it is damaged", _RESCUE) from error

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction, alone in writing: all of it or nothing. The only one that commits."""
        if self.readonly:
            raise NotebookError(self.file, "it was opened for reading only", "open it for writing")
        with self.told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def version(self) -> int:
        """How many migrations the file has been through."""
        with self.told():
            (found,) = self._db.execute("PRAGMA user_version").fetchone()
        return int(found)

    def written_after(self, act: int) -> list[tuple[Act, list[Entry]]]:
        """Every act after one, with its entries, in order."""
        with self.told():
            return _written_after(self._db, act)

    def damage(self) -> list[str]:
        """What SQLite itself finds wrong (`PRAGMA integrity_check`, `foreign_key_check`)."""
        with self.told():
            found = [str(one) for (one,) in self._db.execute("PRAGMA integrity_check")]
            loose = self._db.execute("PRAGMA foreign_key_check").fetchall()
        whole = found == ["ok"]
        return ([] if whole else found) + [f"{table}: a row hangs loose" for table, *_ in loose]

    def attachment(self, digest: bytes) -> tuple[bytes, bytes | None] | None:
        """The bytes and the thumbnail kept under a hash."""
        with self.told():
            row = self._db.execute(
                "SELECT bytes, thumbnail FROM attachment WHERE hash = ?", (digest,)
            ).fetchone()
        return None if row is None else (bytes(row[0]), row[1])

    def attachment_hashes(self) -> list[tuple[bytes, int]]:
        """Every attachment's hash and size in bytes."""
        with self.told():
            return self._db.execute("SELECT hash, size FROM attachment ORDER BY hash").fetchall()

    def copy_to(self, path: Path) -> None:
        """A copy of the whole file as it stands, through SQLite's backup."""
        with self.told():
            other = sqlite3.connect(path, isolation_level=None)
            try:
                self._db.backup(other)
                other.execute("PRAGMA journal_mode = DELETE")
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


def _written_after(db: sqlite3.Connection, act: int) -> list[tuple[Act, list[Entry]]]:
    acts = [
        Act(number, at, who, kind, words, undoes, bool(beside), bytes(digest))
        for number, at, who, kind, words, undoes, beside, digest in db.execute(
            "SELECT id, at, who, kind, words, undoes, beside, digest FROM act WHERE id > ? "
            "ORDER BY id",
            (act,),
        )
    ]
    made: dict[int, list[Entry]] = {one.id: [] for one in acts}
    first = acts[0].id if acts else 0
    rows = db.execute(
        "SELECT id, act, board, section, key, base, body FROM entry WHERE act >= ? ORDER BY id",
        (first,),
    )
    for row in rows if acts else ():
        made.setdefault(row[1], []).append(
            Entry(row[0], row[1], Subject(row[2], row[3], row[4]), row[5], row[6])
        )
    return [(one, made[one.id]) for one in acts]


def _connected(path: Path, readonly: bool, wait_s: float) -> sqlite3.Connection:
    if readonly:
        return _for_reading(path, wait_s)
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=rw", uri=True, isolation_level=None, timeout=wait_s
    )
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA trusted_schema = OFF")
    return db


def _for_reading(path: Path, wait_s: float) -> sqlite3.Connection:
    """Where the folder may not be written in, SQLite reads a file at rest as it lies there."""
    address = path.resolve().as_uri()
    db = sqlite3.connect(f"{address}?mode=ro", uri=True, isolation_level=None, timeout=wait_s)
    try:
        db.execute("PRAGMA user_version").fetchone()
    except sqlite3.OperationalError:
        db.close()
        log = path.with_name(f"{path.name}-wal")
        if log.exists() and log.stat().st_size:
            raise
        db = sqlite3.connect(f"{address}?mode=ro&immutable=1", uri=True, isolation_level=None)
    return db


def _in_words(error: sqlite3.Error, file: str) -> NotebookError:
    name = str(getattr(error, "sqlite_errorname", "") or "")
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return NotebookError(
            file,
            "another program is writing in it and did not finish; nothing was written",
            "try again in a moment, or close the other program",
        )
    if name.startswith(("SQLITE_FULL", "SQLITE_IOERR")):
        return NotebookError(
            file,
            "the disk is full or does not answer; this entry was not written, everything before "
            "it is safe",
            "make room on the disk and write it again",
        )
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return NotebookError(
            file,
            "the file or its folder may not be written in; nothing was changed",
            "change their permissions, or copy the notebook to a folder of your own",
        )
    if name.startswith(("SQLITE_CONSTRAINT",)):
        return NotebookError(
            file, "what was to be written contradicts what is there; nothing was written",
            "this is a mistake in ohmbook: please report it",
        )  # fmt: skip
    return DamagedError(file, f"the file is damaged ({error}); nothing was changed", _RESCUE)
