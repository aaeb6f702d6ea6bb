"""A new file made whole beside its place, then put there: all of it or nothing, over nobody's."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ohmbook.errors import NotebookError

_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}
"""What a disk answers that knows no links, such as a memory stick's."""


@contextmanager
def made_beside(path: Path, file: str) -> Iterator[Path]:
    """A free name beside a place; what is made there in the block is then put in the place.

    Args:
        path: the place; nothing may be there.
        file: what to call it.

    Raises:
        NotebookError: something is there already, or nothing can be written there; then the draft
            is removed.
    """
    if os.path.lexists(path):
        raise NotebookError(
            file, "something of that name is there already, and was left alone", "choose another"
        )
    draft = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}.draft")
    try:
        yield draft
        _to_disk(draft)
        _put(draft, path)
        with suppress(OSError):  # some disks do not answer for folders
            _to_disk(path.parent)
    except FileExistsError:
        raise NotebookError(
            file, "something of that name has just been made by another program", "look at it"
        ) from None
    except OSError as error:
        raise NotebookError(
            file,
            f"it cannot be written there ({error.strerror or error}); nothing was left behind",
            "make room, or choose a folder of your own",
        ) from None
    finally:
        _remove(draft)


def _put(draft: Path, path: Path) -> None:
    try:
        os.link(draft, path)  # unlike a rename, this never takes another's place
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        with open(path, "xb"):
            pass  # the place is ours now, and empty
        os.replace(draft, path)


def _to_disk(path: Path) -> None:
    """Have the disk keep what was written."""
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def _remove(draft: Path) -> None:
    for name in (draft.name, f"{draft.name}-wal", f"{draft.name}-shm"):
        with suppress(OSError):
            draft.with_name(name).unlink()
