"""Several programs at one notebook at once: each sees the others' writing, and nothing is lost."""

from __future__ import annotations

import os
import signal
import threading
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from ohmbook.notebook.change import Saved
from ohmbook.notebook.header import is_notebook
from ohmbook.notebook.notebook import Notebook
from tests.notebook.small import apart, beside, ink_at, ink_of, make_book, noted

EACH = 200


def append(pipe: Connection, path: Path, who: str) -> None:
    with Notebook.open(path, who=who) as book:
        for k in range(EACH):
            saved = book.add("left", noted(f"{who} {k}"))
            pipe.send((saved.act, saved.entries))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "b.ohmbook"


def test_two_append_two_hundred_each(path: Path) -> None:
    make_book(path, 2)
    told: dict[str, list[tuple[int, tuple[int, ...]]]] = {}

    def run(who: str) -> None:
        code, told[who] = apart(append, path, who)
        assert code == 0

    both = [threading.Thread(target=run, args=(who,)) for who in ("laptop", "phone")]
    for one in both:
        one.start()
    for one in both:
        one.join()
    with Notebook.open(path) as book:
        book.check()
        acts, entries = ink_of(book)
        notes = [one.raw.get("note") for one in book.readings("left")]
    by_id = {one.id: one for one in entries}
    for who in ("laptop", "phone"):
        assert len(told[who]) == EACH
        for k, (act, made) in enumerate(told[who]):
            assert acts[act - 1].who == who
            assert [f'"note":"{who} {k}"' in str(by_id[one].body) for one in made] == [True]
        assert [note for note in notes if str(note).startswith(who)] == [
            f"{who} {k}" for k in range(EACH)
        ]
    assert beside(path) == []


def add_one(pipe: Connection, path: Path, note: str) -> None:
    with Notebook.open(path, who="phone") as book:
        pipe.send(book.add("left", noted(note)))


def test_what_another_writes_is_seen(path: Path) -> None:
    make_book(path)
    with Notebook.open(path) as book, Notebook.open(path, readonly=True) as looked:
        before = looked.refresh()
        code, (saved,) = apart(add_one, path, "from the phone")
        assert code == 0
        assert isinstance(saved, Saved)
        for one in (book, looked):
            assert one.refresh() == saved.act == before + 1
            assert one.readings("left")[-1].raw["note"] == "from the phone"
            assert one.history()[-1].who == "phone"


def test_it_is_seen_without_being_asked_for_when_writing(path: Path) -> None:
    make_book(path)
    with Notebook.open(path) as book:
        _, (theirs,) = apart(add_one, path, "from the phone")
        mine = book.add("left", noted("mine"))
        assert mine.act == theirs.act + 1


def reopen_and_write(pipe: Connection, path: Path) -> None:
    """Hold it open, open it a second time and look at it from outside; then go on writing."""
    book = Notebook.open(path, who="laptop")
    book.refresh()
    assert is_notebook(path)
    Notebook.open(path).close()
    Notebook.open(path, readonly=True).close()
    pipe.send(apart(add_one, path, "from the phone")[0])
    for k in range(3):
        pipe.send(book.add("left", noted(f"mine {k}")).act)
    os.kill(os.getpid(), signal.SIGKILL)


def test_opening_it_twice_in_one_program_drops_no_lock(path: Path) -> None:
    """Else another program takes itself for the last one, and removes the log that is written."""
    last = len(make_book(path)[0])
    code, told = apart(reopen_and_write, path)
    assert code == -signal.SIGKILL
    assert told == [0, last + 2, last + 3, last + 4]
    with Notebook.open(path) as book:
        book.check()
        assert book.view().at == last + 4
        assert book.readings("left")[-1].raw["note"] == "mine 2"


def test_many_threads_open_it_at_once(path: Path) -> None:
    make_book(path)
    done: list[int] = []

    def write(k: int) -> None:
        for _ in range(5):
            with Notebook.open(path, wait_s=30.0) as book:
                done.append(book.add("left", noted(f"thread {k}")).act)

    threads = [threading.Thread(target=write, args=(k,)) for k in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(set(done)) == 20
    assert {one.id for one in ink_at(path)[0]} >= set(done)
