"""Whether what stands in a notebook's file is what was written there."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Sequence
from functools import lru_cache

from ohmbook.errors import NotebookError
from ohmbook.notebook.ink import digest_of
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.migrations import MIGRATIONS, Migration
from ohmbook.notebook.store import Store


def proven(
    store: Store,
    migrations: Sequence[Migration] = MIGRATIONS,
    *,
    known: Ledger | None = None,
    wholly: bool = False,
) -> Ledger:
    """Everything written, once it is certain that it is what was written.

    Args:
        store: the file; nothing is written in it.
        migrations: what a notebook goes through.
        known: what has been proven of it already.
        wholly: look at every page and attachment too, which takes longer the more there are.

    Raises:
        NotebookError: it is from a newer ohmbook.
        DamagedError: something else stands in it than was written.
    """
    check_version(store, migrations)
    ledger = read_ledger(store, known)
    problems = store.damage(wholly=wholly)
    if problems:
        raise store.damaged(problems[0])
    if wholly and "attachment" in store.tables():
        _check_attachments(store)
    return ledger


def _check_attachments(store: Store) -> None:
    for digest, _ in store.attachment_hashes():
        found = store.attachment(digest)
        if found is None or hashlib.sha256(found[0]).digest() != digest:
            raise store.damaged(f"the attachment {digest.hex()[:12]} is not what was put in")


def check_version(store: Store, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Whether the file's version can be read, and its tables are those of that version.

    Their texts are compared as SQLite keeps them, which is the same in every SQLite as long as
    migrations only CREATE.

    Raises:
        NotebookError: it is from a newer ohmbook.
        DamagedError: its tables are others.
    """
    version = store.version()
    if version > len(migrations) and version == len(store.migrated()):
        raise NotebookError(
            store.file,
            f"it was written by a newer ohmbook (version {version} of the notebook; this one reads "
            f"up to {len(migrations)}) and was left untouched",
            "use the newer ohmbook",
        )
    made, found = tuple(migrations[:version]), store.tables()
    wanted = _tables(made)
    wrong = [name for name, sql in wanted.items() if found.get(name) != sql]
    if (
        not made
        or wrong
        or [name for name, _ in store.migrated()] != [one.__name__ for one in made]
    ):
        named = wrong[0] if wrong else "the record of its versions"
        raise store.damaged(f"{named} is not as it was made")


def read_ledger(store: Store, ledger: Ledger | None = None) -> Ledger:
    """Everything written, each act checked against its digest.

    Args:
        store: the file.
        ledger: what is known already; further acts are added to it.

    Raises:
        DamagedError: an act is not what was written.
    """
    found = Ledger() if ledger is None else ledger
    known = found.entries[-1].id if found.entries else 0
    for act, entries in store.written_after(found.last, known):
        expected = found.last + 1
        if act.id != expected or digest_of(found.digest, act, entries) != act.digest:
            raise store.damaged(f"number {expected} of its history is not what was written")
        found.add(act, entries)
    return found


@lru_cache
def _tables(migrations: tuple[Migration, ...]) -> dict[str, str]:
    db = sqlite3.connect(":memory:", isolation_level=None)
    try:
        for step in migrations:
            step(db)
        return dict(db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))
    finally:
        db.close()
