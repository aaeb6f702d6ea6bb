"""What lies beside a notebook's file: SQLite's logs, copies, and names that are free."""

from __future__ import annotations

import datetime
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ohmbook.errors import NotebookError

MARK = ".copy-"
"""What the name of a copy has behind the notebook's own."""
_LOGS = ("-wal", "-shm", "-journal")


def log_of(path: Path) -> Path | None:
    """The write-ahead log that a program left, or is writing; None where there is nothing in it."""
    return _filled(path, "-wal")


def journal_of(path: Path) -> Path | None:
    """A rollback journal, which a notebook never has."""
    return _filled(path, "-journal")


def copies_of(path: Path) -> list[Path]:
    """Copies beside a notebook, by their names; the newest first."""
    try:
        found = [one for one in path.parent.iterdir() if one.name.startswith(path.name + MARK)]
        dated = [(one.stat().st_mtime, one) for one in found if not one.name.endswith(_LOGS)]
    except OSError:
        return []
    return [one for _, one in sorted(dated, reverse=True)]


def way_out(path: Path) -> str:
    """What to do about a damaged notebook, a clause: its newest copy, or what can be rescued."""
    copies = copies_of(path)
    copy = "a copy of it, if you have one (there is none beside it)"
    if copies:
        at = datetime.datetime.fromtimestamp(copies[0].stat().st_mtime).strftime("%Y-%m-%d %H:%M")
        copy = f"its newest copy, {copies[0].name} of {at}"
    return (
        f"take {copy}; or `ohmbook notebook rescue {path.name} NEW`, which writes what can still "
        "be read into a new notebook"
    )


def refuse_taken(path: Path, file: str) -> None:
    """Whether a new file may get this name.

    Raises:
        NotebookError: something of that name is there, or a log that would be taken for its own.
    """
    if os.path.lexists(path):
        raise NotebookError(
            file,
            "something of that name is there already, and was left alone",
            "choose another name",
        )
    left = log_of(path) or journal_of(path)
    if left is not None:
        raise NotebookError(
            file,
            f"beside it lies {left.name}, left of another file of that name, which would be taken "
            "for its own; nothing was made",
            "choose another name, or move that away",
        )


def free(path: Path) -> Path:
    """A name that is not taken: the one given, or with a number behind it."""
    if not os.path.lexists(path):
        return path
    numbered = (path.with_name(f"{path.name}-{k}") for k in range(2, 10_000))
    return next(one for one in numbered if not os.path.lexists(one))


@contextmanager
def draft_of(path: Path) -> Iterator[Path]:
    """A new, empty, hidden file beside `path` to make it in; gone afterwards.

    Raises:
        OSError: it cannot be made there.
    """
    draft = path.with_name(f".{path.name[:40]}.{secrets.token_hex(4)}.draft")
    draft.touch(exist_ok=False)
    try:
        yield draft
    finally:
        for end in ("", *_LOGS):
            with suppress(OSError):
                draft.with_name(draft.name + end).unlink()


def put_in_place(draft: Path, path: Path) -> None:
    """Give a finished file its name, whole or not at all, never taking another's place.

    Raises:
        FileExistsError: the name is taken.
        OSError: the folder may not be written in, or the disk is full.
    """
    _on_disk(draft)
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: the name is claimed first
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        try:
            os.replace(draft, path)
        except OSError:
            path.unlink()
            raise
    with suppress(OSError):  # not every system lets a folder be opened
        _on_disk(path.parent)


def _on_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _filled(path: Path, end: str) -> Path | None:
    found = path.with_name(path.name + end)
    with suppress(OSError, ValueError):
        if found.stat().st_size:
            return found
    return None
