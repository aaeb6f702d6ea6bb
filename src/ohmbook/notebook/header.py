"""A notebook's file looked at from outside, before SQLite is let near it.

Source of the offsets: "Database File Format", sqlite.org, section 1.3 "The Database Header".
"""

from __future__ import annotations

import os
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import log_of, way_out
from ohmbook.notebook.held import alone
from ohmbook.notebook.migrations import APPLICATION_ID

MAGIC = b"SQLite format 3\x00"
_HEADER = 100
_START = "`ohmbook notebook new` begins one"
_UNTOUCHED = "nothing was changed"


def is_notebook(path: str | os.PathLike[str]) -> bool:
    """Whether a file begins as a notebook does; false where it cannot be read."""
    with alone(Path(path)) as may:
        if not may:
            return True
        try:
            if not Path(path).is_file():
                return False  # a pipe would be waited for
            with open(path, "rb") as stream:
                return stream.read(len(MAGIC)) == MAGIC
        except (OSError, ValueError):
            return False


def look_at(path: Path, file: str, newest: int) -> None:
    """Look at a notebook's file without touching it.

    One that this process has open already has been looked at then; see `held`.

    Args:
        path: where it is.
        file: what to call it.
        newest: the newest version that can be read.

    Raises:
        NotebookError: there is none, it may not be read, or it is from a newer ohmbook.
        DamagedError: it is no notebook, or not a whole one.
    """
    with alone(path) as may:
        if may:
            _check(path, file, newest, *_beginning(path, file))


def _check(path: Path, file: str, newest: int, head: bytes, size: int) -> None:
    if size == 0:
        raise DamagedError(
            file,
            "the file is empty: it has been emptied, or never was a notebook",
            f"{way_out(path)}; or delete it: {_START}",
        )
    if not head.startswith(MAGIC) or len(head) < _HEADER:
        raise DamagedError(
            file,
            "this is no notebook, or one whose first bytes are damaged; it was left untouched",
            f"check the name; if it is a notebook, {way_out(path)}; {_START}",
        )
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise DamagedError(
            file,
            "this is a database of another program, or a notebook whose first bytes are damaged; "
            "it was left untouched",
            f"check the name; if it is a notebook, {way_out(path)}",
        )
    _whole(path, head, size, file)
    version = int.from_bytes(head[60:64], "big")
    if version > newest:
        raise NotebookError(
            file,
            f"it was written by a newer ohmbook (version {version} of the notebook; this one reads "
            f"up to {newest}) and was left untouched",
            "use the newer ohmbook",
        )


def _beginning(path: Path, file: str) -> tuple[bytes, int]:
    try:
        if path.is_dir():
            raise NotebookError(file, "this is a folder", "name a file in it")
        if path.exists() and not path.is_file():
            raise NotebookError(file, "this is no file that can be kept", "name a notebook's file")
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


def _whole(path: Path, head: bytes, size: int, file: str) -> None:
    """The file is at least as long as its header says, where the header can be relied on.

    While there is a log the file may be shorter: the rest of it stands in the log.
    """
    page = int.from_bytes(head[16:18], "big")
    page = 65536 if page == 1 else page
    pages = int.from_bytes(head[28:32], "big")
    current = head[24:28] == head[92:96]
    if page < 512 or page & (page - 1):
        raise DamagedError(file, f"its first bytes are damaged; {_UNTOUCHED}", way_out(path))
    if current and size < page * pages and log_of(path) is None:
        raise DamagedError(
            file,
            f"it is cut off: {size} bytes of {page * pages} are there; {_UNTOUCHED}",
            way_out(path),
        )
