"""Opening a notebook: begun anew, brought up to this version, and every entry checked."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Sequence
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import (
    MARK,
    draft_of,
    free,
    put_in_place,
    refuse_taken,
)
from ohmbook.notebook.copies import copy
from ohmbook.notebook.header import look_at
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.leftover import with_log
from ohmbook.notebook.migrations import APPLICATION_ID, MIGRATIONS, Migration, pending
from ohmbook.notebook.proving import check_version, proven, read_ledger
from ohmbook.notebook.store import WAIT_S, Store

__all__ = ["SUFFIX", "begin", "opened", "read_ledger"]

SUFFIX = ".ohmbook"


def begin(path: Path, file: str, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Make a new, empty notebook, whole or not at all.

    Raises:
        NotebookError: something stands there already, or the folder may not be written in.
    """
    refuse_taken(path, file)
    try:
        with draft_of(path) as draft:
            fill_new(draft, file, migrations)
            put_in_place(draft, path)
    except FileExistsError:
        raise NotebookError(
            file, "something of that name has just been made, and was left alone", "look at it"
        ) from None
    except OSError as error:
        raise _unmade(file, error.strerror or "") from None
    except ValueError:
        raise _unmade(file, "that cannot be a file's name") from None


def opened(
    path: Path,
    file: str,
    *,
    readonly: bool = False,
    wait_s: float = WAIT_S,
    migrations: Sequence[Migration] = MIGRATIONS,
) -> tuple[Store, Ledger]:
    """Open a notebook and check all that is written in it, before anything is written.

    Args:
        path: where it is.
        file: what to call it.
        readonly: leave it as it is; one of an older version is then refused.
        wait_s: how long another program's writing is waited for, s.
        migrations: what a notebook goes through.

    Raises:
        NotebookError: it cannot be opened, or is from a newer ohmbook.
        DamagedError: something else stands in it than was written.
    """
    look_at(path, file, len(migrations))
    whole = path.resolve()
    known = with_log(whole, file, wait_s, migrations)
    store = Store(whole, file, readonly=readonly, wait_s=wait_s)
    try:
        ledger = proven(store, migrations, known=known)
        if pending(store.version(), migrations):
            _bring_up(store, migrations)
        if not readonly:
            store.log_ahead()
        return store, ledger
    except BaseException:
        store.close()
        raise


def _bring_up(store: Store, migrations: Sequence[Migration]) -> None:
    """Migrate, after a copy beside the file has been made and found to be whole.

    All in one transaction, so that of two programs one does it, and the other finds it done.
    """
    if store.readonly:
        raise NotebookError(
            store.file,
            "it is of an older version and would have to be brought up to this one",
            "open it once where it may be written in",
            older=True,
        )
    with store.writing() as db:
        version = store.version()
        if not pending(version, migrations):
            return  # another program has been faster
        _keep_copy(store, version, migrations)
        _migrate(db, migrations)
    check_version(store, migrations)


def _keep_copy(store: Store, version: int, migrations: Sequence[Migration]) -> None:
    name = free(store.path.with_name(f"{store.path.name}{MARK}version-{version}"))
    reader = Store(store.path, store.file, readonly=True)
    try:
        copy(reader, name, migrations)
    except DamagedError:
        raise
    except NotebookError as error:
        raise NotebookError(
            store.file,
            "it is of an older version, and no copy of it could be kept before bringing it up to "
            f"this one ({error}); nothing was changed",
            "make room, or copy it to a folder of your own and open it there",
        ) from error
    finally:
        reader.close()


def fill_new(draft: Path, file: str, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Make an empty file an empty notebook.

    Raises:
        NotebookError: the disk is full, or the like.
    """
    try:
        store = Store(draft, file)
        try:
            store.log_ahead()
            with store.writing() as db:
                _migrate(db, migrations)
        finally:
            store.close()
    except NotebookError as error:
        raise _unmade(file, error.why) from error


def _migrate(db: sqlite3.Connection, migrations: Sequence[Migration]) -> None:
    """Each step with its record, inside a transaction."""
    (version,) = db.execute("PRAGMA user_version").fetchone()
    for number, step in enumerate(migrations[version:], version + 1):
        step(db)
        _record(db, number, step.__name__)


def _record(db: sqlite3.Connection, number: int, name: str) -> None:
    at = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
    db.execute("INSERT INTO migration (number, name, at) VALUES (?, ?, ?)", (number, name, at))
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {number:d}")


def _unmade(file: str, why: str) -> NotebookError:
    return NotebookError(
        file, f"it cannot be made there ({why}); nothing was made", "choose a folder of your own"
    )
