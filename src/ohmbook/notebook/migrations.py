"""How a notebook's tables came to be: one named function each, in order, never changed once
released. A notebook's version is how many of them it has been through (`PRAGMA user_version`).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence

Migration = Callable[[sqlite3.Connection], None]

APPLICATION_ID = 0x6F686D62
"""In the file's header (SQLite file format 1.3.15): "ohmb"."""

_NEVER = "SELECT RAISE(ABORT, 'what is written in a notebook stays')"


def ink(db: sqlite3.Connection) -> None:
    """Acts and entries, which can be added to and never changed."""
    db.execute(
        "CREATE TABLE migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL, at TEXT NOT NULL)"
    )
    db.execute(
        "CREATE TABLE act (id INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT NOT NULL, "
        "kind TEXT NOT NULL, words TEXT NOT NULL, undoes INTEGER REFERENCES act (id), "
        "beside INTEGER NOT NULL, digest BLOB NOT NULL)"
    )
    db.execute(
        "CREATE TABLE entry (id INTEGER PRIMARY KEY, act INTEGER NOT NULL REFERENCES act (id), "
        "board TEXT NOT NULL, section TEXT NOT NULL, key TEXT NOT NULL, base INTEGER NOT NULL, "
        "body TEXT)"
    )
    _protect(db, "act", "entry", "migration")


def attachments(db: sqlite3.Connection) -> None:
    """The bytes of photos and captures, once each, by their SHA-256.

    The thumbnail stands before the bytes, so that it is read without them.
    """
    db.execute(
        "CREATE TABLE attachment (hash BLOB PRIMARY KEY, size INTEGER NOT NULL, thumbnail BLOB, "
        "bytes BLOB NOT NULL) WITHOUT ROWID"
    )
    _protect(db, "attachment")


MIGRATIONS: tuple[Migration, ...] = (ink, attachments)


def pending(version: int, migrations: Sequence[Migration] = MIGRATIONS) -> Sequence[Migration]:
    """What a notebook of some version still has to go through."""
    return migrations[version:]


def _protect(db: sqlite3.Connection, *tables: str) -> None:
    for table in tables:
        for deed in ("UPDATE", "DELETE"):
            db.execute(
                f"CREATE TRIGGER {table}_no_{deed} BEFORE {deed} ON {table} BEGIN {_NEVER}; END"
            )
