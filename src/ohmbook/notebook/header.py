"""A notebook's file looked at from outside, before SQLite is let near it.

Source of the offsets: "Database File Format", sqlite.org, section 1.3 "The Database Header".
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.migrations import APPLICATION_ID

MAGIC = b"SQLite format 3\x00"
_HEADER = 100
_START = "`ohmbook notebook new` begins one"


@dataclass(frozen=True, slots=True)
class Header:
    """What the first hundred bytes tell.

    Args:
        version: how many migrations it has been through.
    """

    version: int


def is_notebook(path: str | os.PathLike[str]) -> bool:
    """Whether a file begins as a notebook does; false where it cannot be read."""
    try:
        with open(path, "rb") as stream:
            return stream.read(len(MAGIC)) == MAGIC
    except (OSError, ValueError):
        return False


def look_at(path: Path, file: str, newest: int) -> Header:
    """Look at a notebook's file without touching it.

    Args:
        path: where it is.
        file: what to call it.
        newest: the newest version that can be read.

    Raises:
        NotebookError: there is none, it may not be read, or it is from a newer ohmbook.
        DamagedError: it is no notebook, or not a whole one.
    """
    head, size = _beginning(path, file)
    if size == 0:
        raise DamagedError(
            file,
            "the file is empty: it has been emptied, or never was a notebook",
            f"look for a copy of it (named {path.name}.copy-... beside it), or delete it: {_START}",
        )
    if not head.startswith(MAGIC) or len(head) < _HEADER:
        raise DamagedError(
            file, "this is no notebook, and was left untouched", f"check the name; {_START}"
        )
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise DamagedError(
            file,
            "this is a database of another program, or its first bytes are damaged; it was left "
            "untouched",
            "check the name, or take a copy of the notebook",
        )
    _whole(head, size, file)
    version = int.from_bytes(head[60:64], "big")
    if version > newest:
        raise NotebookError(
            file,
            f"it was written by a newer ohmbook (version {version} of the notebook; this one reads "
            f"up to {newest}) and was left untouched",
            "use the newer ohmbook",
        )
    return Header(version)


def _beginning(path: Path, file: str) -> tuple[bytes, int]:
    try:
        if path.is_dir():
            raise NotebookError(file, "this is a folder", "name a file in it")
        with open(path, "rb") as stream:
            return stream.read(_HEADER), os.fstat(stream.fileno()).st_size
    except FileNotFoundError:
        raise NotebookError(file, "there is no such notebook", _START) from None
    except PermissionError:
        raise NotebookError(
            file, "the file may not be read (permission denied)", "change its permissions"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's name"
        raise NotebookError(file, f"the file cannot be read ({reason})", "check the name") from None


def _whole(head: bytes, size: int, file: str) -> None:
    """The file is at least as long as its header says, where the header can be relied on."""
    page = int.from_bytes(head[16:18], "big")
    page = 65536 if page == 1 else page
    pages = int.from_bytes(head[28:32], "big")
    current = head[24:28] == head[92:96]
    if page < 512 or page & (page - 1):
        raise DamagedError(file, "its first bytes are damaged", _copies())
    if current and size < page * pages:
        raise DamagedError(
            file, f"it is cut off: {size} bytes of {page * pages} are there", _copies()
        )


def _copies() -> str:
    return (
        "nothing was changed; take the newest copy of it, or `ohmbook notebook rescue`, which "
        "writes what can still be read into a new notebook"
    )
