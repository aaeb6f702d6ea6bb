"""What is no notebook, or no longer a whole one: told what to do, and left as it is."""

from __future__ import annotations

import os
import random
import sqlite3
from pathlib import Path

import pytest
from benchmarks import flipped

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import way_out
from ohmbook.notebook.copies import copy
from ohmbook.notebook.header import is_notebook
from ohmbook.notebook.migrations import APPLICATION_ID, MIGRATIONS
from ohmbook.notebook.notebook import Notebook
from tests.notebook.small import beside, ink_at, ink_of, make_book, noted

RESCUE = "`ohmbook notebook rescue b.ohmbook NEW`, which writes what can still be read into a new"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "b.ohmbook"


def refused(path: Path, *, readonly: bool = False) -> str:
    """What is told about a file; it is left as it is, and nothing is made beside it."""
    before, others = path.read_bytes(), beside(path)
    with pytest.raises(NotebookError) as told:
        Notebook.open(path, readonly=readonly)
    assert path.read_bytes() == before
    assert beside(path) == others
    with pytest.raises(NotebookError, match="something of that name is there already, and was le"):
        Notebook.new(path)
    assert path.read_bytes() == before
    assert str(told.value).startswith(f"{path}: ")
    return str(told.value)


def test_there_is_none(path: Path) -> None:
    with pytest.raises(NotebookError) as told:
        Notebook.open(path)
    assert str(told.value) == (
        f"{path}: there is no such notebook; `ohmbook notebook new` begins one."
    )
    assert not path.exists()


def test_a_folder_in_its_place(path: Path) -> None:
    path.mkdir()
    with pytest.raises(NotebookError) as told:
        Notebook.open(path)
    assert str(told.value) == f"{path}: this is a folder; name a file in it."
    assert not is_notebook(path)


def test_a_pipe_in_its_place_is_not_waited_for(path: Path) -> None:
    os.mkfifo(path)
    with pytest.raises(NotebookError) as told:
        Notebook.open(path)
    assert str(told.value) == (f"{path}: this is no file that can be kept; name a notebook's file.")
    assert not is_notebook(path)


def test_a_name_that_cannot_be_one(tmp_path: Path) -> None:
    for name in ("a\0b", "a" * 300):
        with pytest.raises(NotebookError, match="check the name"):
            Notebook.open(tmp_path / name)
        with pytest.raises(NotebookError, match="it cannot be made there"):
            Notebook.new(tmp_path / name)
        assert not is_notebook(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_file_of_no_length(path: Path) -> None:
    path.touch()
    assert refused(path) == (
        f"{path}: the file is empty: it has been emptied, or never was a notebook; take a copy of "
        f"it, if you have one (there is none beside it); or {RESCUE} notebook; or delete it: "
        "`ohmbook notebook new` begins one."
    )


@pytest.mark.parametrize(
    "data",
    [
        b"\0",
        b"SQLite format 3",
        b"SQLite format 3\0",
        b"SQLite format 3\0" + bytes(80),
        b"title = 'a sheet'\n",
        random.Random(3).randbytes(30_000),
        b"\xff\xd8\xff\xe0" + bytes(2000),
    ],
)
def test_garbage(data: bytes, path: Path) -> None:
    path.write_bytes(data)
    assert "this is no notebook, or one whose first bytes are damaged; it was left un" in refused(
        path
    )


def test_another_programs_database(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE bookmark (address TEXT)")
    other.close()
    told = refused(path)
    assert "this is a database of another program, or a notebook whose first bytes are" in told
    assert "it was left untouched; check the name; if it is a notebook, take a copy of it" in told


def test_another_programs_database_with_our_number(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    other.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    other.execute("CREATE TABLE act (id INTEGER)")
    other.close()
    assert "the file is damaged (migration is not as it was made); nothing" in refused(path)


def test_a_notebook_of_a_newer_version(path: Path) -> None:
    make_book(path)
    newer = len(MIGRATIONS) + 1
    other = sqlite3.connect(path, isolation_level=None)
    other.execute(f"PRAGMA user_version = {newer}")
    other.execute(f"INSERT INTO migration VALUES ({newer}, 'to_come', '')")
    other.close()
    for readonly in (False, True):
        assert refused(path, readonly=readonly) == (
            f"{path}: it was written by a newer ohmbook (version {newer} of the notebook; this "
            f"one reads up to {newer - 1}) and was left untouched; use the newer ohmbook."
        )


def test_a_newer_version_that_still_stands_in_the_log(path: Path) -> None:
    make_book(path)
    whole, log = with_log(
        path, "PRAGMA user_version = 3", "INSERT INTO migration VALUES (3,'x','')"
    )
    path.write_bytes(whole)
    path.with_name("b.ohmbook-wal").write_bytes(log)
    with pytest.raises(NotebookError, match="it was written by a newer ohmbook"):
        Notebook.open(path)
    assert path.read_bytes() == whole
    assert path.with_name("b.ohmbook-wal").read_bytes() == log


def with_log(path: Path, *deeds: str) -> tuple[bytes, bytes]:
    """A file and its log, as a killed program leaves them that has done something."""
    other = sqlite3.connect(path, isolation_level=None)
    for deed in deeds:
        other.execute(deed)
    kept = path.read_bytes(), path.with_name(f"{path.name}-wal").read_bytes()
    other.close()
    return kept


# cut off


def test_cut_off_anywhere(path: Path) -> None:
    make_book(path)
    whole = path.read_bytes()
    copy_path = path.with_name("b.ohmbook.copy-monday")
    copy_path.write_bytes(whole)
    lengths = {*range(1, len(whole), 509), *range(4096, len(whole), 4096), len(whole) - 1}
    for length in sorted(lengths):
        path.write_bytes(whole[:length])
        told = refused(path)
        assert "its newest copy, b.ohmbook.copy-monday of 20" in told
        assert RESCUE in told
        if length >= 100:
            assert f"it is cut off: {length} bytes of {len(whole)} are there; nothing was" in told
    assert copy_path.read_bytes() == whole


def test_with_its_log_the_file_may_be_shorter(path: Path) -> None:
    """Killed while the log is written into the file, its first page comes before its last."""
    there = make_book(path)
    shorter = path.read_bytes()
    with Notebook.open(path) as book:
        book.add("left", noted("x" * 30_000))
        log = path.with_name("b.ohmbook-wal").read_bytes()
        there = ink_of(book)
    longer = path.read_bytes()
    assert len(longer) > len(shorter)
    path.write_bytes(longer[:4096] + shorter[4096:])
    path.with_name("b.ohmbook-wal").write_bytes(log)
    assert ink_at(path) == there
    with Notebook.open(path) as book:
        book.check()
    assert (path.read_bytes(), beside(path)) == (longer, [])


# one byte flipped


def test_one_byte_flipped_in_a_hundred_places(tmp_path: Path) -> None:
    found = flipped.count(tmp_path, 100, seed=5)
    assert found[flipped.BAD] == 0
    # Attachments are proven when they are looked at: their bytes are not read at opening.
    assert found[flipped.TOLD] + found[flipped.SEEN] + found[flipped.SAME] == 100
    assert found[flipped.TOLD] > 10


def test_what_a_flipped_byte_is_told_as(path: Path) -> None:
    make_book(path)
    whole = path.read_bytes()
    place = whole.index(b"looked again")
    path.write_bytes(whole.replace(b"looked again", b"looked Again"))
    assert refused(path) == (
        f"{path}: the file is damaged (number 11 of its history is not what was written); nothing "
        f"was changed; {way_out(path)}."
    )
    assert place > 0


def test_a_table_that_was_made_anew_without_its_guard_is_told(path: Path) -> None:
    make_book(path)
    other = sqlite3.connect(path)
    other.execute("DROP TRIGGER entry_no_UPDATE")
    other.close()
    assert "the file is damaged (entry_no_UPDATE is not as it was made)" in refused(path)


# what another file left beside it


def test_a_log_of_another_notebook(path: Path) -> None:
    there = make_book(path)
    other = path.with_name("other.ohmbook")
    make_book(other, 3)
    with Notebook.open(other) as book:
        book.add("left", noted("in the other one"))
        log = path.with_name("other.ohmbook-wal").read_bytes()
    assert log
    left = path.with_name("b.ohmbook-wal")
    left.write_bytes(log)
    before = path.read_bytes()
    for readonly in (False, True):
        with pytest.raises(DamagedError) as told:
            Notebook.open(path, readonly=readonly)
        assert str(told.value) == (
            f"{path}: beside it lies b.ohmbook-wal, which does not belong to it and would be "
            "written into it; neither was changed; if another program has the notebook open, "
            "close that; then move b.ohmbook-wal to another folder and open the notebook again."
        )
        assert path.read_bytes() == before
        assert left.read_bytes() == log
    left.rename(path.with_name("moved"))
    assert ink_at(path) == there


def test_a_log_of_its_own_that_is_older(path: Path) -> None:
    """A later copy put in the place of a notebook whose program was killed."""
    make_book(path)
    with Notebook.open(path) as book:
        book.add("left", noted("x"))
        log = path.with_name("b.ohmbook-wal").read_bytes()
    with Notebook.open(path) as book:
        for k in range(60):
            book.add("left", noted(f"later {k}"))
        there = ink_of(book)
    before = path.read_bytes()
    left = path.with_name("b.ohmbook-wal")
    left.write_bytes(log)
    with pytest.raises(DamagedError, match="which does not belong to it"):
        Notebook.open(path)
    assert (path.read_bytes(), left.read_bytes()) == (before, log)
    left.unlink()
    assert ink_at(path) == there


def test_a_log_that_is_garbage_is_nobodys(path: Path) -> None:
    there = make_book(path)
    path.with_name("b.ohmbook-wal").write_bytes(random.Random(1).randbytes(9000))
    with Notebook.open(path) as book:
        assert ink_of(book) == there
        book.check()


def test_a_rollback_journal_of_another_file(path: Path) -> None:
    there = make_book(path)
    other = sqlite3.connect(path.with_name("other"), isolation_level=None)
    other.execute("PRAGMA journal_mode = DELETE")
    other.execute("CREATE TABLE t (x)")
    other.execute("PRAGMA cache_size = 1")
    other.execute("PRAGMA cache_spill = 1")
    other.execute("BEGIN")
    other.executemany("INSERT INTO t VALUES (?)", [("x" * 3000,) for _ in range(50)])
    journal = path.with_name("other-journal").read_bytes()
    other.close()
    assert journal
    left = path.with_name("b.ohmbook-journal")
    left.write_bytes(journal)
    before = path.read_bytes()
    with pytest.raises(DamagedError, match=r"beside it lies b.ohmbook-journal, which does not bel"):
        Notebook.open(path)
    assert (path.read_bytes(), left.read_bytes()) == (before, journal)
    left.unlink()
    assert ink_at(path) == there


@pytest.mark.parametrize("end", ["-wal", "-journal"])
def test_what_another_file_left_where_a_new_one_is_begun(end: str, path: Path) -> None:
    left = path.with_name(f"b.ohmbook{end}")
    left.write_bytes(b"left")
    with pytest.raises(NotebookError, match=f"beside it lies b.ohmbook{end}, left of another fil"):
        Notebook.new(path)
    make_book(path.with_name("other.ohmbook"))
    with (
        Notebook.open(path.with_name("other.ohmbook")) as book,
        pytest.raises(NotebookError, match="choose another name, or move that away"),
    ):
        copy(book.store, path)
    assert not path.exists()
    assert left.read_bytes() == b"left"
