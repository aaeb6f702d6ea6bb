"""Where a board is: "speakers.ohmbook", "speakers.ohmbook:left", "speakers.ohmbook:left@12".

After "@" stands a number of the notebook's history, or a date or a time of this place.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ohmbook.errors import CallError
from ohmbook.notebook.book import Book
from ohmbook.notebook.header import is_notebook
from ohmbook.notebook.opening import SUFFIX

DRAWER = "drawer"
"""The board of spare parts."""


@dataclass(frozen=True, slots=True)
class Address:
    """A notebook, and a board at a moment in it as far as they are told.

    Args:
        file: the notebook's path as given.
        board: the board's name; None: the only one there.
        moment: a number of the history or a time; None: now.
    """

    file: str
    board: str | None = None
    moment: str | None = None


def address(text: str) -> Address | None:
    """The address that a text is; None where it is a path of another kind of file.

    Args:
        text: as a person gives it.
    """
    for end in _ends(text):
        file, rest = text[:end], text[end:]
        if is_notebook(file) or (file.endswith(SUFFIX) and not Path(text).is_file()):
            board, _, moment = rest.removeprefix(":").partition("@")
            return Address(file, board or None, moment or None)
    return None


def notebook_address(text: str) -> Address:
    """The address of something that must be a notebook, whether it is there or not."""
    return address(text) or Address(text)


def board_at(book: Book, there: Address) -> tuple[str, int | None]:
    """The board and the moment that an address names.

    Raises:
        CallError: several boards are there and none is named, or there is no such moment.
    """
    at = None if there.moment is None else _moment(book, there)
    known = book.boards(at)
    if there.board is not None:
        return there.board, at
    named = [one for one in known if one != DRAWER]
    if len(named) != 1:
        listed = ", ".join(f"{there.file}:{one}" for one in known)
        raise CallError(
            f"{there.file} holds several boards; expected one of {listed}."
            if known
            else f"{there.file} has no board yet; `ohmbook notebook import` takes a sheet in."
        )
    return named[0], at


def _ends(text: str) -> Iterator[int]:
    """Where the file's name may end: the whole text first, then before each ":" or "@"."""
    yield len(text)
    yield from (k for k in range(len(text) - 1, 0, -1) if text[k] in ":@")


def _moment(book: Book, there: Address) -> int:
    told = there.moment or ""
    if told.isdecimal():
        return int(told)
    try:
        when = datetime.datetime.fromisoformat(told)
    except ValueError:
        raise CallError(
            f'"{told}" is no moment; expected a number of the history, such as '
            f"{there.file}@12, or a time, such as @2026-11-25 or @2026-11-25T18:30."
        ) from None
    if len(told) == len("2026-11-25"):
        when += datetime.timedelta(days=1)  # a day means its end
    elif len(told) == len("2026-11-25T18:30"):
        when += datetime.timedelta(minutes=1)  # and so does a minute, as the history tells it
    until = when.astimezone(datetime.UTC).isoformat(timespec="milliseconds")
    return sum(one.at < until for one in book.history())
