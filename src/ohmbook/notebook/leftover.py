"""A log that lies beside a notebook: its own, or left there by another file."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import journal_of, log_of
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.migrations import Migration
from ohmbook.notebook.proving import proven
from ohmbook.notebook.store import Store

_Last = tuple[list[tuple[str, str]], int, bytes]
"""Which migrations and when, the last act's number, and its digest."""


def with_log(
    path: Path, file: str, wait_s: float, migrations: Sequence[Migration]
) -> Ledger | None:
    """What is written, where a log lies beside a notebook that is its own; None where none does.

    SQLite would write another's log into it. With its own a notebook is whole, and goes on from
    what stands in the file by itself.

    Raises:
        DamagedError: the log, or a rollback journal, is not its own.
    """
    journal = journal_of(path)
    if journal is not None:
        raise _others(file, journal)
    if log_of(path) is None:
        return None
    alone = _last_of(path, file)
    try:
        record, ledger = _seen(Store(path, file, readonly=True, wait_s=wait_s), migrations)
        if alone is None or _goes_on(alone, record, ledger):
            return ledger
    except NotebookError as error:
        log = log_of(path)
        if log is None or isinstance(error, DamagedError):
            return _judged(path, file, migrations, error)
        if not os.access(path.parent, os.W_OK):
            raise _both_wanted(file, log) from None
        raise
    return _judged(path, file, migrations, None)


def _judged(
    path: Path, file: str, migrations: Sequence[Migration], error: NotebookError | None
) -> Ledger | None:
    """Which of the two is to blame, where file and log don't go together.

    The file by itself is no witness while its log is being written into it. Another program may
    be at that just now, so the file is looked at first.
    """
    log = log_of(path)
    try:
        record, ledger = _seen(Store(path, file, at_rest=True), migrations)
    except NotebookError:
        if error is not None:
            raise error from None
        return None
    if log is None:
        return None
    try:
        whole = _seen(Store(path, file, readonly=True), migrations)
    except DamagedError:
        raise _others(file, log) from None
    last = (record, ledger.last, ledger.digest)
    if _goes_on(last, *whole):
        return whole[1]
    raise _others(file, log)


def _last_of(path: Path, file: str) -> _Last | None:
    """The last that stands in a file by itself, unproven; None where that cannot be read."""
    try:
        store = Store(path, file, at_rest=True)
        try:
            return (store.migrated(), *store.last())
        finally:
            store.close()
    except NotebookError:
        return None


def _seen(store: Store, migrations: Sequence[Migration]) -> tuple[list[tuple[str, str]], Ledger]:
    try:
        return store.migrated(), proven(store, migrations)
    finally:
        store.close()


def _goes_on(alone: _Last, record: list[tuple[str, str]], ledger: Ledger) -> bool:
    begun, number, digest = alone
    act = ledger.act(number)
    return record[: len(begun)] == begun and digest == (b"" if act is None else act.digest)


def _others(file: str, left: Path) -> DamagedError:
    return DamagedError(
        file,
        f"beside it lies {left.name}, which does not belong to it and would be written into it; "
        "neither was changed",
        f"if another program has the notebook open, close that; then move {left.name} to another "
        "folder and open the notebook again",
    )


def _both_wanted(file: str, log: Path) -> NotebookError:
    return NotebookError(
        file,
        f"what was written last still stands in {log.name} beside it, and that folder may not be "
        "written in; nothing was changed",
        "copy both files to a folder of your own, and open it there",
    )
