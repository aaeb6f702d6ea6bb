"""A copy is read back whole before it gets its name, and nothing is overwritten."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import copies_of, free, way_out
from ohmbook.notebook.copies import copy
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.store import Store
from tests.notebook.small import beside, ink_at, ink_of, make_book, noted


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "b.ohmbook"


def test_a_copy_holds_the_same_and_what_is_written_later_not(path: Path) -> None:
    make_book(path)
    with Notebook.open(path) as book:
        book.attach("left", "trace.csv", b"1,2\n" * 5000)
        there = ink_of(book)
        made = copy(book.store, path.with_name("c.ohmbook"))
        book.add("left", noted("later"))
        assert made == path.with_name("c.ohmbook")
    assert ink_at(made) == there
    with Notebook.open(made) as book:
        book.check()
        assert book.add("left", noted("in the copy")).act == len(there[0]) + 1
    assert beside(path) == ["c.ohmbook"]


def test_a_copy_made_by_one_who_only_looks(path: Path) -> None:
    there = make_book(path)
    before = path.read_bytes()
    with Notebook.open(path, readonly=True) as book:
        copy(book.store, path.with_name("c.ohmbook"))
    assert ink_at(path.with_name("c.ohmbook")) == there
    assert path.read_bytes() == before


def test_nothing_is_overwritten(path: Path) -> None:
    make_book(path)
    other = path.with_name("other")
    other.write_text("mine")
    with Notebook.open(path) as book:
        for target in (other, path, path.parent):
            with pytest.raises(NotebookError, match="something of that name is there already, and"):
                copy(book.store, target)
        path.with_name("loose").symlink_to(path.with_name("nowhere"))
        with pytest.raises(NotebookError, match="something of that name is there already"):
            copy(book.store, path.with_name("loose"))
    assert other.read_text() == "mine"
    assert not path.with_name("nowhere").exists()


def test_a_name_taken_meanwhile_is_left_alone(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make_book(path)
    other, real = path.with_name("other"), Store.copy_to

    def meanwhile(store: Store, draft: Path) -> None:
        real(store, draft)
        other.write_text("mine")

    monkeypatch.setattr(Store, "copy_to", meanwhile)
    with (
        Notebook.open(path) as book,
        pytest.raises(NotebookError, match="has just been made there, and was left alone; choose"),
    ):
        copy(book.store, other)
    assert other.read_text() == "mine"
    assert beside(path) == ["other"]


@pytest.mark.parametrize("what", [b"1,2\n1,2\n", b"further reading 3", b"CREATE TABLE act"])
def test_a_copy_that_is_not_the_same_gets_no_name(
    what: bytes, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_book(path)
    with Notebook.open(path) as book:
        book.attach("left", "trace.csv", b"1,2\n" * 5000)
    real = Store.copy_to

    def spoilt(store: Store, draft: Path) -> None:
        real(store, draft)
        data = bytearray(draft.read_bytes())
        data[data.index(what) + 5] ^= 0xFF
        draft.write_bytes(data)

    monkeypatch.setattr(Store, "copy_to", spoilt)
    with Notebook.open(path) as book, pytest.raises(NotebookError) as told:
        copy(book.store, path.with_name("c.ohmbook"))
    assert "no copy could be made there (what was read back of it is not what was" in str(
        told.value
    )
    assert f"{path} is untouched" in str(told.value)
    assert beside(path) == []


def test_a_copy_of_something_else_gets_no_name(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make_book(path)
    make_book(path.with_name("other"), 3)
    other = Store(path.with_name("other"), "other", readonly=True)
    real = Store.copy_to
    monkeypatch.setattr(Store, "copy_to", lambda _, draft: real(other, draft))
    with (
        Notebook.open(path) as book,
        pytest.raises(NotebookError, match="what was read back of it is not what was written"),
    ):
        copy(book.store, path.with_name("c.ohmbook"))
    other.close()
    assert not path.with_name("c.ohmbook").exists()


def test_where_the_notebook_itself_is_damaged_that_is_told(path: Path) -> None:
    make_book(path)
    with Notebook.open(path) as book:
        book.attach("left", "trace.csv", b"1,2\n" * 5000)
    data = bytearray(path.read_bytes())
    data[data.index(b"1,2\n1,2\n") + 50] = 0
    path.write_bytes(data)
    with Notebook.open(path) as book, pytest.raises(DamagedError) as told:
        copy(book.store, path.with_name("c.ohmbook"))
    assert str(told.value).startswith(f"{path}: the file is damaged (the attachment ")
    assert beside(path) == []


def test_a_folder_that_is_not_there(path: Path) -> None:
    make_book(path)
    with (
        Notebook.open(path) as book,
        pytest.raises(NotebookError, match=r"no copy could be made there \(No such file or dir"),
    ):
        copy(book.store, path.parent / "none" / "c.ohmbook")


def test_a_file_system_without_links(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    there = make_book(path)
    with Notebook.open(path) as book:
        copy(book.store, path.with_name("c.ohmbook"))
    assert ink_at(path.with_name("c.ohmbook")) == there
    assert beside(path) == ["c.ohmbook"]
    with pytest.raises(NotebookError, match="is there already"):
        Notebook.new(path)


def test_the_newest_copy_is_named(path: Path) -> None:
    make_book(path)
    assert copies_of(path) == []
    assert "there is none beside it" in way_out(path)
    for k, name in enumerate(["b.ohmbook.copy-old", "b.ohmbook.copy-new", "b.ohmbook.copy-x-wal"]):
        path.with_name(name).write_bytes(b"")
        os.utime(path.with_name(name), (1.7e9 + k, 1.7e9 + k))
    assert [one.name for one in copies_of(path)] == ["b.ohmbook.copy-new", "b.ohmbook.copy-old"]
    assert "its newest copy, b.ohmbook.copy-new of 2023-11-1" in way_out(path)
    assert free(path).name == "b.ohmbook-2"
    other = sqlite3.connect(path)
    other.execute("DROP TRIGGER act_no_UPDATE")
    other.close()
    with pytest.raises(DamagedError, match=r"take its newest copy, b\.ohmbook\.copy-new of 2023"):
        Notebook.open(path)
