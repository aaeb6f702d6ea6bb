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
    journal_of,
    log_of,
    put_in_place,
    refuse_taken,
)
from ohmbook.notebook.copies import copy
from ohmbook.notebook.header import look_at
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.migrations import APPLICATION_ID, MIGRATIONS, Migration, pending
from ohmbook.notebook.proving import check_version, proven, read_ledger
from ohmbook.notebook.store import WAIT_S, Store

__all__ = ["SUFFIX", "begin", "opened", "read_ledger"]

SUFFIX = ".ohmbook"
_Seen = tuple[list[tuple[str, str]], Ledger]


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
    if journal_of(whole) or log_of(whole):
        _check_left(whole, file, wait_s, migrations)
    store = Store(whole, file, readonly=readonly, wait_s=wait_s)
    try:
        ledger = proven(store, migrations)
        if pending(store.version(), migrations):
            _bring_up(store, migrations)
        if not readonly:
            store.log_ahead()
        return store, ledger
    except BaseException:
        store.close()
        raise


def _check_left(path: Path, file: str, wait_s: float, migrations: Sequence[Migration]) -> None:
    """Whether the log beside a notebook is its own: SQLite would write another's into it.

    With its own log a notebook is whole, and begins with all that stands in the file by itself.

    Raises:
        DamagedError: it is not.
    """
    journal = journal_of(path)
    if journal is not None:
        raise _others(file, journal)
    alone = _by_itself(path, file, migrations)
    try:
        whole = _looked_at(Store(path, file, readonly=True, wait_s=wait_s), migrations, wholly=True)
    except DamagedError:
        log = log_of(path)
        if log is None or alone is None:
            raise
        raise _others(file, log) from None
    log = log_of(path)
    if log is not None and alone is not None and not _goes_on(alone, whole):
        raise _others(file, log)


def _by_itself(path: Path, file: str, migrations: Sequence[Migration]) -> _Seen | None:
    """What stands in a file, its log left aside; None where that is nothing whole."""
    try:
        return _looked_at(Store(path, file, at_rest=True), migrations)
    except NotebookError:
        return None


def _looked_at(store: Store, migrations: Sequence[Migration], *, wholly: bool = False) -> _Seen:
    try:
        return store.migrated(), proven(store, migrations, wholly=wholly)
    finally:
        store.close()


def _goes_on(alone: _Seen, whole: _Seen) -> bool:
    (begun, before), (record, ledger) = alone, whole
    act = ledger.act(before.last)
    return record[: len(begun)] == begun and before.digest == (b"" if act is None else act.digest)


def _others(file: str, left: Path) -> DamagedError:
    return DamagedError(
        file,
        f"beside it lies {left.name}, which does not belong to it and would be written into it; "
        "neither was changed",
        f"if another program has the notebook open, close that; then move {left.name} to another "
        "folder and open the notebook again",
    )


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
