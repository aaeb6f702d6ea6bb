"""Everything that was done on a board, its readings with their ink, and what can be taken away."""

from __future__ import annotations

import tempfile
import threading
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import Field
from starlette.responses import Response

from ohmbook.errors import OhmbookError
from ohmbook.job import Settled, settle
from ohmbook.job.known import known
from ohmbook.job.past import deeds, inked, when
from ohmbook.job.take_away import figures_zip
from ohmbook.job.values import board_csv
from ohmbook.notebook.archive import archive
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.pages.part import saved_file
from ohmbook.web.pages.parts import EMPTY
from ohmbook.web.rendering import known_board, page

router = APIRouter()
_DRAWING = threading.Lock()
"""The library that draws does one figure at a time."""

At = Annotated[int | None, Query(ge=0, le=2**53)]


class Struck(Asked):
    """A reading to be struck, and why; or to count again, where why is None."""

    reading: Name
    why: Annotated[str, Field(max_length=500)] | None = None
    base: Number | None = None


class Revised(Asked):
    """A reading's new text, as a sheet has it."""

    reading: Name
    text: Annotated[str, Field(max_length=200_000)]
    base: Number | None = None


class Chosen(Asked):
    """What is kept beside: whether it is to count from now on."""

    act: Number
    keep: bool


@router.get("/b/{board}/history")
def history(request: Request, board: str, book: Book, at: At = None) -> Response:
    """The page; ?at= as the board stood after an act, to be looked at only."""
    if at is not None:
        return _as_it_stood(request, book, board, at)
    known_board(book, board)
    return page(request, "history.html", board=board, here="history", **_body(book, board))


@router.get("/api/b/{board}/history/body")
def body(request: Request, board: str, book: Book) -> Response:
    """The same again, for what has changed."""
    known_board(book, board)
    return page(request, "history_body.html", board=board, **_body(book, board))


def _body(book: OpenBook, board: str) -> dict[str, Any]:
    with book.reading() as notebook:
        return {
            "deeds": deeds(notebook, board),
            "readings": inked(notebook, board),
            "attached": [
                {"name": one.name, "of": notebook.owner_name(one), "type": one.type}
                for one in notebook.attachments(board)
            ],
        }


def _as_it_stood(request: Request, book: OpenBook, board: str, at: int) -> Response:
    with book.reading() as notebook:
        raw, ink = notebook.plain(board, at), inked(notebook, board, at)
        acts = notebook.history()
        act = acts[at - 1] if 0 < at <= len(acts) else None
    found, told = None, ""
    try:
        found = known(_settled_at(book, board, at), {})
    except OhmbookError as error:
        told = str(error)
    return page(
        request,
        "stood.html",
        board=board,
        here="history",
        at=at,
        act=act,
        when=when(act.at) if act else "",
        raw={**EMPTY, **raw},
        readings=ink,
        known=found,
        told=told,
    )


def _settled_at(book: OpenBook, board: str, at: int) -> Settled:
    with book.reading() as notebook:
        sheet = notebook.sheet(board, at)
    return settle(sheet)


@router.post("/api/b/{board}/readings/strike")
def strike(board: str, asked: Struck, book: Book) -> dict[str, Any]:
    """Strike a reading, or let it count again."""
    known_board(book, board)
    name, why, base = asked.reading, asked.why, asked.base
    if why is None:
        return saved_json(book.do(lambda one: one.restore(board, name, base)))
    return saved_json(book.do(lambda one: one.strike(board, name, why, base)))


@router.post("/api/b/{board}/readings/revise")
def revise(board: str, asked: Revised, book: Book) -> dict[str, Any]:
    """Put another text in a reading's place."""
    known_board(book, board)
    name, text, base = asked.reading, asked.text, asked.base
    return saved_json(
        book.do(lambda one: one.revise_text(board, name, text, "what you wrote", base))
    )


@router.post("/api/choose")
def choose(asked: Chosen, book: Book) -> dict[str, Any]:
    """Let what is kept beside count, or leave it."""
    return saved_json(book.do(lambda one: one.choose(asked.act, keep=asked.keep)))


@router.get("/b/{board}/download/sheet")
def sheet(board: str, book: Book, at: At = None) -> Response:
    """The board as a sheet's text."""
    with book.reading() as notebook:
        text = notebook.text(board, at)
    moment = "" if at is None else f"@{at}"
    return saved_file(text.encode(), f"{board}{moment}.toml", "text/plain; charset=utf-8")


@router.get("/b/{board}/download/values")
def values(board: str, book: Book, at: At = None) -> Response:
    """Its values as comma-separated values."""
    settled = book.settled(board) if at is None else _settled_at(book, board, at)
    text = board_csv(board, settled)
    return saved_file(text.encode(), f"{board} values.csv", "text/csv; charset=utf-8")


@router.get("/b/{board}/download/figures")
def figures(board: str, book: Book) -> Response:
    """Its figures, as SVG files in a zip."""
    settled = book.settled(board)
    with _DRAWING:
        data = figures_zip(settled)
    return saved_file(data, f"{board} figures.zip", "application/zip")


@router.get("/download/archive")
def whole(book: Book) -> Response:
    """The whole notebook, readable without this program."""
    with tempfile.TemporaryDirectory() as folder, book.reading() as notebook:
        path = Path(folder) / "notebook.zip"
        archive(notebook, path)
        data = path.read_bytes()
    return saved_file(data, f"{book.path.stem}.zip", "application/zip")
