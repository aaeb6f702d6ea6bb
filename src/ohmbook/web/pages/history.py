"""The history of a board: what was done, readings struck and restored, how it once stood."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from ohmbook.job.history_page import as_it_stood, history_page
from ohmbook.web.asked import Asked, Book, Name, Number, Text, saved_json
from ohmbook.web.rendering import known_board, page

router = APIRouter()


@router.get("/b/{board}/history")
def history(request: Request, board: str, book: Book, every: bool = False) -> Response:
    """Everything done to a board."""
    with book.reading() as notebook:
        found = history_page(notebook, known_board(book, board), every=every)
        attached = notebook.attachments(board)
        owners = {one.name: notebook.owner_name(one) for one in attached}
    return page(
        request,
        "history.html",
        board=board,
        here="history",
        found=found,
        attached=attached,
        owners=owners,
    )


@router.get("/b/{board}/history/{at}")
def stood(request: Request, board: str, at: Number, book: Book) -> Response:
    """The board as it stood after an act."""
    with book.reading() as notebook:
        found = as_it_stood(notebook, known_board(book, board), at)
        acts = notebook.history()
        act = acts[at - 1] if at else None
    return page(request, "stood.html", board=board, here="history", found=found, act=act, number=at)


class Struck(Asked):
    """A reading to be struck, and why; `entry` is what its writer saw there."""

    reading: Name
    why: Text
    entry: Number


class Restored(Asked):
    """A struck reading that is to count again."""

    reading: Name
    entry: Number


class Chosen(Asked):
    """What was kept beside: whether it is to count from now on."""

    act: Number
    keep: bool


@router.post("/api/b/{board}/strike")
def strike(board: str, asked: Struck, book: Book) -> dict[str, Any]:
    """Strike a reading."""
    return saved_json(
        book.do(lambda notebook: notebook.strike(board, asked.reading, asked.why, asked.entry))
    )


@router.post("/api/b/{board}/restore")
def restore(board: str, asked: Restored, book: Book) -> dict[str, Any]:
    """Let a struck reading count again."""
    return saved_json(book.do(lambda notebook: notebook.restore(board, asked.reading, asked.entry)))


@router.post("/api/choose")
def choose(asked: Chosen, book: Book) -> dict[str, Any]:
    """Settle what was kept beside."""
    return saved_json(book.do(lambda notebook: notebook.choose(asked.act, keep=asked.keep)))
