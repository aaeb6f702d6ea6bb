"""Killed at any moment, a notebook holds all that was acknowledged, and opens."""

from __future__ import annotations

import hashlib
import os
import signal
from collections.abc import Callable
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from benchmarks import killed

from ohmbook.notebook import copies, opening, store
from ohmbook.notebook.notebook import Notebook
from tests.notebook.small import apart, book_of, ink_at, ink_of, ink_of_version, make_book, noted


@pytest.mark.parametrize("first", range(1001, 1031, 10))
def test_what_was_acknowledged_is_there_after_a_kill(first: int, tmp_path: Path) -> None:
    found = [killed.run(seed, tmp_path) for seed in range(first, first + 10)]
    assert [problem for one in found for problem in one.problems] == []
    assert sum(one.by_the_killed for one in found) > 0


def test_a_lost_act_would_be_seen(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    with Notebook.new(path, "Ada") as book:
        book.take_in(killed.BOARD, killed.SHEET)
        saved = book.add(killed.BOARD, noted("kept"))
        act, made = book.history()[saved.act - 1], tuple(book.made_by(saved.act))
    kept: killed.Ack = ("act", (act, made, [noted("kept")]))
    assert killed.problems(path, {"phone": [kept]}) == []
    other: killed.Ack = ("act", (act, made, [noted("never written")]))
    assert killed.problems(path, {"phone": [other]}) == ["phone: act lost or changed"]
    with Notebook.open(path) as book:
        saved = book.attach(killed.BOARD, "capture", b"1,2")
        act, made = book.history()[saved.act - 1], tuple(book.made_by(saved.act))
    for data, wrong in ((b"1,2", []), (b"1,3", ["phone: bytes lost or changed"])):
        assert killed.problems(path, {"phone": [("bytes", (act, made, data))]}) == wrong
    later: killed.Ack = ("act", (replace(act, id=act.id + 1), made, []))
    assert killed.problems(path, {"phone": [later]}) == ["phone: act lost or changed"]


def die(*_: object, **__: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def die_after(function: Callable[..., Any]) -> Callable[..., None]:
    def dying(*args: Any, **options: Any) -> None:
        function(*args, **options)
        die()

    return dying


def at(pipe: Connection, place: str, name: str, deed: str, *args: Any) -> None:
    """Die when a function is called, in another process that is doing something."""
    room = ROOMS[place]
    after = name.startswith("after ")
    name = name.removeprefix("after ")
    setattr(room, name, die_after(getattr(room, name)) if after else die)
    DEEDS[deed](*args)
    pipe.send("not reached")


def keep(path: Path, data: bytes) -> None:
    with Notebook.open(path) as book, book.store.writing() as db:
        store.insert_attachment(db, hashlib.sha256(data).digest(), data, None)
        book.store.version()


ROOMS: dict[str, ModuleType] = {"copies": copies, "opening": opening, "store": store}
DEEDS: dict[str, Callable[..., object]] = {
    "begin": lambda path: Notebook.new(path),
    "open": lambda path: Notebook.open(path),
    "keep": keep,
}


@pytest.mark.parametrize("name", ["fill_new", "after fill_new", "_record", "put_in_place"])
def test_killed_while_beginning_there_is_none_yet(name: str, tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    assert apart(at, "opening", name, "begin", path) == (-9, [])
    assert not path.exists()
    make_book(path)
    assert len(ink_at(path)[0]) == 12


def test_killed_once_begun_it_is_there(tmp_path: Path) -> None:
    path = tmp_path / "b.ohmbook"
    assert apart(at, "opening", "after put_in_place", "begin", path) == (-9, [])
    assert ink_at(path) == ([], [])


@pytest.mark.parametrize(
    ("room", "name"),
    [
        ("copies", "_copy_into"),
        ("copies", "after _copy_into"),
        ("copies", "after put_in_place"),
        ("opening", "_record"),
        ("opening", "after _record"),
        ("opening", "after _migrate"),
        ("opening", "check_version"),
    ],
)
def test_killed_while_being_brought_up(room: str, name: str, tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    assert apart(at, room, name, "open", path) == (-9, [])
    before = ink_at(book_of(2, tmp_path))
    for copy in tmp_path.glob(f"{path.name}.copy-*"):
        assert ink_of_version(copy, 1) == before
    with Notebook.open(path) as book:
        assert book.store.version() == 2
        book.check()
        now = ink_of(book)
    assert now == before
    assert (tmp_path / f"{path.name}.copy-version-1").exists()


@pytest.mark.parametrize("name", ["insert_attachment", "after insert_attachment"])
def test_killed_while_bytes_are_kept(name: str, tmp_path: Path) -> None:
    path, data = tmp_path / "b.ohmbook", bytes(range(256)) * 40_000
    before = make_book(path)
    assert apart(at, "store", name, "keep", path, data) == (-9, [])
    with Notebook.open(path) as book:
        book.check()
        assert ink_of(book) == before
        assert book.store.attachment_hashes() == []
    keep(path, data)
    with Notebook.open(path) as book:
        assert book.store.attachment(hashlib.sha256(data).digest()) == (data, None)
