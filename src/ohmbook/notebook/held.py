"""Which files this process has open through SQLite, so that it never opens one beside it.

POSIX locks belong to a process and a file: closing any handle of a file drops all the locks that
the process holds on it, SQLite's too. Another program could then take itself for the last one,
delete the log, and with it what this one writes from then on. Source: "How To Corrupt An SQLite
Database File", sqlite.org, section 2.2.
"""

from __future__ import annotations

import os
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

Inode = tuple[int, int]

_GATE = threading.RLock()
_OPEN: Counter[Inode] = Counter()


@contextmanager
def alone(path: Path) -> Iterator[bool]:
    """Whether a file may be opened as plain bytes now; no notebook is opened meanwhile."""
    with _GATE:
        yield _OPEN[inode_of(path)] == 0


@contextmanager
def opening(path: Path) -> Iterator[Inode]:
    """While SQLite opens a file; if that goes well, it is held from then on."""
    with _GATE:
        found = inode_of(path)
        yield found
        _OPEN[found] += 1


def let_go(inode: Inode) -> None:
    """It has been closed."""
    with _GATE:
        _OPEN[inode] -= 1


def inode_of(path: Path) -> Inode:
    """Which file lies there; (0, 0) where none does."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return (0, 0)
    return (found.st_dev, found.st_ino)
