"""Boards by their address: file, board, moment."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from ohmbook.errors import CallError, NotebookError
from ohmbook.job.sheets import sheet_at
from ohmbook.notebook.address import Address, address, board_at, notebook_address
from ohmbook.notebook.notebook import Notebook
from tests.notebook.books import COIL, ohms


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a.ohmbook", Address("a.ohmbook")),
        ("a.ohmbook:left", Address("a.ohmbook", "left")),
        ("a.ohmbook:left@12", Address("a.ohmbook", "left", "12")),
        ("a.ohmbook@2026-11-25", Address("a.ohmbook", None, "2026-11-25")),
        ("a.ohmbook:left@2026-11-25T18:30", Address("a.ohmbook", "left", "2026-11-25T18:30")),
        ("C:\\bench\\a.ohmbook:left", Address("C:\\bench\\a.ohmbook", "left")),
        ("board.toml", None),
        ("-", None),
        ("left@home.toml", None),
    ],
)
def test_an_address_is_read(text: str, told: Address | None) -> None:
    assert address(text) == told


def test_a_notebook_of_any_name_is_known_by_what_is_in_it(tmp_path: Path) -> None:
    Notebook.new(tmp_path / "evening:1.db").close()
    named = f"{tmp_path}/evening:1.db"
    assert address(named) == Address(named)
    assert address(f"{named}:left@3") == Address(named, "left", "3")


def test_the_only_board_need_not_be_named(tmp_path: Path) -> None:
    file = str(tmp_path / "bench.ohmbook")
    with Notebook.new(file) as book:
        with pytest.raises(CallError, match="has no board yet"):
            board_at(book, Address(file))
        book.take_in("left", COIL)
        assert board_at(book, Address(file)) == ("left", None)
        book.take_in("right", COIL)
        with pytest.raises(CallError, match=f"expected one of {file}:left, {file}:right"):
            board_at(book, Address(file))
        assert board_at(book, Address(file, None, "1")) == ("left", 1)


def test_moments_are_numbers_or_times(tmp_path: Path) -> None:
    file = str(tmp_path / "bench.ohmbook")
    with Notebook.new(file) as book:
        book.take_in("left", COIL)
        book.add("left", ohms())
        assert board_at(book, Address(file, "left", "2999-01-01"))[1] == 2
        assert board_at(book, Address(file, "left", "2001-01-01T10:00"))[1] == 0
        last = datetime.datetime.fromisoformat(book.history()[-1].at).astimezone()
        minute = f"{last:%Y-%m-%dT%H:%M}"  # as the history shows it: what was done in it is there
        assert board_at(book, Address(file, "left", minute))[1] == 2
        with pytest.raises(CallError, match='"yesterday" is no moment; expected a number'):
            board_at(book, Address(file, "left", "yesterday"))
    assert len(sheet_at(f"{file}:left@1").readings) == 2
    assert len(sheet_at(f"{file}:left").readings) == 3
    with pytest.raises(CallError, match="has no number 9 in its history; expected 0 to 2"):
        sheet_at(f"{file}:left@9")


def test_what_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="there is no such notebook; `ohmbook notebook new`"):
        sheet_at(str(tmp_path / "none.ohmbook:left"))
    with pytest.raises(CallError, match="There is no sheet"):
        sheet_at(str(tmp_path / "none.toml"))
    assert notebook_address("none") == Address("none")
