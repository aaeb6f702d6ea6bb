"""What the notebook's commands do: open it, do one thing, and say what was done."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from shlex import quote
from typing import Any

from rich.console import RenderableType

from ohmbook.errors import CallError
from ohmbook.job.sheets import opened_for_reading
from ohmbook.notebook.address import Address, board_at, notebook_address
from ohmbook.notebook.boards import Kept
from ohmbook.notebook.change import Saved
from ohmbook.notebook.checking import check_board_name
from ohmbook.notebook.ink import Act, Entry
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.notebook import Notebook
from ohmbook.report.notebook import (
    ActLine,
    BoardLine,
    PartLine,
    ReadingLine,
    boards_page,
    history_page,
    parts_page,
    readings_page,
)
from ohmbook.sheet.load import STDIN, load_text
from ohmbook.sheet.read import read_sheet

_SECTIONS = ("parts", "sources", "instruments")


@contextmanager
def board_of(text: str, *, readonly: bool = False) -> Iterator[tuple[Notebook, str, int | None]]:
    """The open notebook, the board and the moment that an address names.

    Raises:
        CallError: there is no such board, or what was is to be written in.
    """
    there = notebook_address(text)
    if there.moment is not None and not readonly:
        raise CallError(f"{text}: what was cannot be written in; leave out @{there.moment}.")
    with opened(there, readonly=readonly) as book:
        yield book, *board_at(book, there)


@contextmanager
def opened(there: Address, *, readonly: bool = False) -> Iterator[Notebook]:
    """The open notebook that an address names."""
    with opened_for_reading(there) if readonly else Notebook.open(there.file) as book:
        yield book


def new(file: str) -> str:
    """Begin a notebook."""
    Notebook.new(file).close()
    return f"Began {file}. Take a sheet in: ohmbook notebook import {quote(file)} SHEET"


def take_in(text: str, sheet: str, board: str | None) -> str:
    """Take a sheet into a notebook, as a board of its own; the notebook is begun if need be."""
    there = notebook_address(text)
    file, written = load_text(sheet)
    name = board or there.board or Path(file).stem
    begun = not Path(there.file).exists()
    if begun:  # a notebook is begun only for what can be taken in
        read_sheet(text=written, file=file)
        check_board_name(Ledger().view(), name)
    with Notebook.new(there.file) if begun else Notebook.open(there.file) as book:
        saved = book.take_in(name, written, file)
        count = len(book.readings(name))
    board_there = f"{there.file}:{name}"
    made = f"Began {there.file} and took" if begun else "Took"
    return (
        f"{made} {file} in as {there.file}:{name} ({count} readings). It stays as number "
        f"{saved.act} of its history. {_remarks(file, written, board_there)}"
        f"Next: ohmbook settle {quote(board_there)}"
    )


_REMARK = re.compile(r"(^|[ \t])#[ \t]", re.MULTILINE)


def _remarks(file: str, written: str, board: str) -> str:
    """That remarks after # are no part of a board, where there are any."""
    if file == STDIN or not _REMARK.search(written):
        return ""
    return (
        "Remarks after # are not kept in it; to keep them too: ohmbook notebook attach "
        f"{quote(board)} {quote(file)}. "
    )


def text_of(text: str) -> str:
    """A board as a sheet's text."""
    with board_of(text, readonly=True) as (book, board, at):
        return book.text(board, at)


def write_sheet_file(text: str, path: Path) -> str:
    """A board as a sheet in a file that is not there yet."""
    written = text_of(text)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(written)
    except FileExistsError as error:
        raise CallError(f'"{path}" exists and is left alone; expected a new name.') from error
    return f"Wrote {path}."


def write(text: str, fragment: str) -> str:
    """Write a piece of a sheet into a board."""
    file, written = load_text(fragment)
    with board_of(text) as (book, board, _):
        return done(book, book.put(board, written, file))


def revise(text: str, reading: str, fragment: str) -> str:
    """Put another text in a reading's place."""
    file, written = load_text(fragment)
    with board_of(text) as (book, board, _):
        return done(book, book.revise_text(board, reading, written, file))


def strike(text: str, reading: str, why: str) -> str:
    """Strike a reading."""
    return _do(text, lambda book, board: book.strike(board, reading, why))


def restore(text: str, reading: str) -> str:
    """Let a struck reading count again."""
    return _do(text, lambda book, board: book.restore(board, reading))


def take_out(text: str, name: str) -> str:
    """Take a part, a source or an instrument out of a board."""

    def deed(book: Notebook, board: str) -> Saved:
        plain = book.plain(board)
        section = next((one for one in _SECTIONS if name in plain.get(one, {})), None)
        if section is None:
            raise CallError(f'There is no part, source or instrument "{name}" on {board}.')
        return book.take_out(board, section, name)

    return _do(text, deed)


def undo(text: str, number: int | None) -> str:
    """Take back what was done last, or one act."""
    with opened(notebook_address(text)) as book:
        return done(book, book.undo(number))


def redo(text: str) -> str:
    """Do again what the last undo took back."""
    with opened(notebook_address(text)) as book:
        return done(book, book.redo())


def choose(text: str, number: int, *, leave: bool) -> str:
    """Let what is kept beside count, or leave it."""
    with opened(notebook_address(text)) as book:
        return done(book, book.choose(number, keep=not leave))


def show(text: str) -> list[RenderableType]:
    """A notebook's boards, or a board's readings where one is named."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        if there.board is None and there.moment is None:
            lines = [_board_line(book, one) for one in book.boards()]
            return [boards_page(there.file, lines, _acts(book, book.beside()))]
        board, at = board_at(book, there)
        parts = book.plain(board, at).get("parts", {})
        codes = book.labels(board, at)
        listed = [_part_line(name, part, codes.get(name, "")) for name, part in parts.items()]
        readings = [_reading_line(book, one) for one in book.readings(board, at)]
        return [parts_page(text, listed), readings_page(readings)]


def history(text: str) -> list[RenderableType]:
    """What was done, in order; of one board where one is named."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        acts = [one for one in book.history() if _concerns(book.made_by(one.id), there.board)]
        return [history_page(text, _acts(book, acts))]


def check(text: str) -> str:
    """Look through the whole file; damage is raised."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        book.check()
        acts = len(book.history())
    return f"{there.file} is whole: {acts} numbers of history, each as it was written."


def _do(text: str, deed: Callable[[Notebook, str], Saved]) -> str:
    with board_of(text) as (book, board, _):
        return done(book, deed(book, board))


def done(book: Notebook, saved: Saved) -> str:
    """What was written, in words; what to know about it, where there is something."""
    act = book.history()[saved.act - 1]
    said = f"Number {act.id}, {act.kind}: {act.words}."
    return f"{said} {saved.told}" if saved.told else said


def _acts(book: Notebook, acts: Sequence[Act]) -> list[ActLine]:
    view, beside = book.view(), {one.id for one in book.beside()}
    return [
        ActLine(
            one.id,
            one.at,
            one.who,
            one.kind,
            one.words,
            _mark(one, view.undone, beside),
        )
        for one in acts
    ]


def _mark(act: Act, undone: Collection[int], beside: Collection[int]) -> str:
    if act.id in undone:
        return "redone" if act.kind == "undo" else "undone"
    return "beside" if act.id in beside else ""


def _concerns(made: Sequence[Entry], board: str | None) -> bool:
    return board is None or not made or any(one.subject.board == board for one in made)


def _board_line(book: Notebook, board: str) -> BoardLine:
    plain, readings = book.plain(board), book.readings(board)
    struck = sum(one.struck is not None for one in readings)
    title = str(plain.get("title", ""))
    return BoardLine(board, title, len(plain.get("parts", {})), len(readings), struck)


def _part_line(name: str, part: Mapping[str, Any], label: str) -> PartLine:
    said = [str(part[key]) for key in ("value", "rated") if key in part]
    said += [f'marked "{part["marking"]}"'] if "marking" in part else []
    return PartLine(name, str(part.get("kind", "")), label, "; ".join(said))


def _reading_line(book: Notebook, kept: Kept) -> ReadingLine:
    view = book.view()
    versions = [
        one
        for one in view.ledger.history(kept.entry.subject)
        if view.counts(view.ledger.acts[one.act - 1])
        and view.ledger.acts[one.act - 1].kind == "revise"
    ]
    kind = str(kept.raw.get("kind", ""))
    return ReadingLine(kept.name, kind, kept.struck, len(versions), _gist(kept.raw))


_ASIDE = ("kind", "name", "note", "date", "struck", "source", "instrument", "table")
_MOST_SIGNS = 48


def _gist(raw: dict[str, Any]) -> str:
    """What a reading says in a few words, so that it is known again."""
    said = ", ".join(_plainly(one) for key, one in raw.items() if key not in _ASIDE)
    return said if len(said) <= _MOST_SIGNS else f"{said[: _MOST_SIGNS - 3]}..."


def _plainly(value: Any) -> str:
    if isinstance(value, dict):
        return " ".join(f"{key} {_plainly(one)}" for key, one in value.items())
    return "-".join(map(str, value)) if isinstance(value, list) else str(value)
