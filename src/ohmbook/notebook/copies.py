"""Copies of a notebook, each found to be whole before it is called done."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Sequence
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import draft_of, put_in_place, refuse_taken
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.migrations import MIGRATIONS, Migration
from ohmbook.notebook.proving import proven, read_ledger
from ohmbook.notebook.store import Store


def copy(
    store: Store, path: str | os.PathLike[str], migrations: Sequence[Migration] = MIGRATIONS
) -> Path:
    """A copy of a notebook as it stands, through SQLite's backup.

    It gets its name only once all of it has been read back: every digest, page and attachment.

    Args:
        store: the notebook's file, of which others may be writing in.
        path: what the copy is to be called; nothing may stand there.
        migrations: what a notebook goes through.

    Returns:
        Where it is.

    Raises:
        NotebookError: no copy could be made, and why.
        DamagedError: the notebook itself is damaged.
    """
    target, name = Path(path), os.fspath(path)
    refuse_taken(target, name)
    try:
        with draft_of(target) as draft:
            _copy_into(store, draft, name, migrations)
            put_in_place(draft, target)
    except FileExistsError:
        raise NotebookError(
            name, "something of that name has just been made there, and was left alone",
            "choose another name",
        ) from None  # fmt: skip
    except OSError as error:
        raise _unmade(store, name, error.strerror or "") from None
    return target


def _copy_into(store: Store, draft: Path, name: str, migrations: Sequence[Migration]) -> None:
    before = read_ledger(store)
    try:
        store.copy_to(draft)
    except sqlite3.Error as error:
        raise _unmade(store, name, str(error)) from error
    other = Store(draft, name, at_rest=True)
    try:
        made = proven(other, migrations, wholly=True)
        same = made.last >= before.last and _same(made, read_ledger(store))
    except DamagedError:
        proven(store, migrations, wholly=True)  # where the damage is the notebook's own, it is told
        same = False
    finally:
        other.close()
    if not same:
        raise _unmade(store, name, "what was read back of it is not what was written")


def _same(copied: Ledger, now: Ledger) -> bool:
    """Whether a copy is the notebook as it stood at the copy's last act."""
    act = now.act(copied.last)
    return copied.digest == (b"" if act is None else act.digest)


def _unmade(store: Store, name: str, why: str) -> NotebookError:
    return NotebookError(
        name,
        f"no copy could be made there ({why}); {store.file} is untouched",
        "make room, or choose a folder of your own",
    )
