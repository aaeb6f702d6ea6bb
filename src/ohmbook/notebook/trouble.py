"""What SQLite reports, in words that a person can act on."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import way_out

_BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_PROTOCOL")
_UNREAD = ("SQLITE_IOERR_READ", "SQLITE_IOERR_SHORT_READ")
_FULL = ("SQLITE_FULL", "SQLITE_IOERR")
_SHUT = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")


def in_words(error: sqlite3.Error, file: str, path: Path) -> NotebookError:
    """What was in the way, what was and was not written, and what to do.

    Args:
        error: as SQLite reports it.
        file: what to call the notebook.
        path: where it is.
    """
    name = name_of(error)
    if name.startswith(_BUSY):
        return NotebookError(
            file,
            "another program is writing in it and did not finish; nothing was written",
            "try again in a moment, or close the other program",
        )
    if name.startswith(_UNREAD):
        return NotebookError(
            file,
            f"the disk does not give it back ({error}); nothing was changed",
            f"look after the disk, and {way_out(path)}",
        )
    if name.startswith(_FULL):
        return NotebookError(
            file,
            "the disk is full or does not answer; nothing of this was written, everything before "
            "it is safe",
            "make room on the disk and write it again",
        )
    if name.startswith(_SHUT):
        return NotebookError(
            file,
            "the file or its folder may not be written in; nothing was changed",
            "change their permissions, or copy the notebook to a folder of your own",
        )
    if name.startswith("SQLITE_CONSTRAINT"):
        return NotebookError(
            file, "what was to be written contradicts what is there; nothing was written",
            "this is a mistake in ohmbook: please report it",
        )  # fmt: skip
    return DamagedError(file, f"the file is damaged ({error}); nothing was changed", way_out(path))


def name_of(error: sqlite3.Error) -> str:
    """SQLite's name for an error, such as "SQLITE_BUSY"; empty where it has none."""
    return str(getattr(error, "sqlite_errorname", "") or "")
