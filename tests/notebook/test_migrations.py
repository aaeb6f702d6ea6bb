"""Notebooks of every released version open, are brought up, and give the same numbers."""

from __future__ import annotations

import sqlite3
import threading
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from ohmbook.errors import NotebookError
from ohmbook.job.settled import settle
from ohmbook.notebook import opening
from ohmbook.notebook.migrations import MIGRATIONS
from ohmbook.notebook.notebook import Notebook
from tests.notebook.make_books import make
from tests.notebook.small import BOOKS, apart, beside, book_of, ink_at, ink_of, ink_of_version

VERSIONS = range(1, len(MIGRATIONS) + 1)

# Settled on 2026-11-25 from the kept books. The fit stops at steps far below its uncertainty, and
# machines' linear algebra differs in the last digits: a millionth leaves room for both.
NUMBERS = {
    ("generator", "resistance"): 50.25057969687573,
    ("L1", "inductance"): 0.0008107935941361974,
    ("L1", "resistance"): 0.3215598360184482,
    ("C1", "capacitance"): 4.779017137174052e-06,
}
SAME = 1e-6


def test_there_is_a_book_of_every_version() -> None:
    assert [one.name for one in sorted(BOOKS.iterdir())] == [
        f"version-{version}.ohmbook" for version in VERSIONS
    ]


@pytest.mark.parametrize("version", VERSIONS)
def test_a_kept_book_gives_the_same_numbers(version: int, tmp_path: Path) -> None:
    with Notebook.open(book_of(version, tmp_path)) as book:
        assert book.store.version() == len(MIGRATIONS)
        book.check()
        found = settle(book.sheet("left")).document()["estimates"]
    values = {key: found[key[0]][key[1]]["value"] for key in NUMBERS}
    assert values == pytest.approx(NUMBERS, rel=SAME)


@pytest.mark.parametrize("version", VERSIONS)
def test_a_kept_book_holds_the_same_at_every_moment(version: int, tmp_path: Path) -> None:
    make(tmp_path / "now.ohmbook", len(MIGRATIONS))
    with (
        Notebook.open(book_of(version, tmp_path)) as kept,
        Notebook.open(tmp_path / "now.ohmbook") as made,
    ):
        assert ink_of(kept) == ink_of(made)
        for at in range(1, 11):
            assert kept.text("left", at) == made.text("left", at)


def test_a_verified_copy_is_kept_beside_it(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    before = ink_of_version(path, 1)
    Notebook.open(path).close()
    assert beside(path) == ["version-1.ohmbook.copy-version-1"]
    assert ink_of_version(tmp_path / beside(path)[0], 1) == before
    Notebook.open(path).close()
    assert beside(path) == ["version-1.ohmbook.copy-version-1"]


def test_a_copy_that_is_there_already_is_left_alone(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    other = tmp_path / "version-1.ohmbook.copy-version-1"
    other.write_text("of last year")
    Notebook.open(path).close()
    assert beside(path) == [other.name, f"{other.name}-2"]
    assert other.read_text() == "of last year"


def test_looked_at_only_it_is_not_brought_up(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    before = path.read_bytes()
    with pytest.raises(NotebookError, match=r"older version.*open it once where it may be written"):
        Notebook.open(path, readonly=True)
    assert (path.read_bytes(), beside(path)) == (before, [])


def broken(db: sqlite3.Connection) -> None:
    db.execute("CREATE TABLE half (done)")
    db.execute("INSERT INTO act SELECT * FROM nowhere")


def test_a_step_that_fails_leaves_the_notebook_as_it_was(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    before = ink_of_version(path, 1)
    with pytest.raises(NotebookError):
        opening.opened(path, path.name, migrations=(*MIGRATIONS, broken))
    assert path.read_bytes() == (BOOKS / path.name).read_bytes()
    assert ink_of_version(path, 1) == before
    assert beside(path) == ["version-1.ohmbook.copy-version-1"]


def bring_up(pipe: Connection, path: Path) -> None:
    pipe.send("ready")
    with Notebook.open(path) as book:
        book.check()
        pipe.send((book.store.version(), len(book.history())))


def test_two_programs_bring_it_up_at_once(tmp_path: Path) -> None:
    path = book_of(1, tmp_path)
    told: list[tuple[int | None, list[object]]] = []
    both = [threading.Thread(target=lambda: told.append(apart(bring_up, path))) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert told == [(0, ["ready", (2, 10)])] * 2
    assert beside(path) == ["version-1.ohmbook.copy-version-1"]
    assert ink_at(path) == ink_at(book_of(2, tmp_path))


def test_one_that_another_program_has_brought_up_meanwhile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = book_of(1, tmp_path)
    real = opening._bring_up

    def late(*given: object) -> None:
        monkeypatch.setattr(opening, "_bring_up", real)
        Notebook.open(path).close()
        real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(opening, "_bring_up", late)
    with Notebook.open(path) as book:
        assert book.store.version() == 2
    assert beside(path) == ["version-1.ohmbook.copy-version-1"]
