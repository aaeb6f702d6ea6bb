"""A full disk, a file that may not be written in, another program's lock: told, nothing lost."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Iterator
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from benchmarks.killed import SHEET

from ohmbook.errors import NotebookError
from ohmbook.notebook.beside import log_of
from ohmbook.notebook.copies import copy
from ohmbook.notebook.migrations import MIGRATIONS
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.opening import opened
from tests.notebook.make_books import make
from tests.notebook.small import (
    Ink,
    apart,
    beside,
    book_of,
    ink_at,
    ink_of,
    make_book,
    noted,
)

NOBODY = 65534
SHARED_BYTES = 32_768
"""What SQLite needs beside a notebook to open it."""
FULL = "the disk is full or does not answer; nothing of this was written, everything before it is"


def long(seed: int, size: int = 30_000) -> str:
    return random.Random(seed).randbytes(size // 2).hex()


@contextlib.contextmanager
def no_file_above(size: int) -> Iterator[None]:
    """The system lets no file grow beyond a size, as a full disk would."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


# a full disk


def write_until_full(pipe: Connection, path: Path, limit: int) -> None:
    with Notebook.open(path) as book:
        with no_file_above(limit):
            for k in range(20):
                try:
                    book.add("left", noted(long(k)))
                except NotebookError as error:
                    pipe.send(str(error))
                    break
        there = ink_of(book)
        book.add("left", noted("once there is room"))
        pipe.send(there)


@pytest.mark.parametrize("limit", [33_000, 40_001, 60_000, 99_999, 200_000])
def test_the_disk_full_in_mid_write(limit: int, tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    before = make_book(path)
    code, (message, there) = apart(write_until_full, path, limit)
    assert code == 0
    assert message.startswith(f"{path}: {FULL} safe; make room on the disk and write it again")
    with Notebook.open(path) as book:
        book.check()
        acts, entries = ink_of(book)
        assert book.readings("left")[-1].raw["note"] == "once there is room"
    assert (acts[:-1], entries[:-1]) == there
    assert acts[: len(before[0])] == before[0]


def test_a_file_system_that_is_full(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(small)],
        capture_output=True,
        check=False,
    )
    if mounted.returncode:
        pytest.skip("only an administrator can make a small file system")
    try:
        there = _fill(small / "b.ohmbook")
        subprocess.run(["mount", "-o", "remount,size=8m", str(small)], check=True)
        with Notebook.open(small / "b.ohmbook") as book:
            book.check()
            assert ink_of(book) == there
        assert beside(small / "b.ohmbook") == []
    finally:
        subprocess.run(["umount", "-l", str(small)], check=True)


def _fill(path: Path) -> Ink:
    make_book(path)
    with Notebook.open(path) as book:
        with pytest.raises(NotebookError, match=FULL):
            _add_many(book)
        there = ink_of(book)
        with pytest.raises(NotebookError, match=r"no copy could be made there \(.*is untouched; "):
            copy(book.store, path.with_name("copy"))
        assert beside(path) == [f"{path.name}-shm", f"{path.name}-wal"]
    assert ink_at(path) == there
    with pytest.raises(NotebookError, match=r"it cannot be made there.*nothing was made; choose"):
        Notebook.new(path.with_name("another.ohmbook"))
    assert beside(path) == [f"{path.name}-shm", f"{path.name}-wal"]  # what was written last
    return there


def begin_when_full(_: Connection, path: Path, limit: int) -> None:
    with no_file_above(limit):
        Notebook.new(path).close()


@pytest.mark.parametrize("limit", [0, 100, 5000, 20_000, 32_767])
def test_the_disk_full_while_beginning(limit: int, tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    code, told = apart(begin_when_full, path, limit)
    assert code == 0
    assert len(told) == 1
    assert told[0].startswith(f"{path}: it cannot be made there (")
    assert told[0].endswith("; nothing was made; choose a folder of your own.")
    assert list(tmp_path.iterdir()) == []


def open_when_full(_: Connection, path: Path, limit: int) -> None:
    with no_file_above(limit):
        Notebook.open(path).close()


@pytest.mark.parametrize("limit", [0, 20_000, 33_000, 70_000])
def test_the_disk_full_while_an_older_one_is_brought_up(limit: int, tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    make(path, 1)
    store, ledger = opened(path, path.name, migrations=MIGRATIONS[:1])
    with Notebook(store, ledger, "Ada") as book:
        book.add("left", *(noted(long(k)) for k in range(3)))
    before = path.read_bytes()
    code, told = apart(open_when_full, path, limit)
    assert code == 0
    assert len(told) == 1
    if limit > SHARED_BYTES:
        assert "no copy of it could be kept before bringing it up to this one" in told[0]
        assert "nothing was changed; make room, or copy it to a folder" in told[0]
    else:
        assert told[0].startswith(f"{path}: {FULL} safe; make room on the disk")
        assert log_of(path) is None
    assert path.read_bytes() == before
    assert {one.removeprefix(path.name) for one in beside(path)} <= {"-shm", "-wal"}
    Notebook.open(path).close()
    assert beside(path) == [f"{path.name}.copy-version-1"]


def copy_when_full(_: Connection, path: Path, to: Path, limit: int) -> None:
    with Notebook.open(path) as book, no_file_above(limit):
        copy(book.store, to)


def test_the_disk_full_while_a_copy_is_made(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    make_book(path)
    before = path.read_bytes()
    for limit in (0, 1, 4096, 12_345):
        code, told = apart(copy_when_full, path, tmp_path / "c.ohmbook", limit)
        assert code == 0
        assert len(told) == 1
        assert told[0].startswith(f"{tmp_path / 'c.ohmbook'}: no copy could be made there (")
        assert f"{path} is untouched; make room, or choose a folder" in told[0]
        assert (path.read_bytes(), beside(path)) == (before, [])


def _add_many(book: Notebook) -> None:
    for k in range(100):
        book.add("left", noted(long(k)))


# what may not be written in


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that somebody else than an administrator can reach."""
    folder = Path(tempfile.mkdtemp(prefix="ohmbook-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


def as_somebody(pipe: Connection, path: Path) -> None:
    """Look, write, begin and copy, without an administrator's rights."""
    with tempfile.TemporaryDirectory() as folder, Notebook.new(Path(folder) / "warm") as book:
        book.take_in("left", SHEET)  # what is imported late has been, while it may still be read
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    for deed in (_look, _write, _begin, _copy):
        try:
            pipe.send(deed(path))
        except NotebookError as error:
            pipe.send(str(error))


def _look(path: Path) -> object:
    with Notebook.open(path, readonly=True) as book:
        return ink_of(book)


def _write(path: Path) -> object:
    with Notebook.open(path) as book:
        return book.add("left", noted("x"))


def _begin(path: Path) -> object:
    with Notebook.new(path.with_name("new.ohmbook")) as book:
        return ink_of(book)


def _copy(path: Path) -> object:
    with Notebook.open(path, readonly=True) as book:
        return copy(book.store, path.with_name("copy.ohmbook"))


SHUT = (
    "the file or its folder may not be written in; nothing was changed; change their "
    "permissions, or copy the notebook to a folder of your own."
)


def test_a_file_that_may_not_be_written_in(open_folder: Path) -> None:
    path = open_folder / "b.ohmbook"
    there = make_book(path)
    before = path.read_bytes()
    path.chmod(0o444)
    open_folder.chmod(0o777)
    code, (seen, written, *_) = apart(as_somebody, path)
    assert code == 0
    assert seen == there
    assert written == f"{path}: {SHUT}"
    assert path.read_bytes() == before


def test_a_folder_that_may_not_be_written_in(open_folder: Path) -> None:
    path = open_folder / "b.ohmbook"
    there = make_book(path)
    before = path.read_bytes()
    path.chmod(0o666)
    open_folder.chmod(0o555)
    code, (seen, written, begun, copied) = apart(as_somebody, path)
    assert code == 0
    assert seen == there
    assert written == f"{path}: {SHUT}"
    assert begun == (
        f"{path.with_name('new.ohmbook')}: it cannot be made there (Permission denied); nothing "
        "was made; choose a folder of your own."
    )
    assert copied == (
        f"{path.with_name('copy.ohmbook')}: no copy could be made there (Permission denied); "
        f"{path} is untouched; make room, or choose a folder of your own."
    )
    assert (path.read_bytes(), beside(path)) == (before, [])


def test_a_log_in_a_folder_that_may_not_be_written_in(open_folder: Path) -> None:
    path = open_folder / "b.ohmbook"
    make_book(path)
    with Notebook.open(path) as book:
        book.add("left", noted("only in the log"))
        there = ink_of(book)
        log, data = path.with_name("b.ohmbook-wal").read_bytes(), path.read_bytes()
    path.write_bytes(data)
    path.with_name("b.ohmbook-wal").write_bytes(log)
    open_folder.chmod(0o555)
    code, (seen, written, *_) = apart(as_somebody, path)
    assert code == 0
    assert seen == written
    assert seen == (
        f"{path}: what was written last still stands in b.ohmbook-wal beside it, and that folder "
        "may not be written in; nothing was changed; copy both files to a folder of your own, and "
        "open it there."
    )
    open_folder.chmod(0o755)
    assert ink_at(path) == there


def test_a_file_that_may_not_be_read(open_folder: Path) -> None:
    path = open_folder / "b.ohmbook"
    make_book(path)
    path.chmod(0)
    code, (seen, written, *_) = apart(as_somebody, path)
    assert code == 0
    assert seen == written
    assert seen == (
        f"{path}: the file may not be read (permission denied); change its permissions."
    )


def test_an_older_one_where_nothing_may_be_written(open_folder: Path) -> None:
    path = book_of(1, open_folder)
    before = path.read_bytes()
    path.chmod(0o444)
    open_folder.chmod(0o555)
    code, (seen, written, *_) = apart(as_somebody, path)
    assert code == 0
    assert "older version" in seen
    assert written == f"{path}: {SHUT}"
    assert (path.read_bytes(), beside(path)) == (before, [])


# locked by another program

BUSY = (
    "another program is writing in it and did not finish; nothing was written; try again in a "
    "moment, or close the other program."
)


@pytest.mark.parametrize("hold", [["BEGIN EXCLUSIVE"], ["BEGIN IMMEDIATE"]])
def test_another_program_writes_and_does_not_finish(hold: list[str], tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    there = make_book(path)
    other = sqlite3.connect(path, isolation_level=None)
    for deed in hold:
        other.execute(deed)
    with Notebook.open(path, wait_s=0.05) as book:
        assert ink_of(book) == there
        with pytest.raises(NotebookError) as told:
            book.add("left", noted("x"))
        assert str(told.value) == f"{path}: {BUSY}"
        other.execute("ROLLBACK")
        other.close()
        book.add("left", noted("after it"))
        assert len(book.history()) == len(there[0]) + 1


def test_another_program_keeps_it_to_itself(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    there = make_book(path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA locking_mode = EXCLUSIVE")
    other.execute("BEGIN EXCLUSIVE")
    for readonly in (True, False):
        with pytest.raises(NotebookError) as told:
            Notebook.open(path, readonly=readonly, wait_s=0.05)
        assert str(told.value) == f"{path}: {BUSY}"
    other.execute("ROLLBACK")
    other.close()
    assert ink_at(path) == there


def test_an_older_one_that_another_program_is_writing_in(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(NotebookError) as told:
        Notebook.open(path, wait_s=0.05)
    assert str(told.value) == f"{path}: {BUSY}"
    other.execute("ROLLBACK")
    other.close()
    assert beside(path) == []


# moved, replaced or removed while it is open


def test_a_file_replaced_while_it_is_open(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    make_book(path)
    other = tmp_path / "copy"
    shutil.copy(path, other)
    with Notebook.open(path) as book:
        book.add("left", noted("x"))
        there = ink_of(book)
        other.replace(path)
        with pytest.raises(NotebookError) as told:
            book.add("left", noted("would be lost"))
        assert str(told.value) == (
            f"{path}: the file has been moved, replaced or removed since it was opened; nothing "
            "of this was written; close it, look what stands there now, and open that."
        )
        assert ink_of(book) == there


def test_a_log_removed_while_it_is_open(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    make_book(path)
    with Notebook.open(path) as book:
        book.add("left", noted("x"))
        there = ink_of(book)
        path.with_name("b.ohmbook-wal").unlink()
        with pytest.raises(
            NotebookError, match=r"the log beside it \(b.ohmbook-wal\) has been rem"
        ):
            book.add("left", noted("would be lost"))
    assert ink_at(path) == there
