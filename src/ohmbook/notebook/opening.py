"""Opening a notebook: begun anew, brought up to this version, and every entry checked."""

from __future__ import annotations

import datetime
import os
import sqlite3
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.header import look_at
from ohmbook.notebook.ink import digest_of
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.migrations import APPLICATION_ID, MIGRATIONS, Migration, pending
from ohmbook.notebook.store import WAIT_S, Store

SUFFIX = ".ohmbook"


def begin(path: Path, file: str, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Make a new, empty notebook, whole or not at all.

    Raises:
        NotebookError: something stands there already, or the folder may not be written in.
    """
    if path.exists():
        raise NotebookError(
            file, "something of that name is there already, and was left alone", "choose another"
        )
    draft = path.with_name(f".{path.name}.{os.getpid()}.draft")
    try:
        draft.touch(exist_ok=False)
        store = Store(draft, file)
        _migrate(store, migrations)
        store.close()
        os.link(draft, path)  # unlike a rename, this never takes another's place
    except FileExistsError:
        raise NotebookError(file, "something of that name has just been made", "look") from None
    except OSError as error:
        raise NotebookError(
            file, f"it cannot be made there ({error.strerror})", "choose a folder of your own"
        ) from None
    finally:
        _remove(draft)


def opened(
    path: Path,
    file: str,
    *,
    readonly: bool = False,
    wait_s: float = WAIT_S,
    migrations: Sequence[Migration] = MIGRATIONS,
) -> tuple[Store, Ledger]:
    """Open a notebook and check all that is written in it.

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
    header = look_at(path, file, len(migrations))
    if pending(header.version, migrations) and readonly:
        raise NotebookError(
            file, "it is of an older version and would have to be brought up to this one",
            "open it once where it may be written in",
            older=True,
        )  # fmt: skip
    store = Store(path, file, readonly=readonly, wait_s=wait_s)
    try:
        if pending(store.version(), migrations):
            _bring_up(store, migrations)
        return store, read_ledger(store)
    except BaseException:
        store.close()
        raise


def read_ledger(store: Store, ledger: Ledger | None = None) -> Ledger:
    """Everything written, each act checked against its digest.

    Args:
        store: the file.
        ledger: what is known already; further acts are added to it.

    Raises:
        DamagedError: an act is not what was written.
    """
    found = Ledger() if ledger is None else ledger
    for act, entries in store.written_after(found.last):
        expected = found.last + 1
        if act.id != expected or digest_of(found.digest, act, entries) != act.digest:
            raise DamagedError(
                store.file,
                f"what stands there as number {expected} of its history is not what was written; "
                "nothing was changed",
                "take the newest copy of the notebook, or `ohmbook notebook rescue`, which writes "
                "what can still be read into a new one",
            )
        found.add(act, entries)
    return found


def _bring_up(store: Store, migrations: Sequence[Migration]) -> None:
    """Migrate, after a copy beside the file has been made and found to be whole."""
    version = store.version()
    copy = _free(store.path.with_name(f"{store.path.name}.copy-version-{version}"))
    _verified_copy(store, copy)
    _migrate(store, migrations)


def _verified_copy(store: Store, copy: Path) -> None:
    try:
        store.copy_to(copy)
        other = Store(copy, copy.name, readonly=True)
        try:
            same = read_ledger(other).digest == read_ledger(store).digest
            if other.damage() or not same:
                raise DamagedError(copy.name, "the copy is not whole", "look at the disk")
        finally:
            other.close()
    except (NotebookError, OSError) as error:
        _remove(copy)
        raise NotebookError(
            store.file,
            "it is of an older version, and no copy could be made beside it before bringing it up "
            f"to this one ({error}); nothing was changed",
            "make room, or copy it to a folder of your own",
        ) from error


def _migrate(store: Store, migrations: Sequence[Migration]) -> None:
    for number, step in enumerate(migrations, 1):
        with store.writing() as db:
            (version,) = db.execute("PRAGMA user_version").fetchone()
            if version != number - 1:
                continue  # another program has been faster
            step(db)
            _record(db, number, step.__name__)


def _record(db: sqlite3.Connection, number: int, name: str) -> None:
    at = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
    db.execute("INSERT INTO migration (number, name, at) VALUES (?, ?, ?)", (number, name, at))
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {number:d}")


def _free(path: Path) -> Path:
    """A name beside it that is not taken."""
    if not path.exists():
        return path
    numbered = (path.with_name(f"{path.name}-{k}") for k in range(2, 10_000))
    return next(one for one in numbered if not one.exists())


def _remove(path: Path) -> None:
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        with suppress(OSError):
            path.with_name(name).unlink()
