"""The first page: the notebook's boards, and ways to begin one."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from ohmbook.job.demo import demo_text
from ohmbook.web.asked import Asked, Book, Name, SheetText, saved_json
from ohmbook.web.rendering import board_url, known_board, page

router = APIRouter()


@router.get("/")
def start(request: Request, book: Book) -> Response:
    """The boards."""
    with book.reading() as notebook:
        boards = [
            {"name": one, "plain": notebook.plain(one), "readings": len(notebook.readings(one))}
            for one in notebook.boards()
        ]
    return page(request, "start.html", listed=boards, here="start")


@router.get("/b/{board}")
def of_board(board: str, book: Book) -> Response:
    """A board's first page."""
    return RedirectResponse(board_url(known_board(book, board)), 303)


class NewBoard(Asked):
    """A board to be begun, empty or with what a sheet says."""

    name: Name
    sheet: SheetText | None = None
    demo: bool = False


@router.post("/api/boards")
def begin(asked: NewBoard, book: Book) -> dict[str, Any]:
    """Begin a board."""
    text = demo_text() if asked.demo else asked.sheet
    if text is None:
        saved = book.do(lambda notebook: notebook.begin_board(asked.name))
    else:
        saved = book.do(lambda notebook: notebook.take_in(asked.name, text, asked.name))
    return {**saved_json(saved), "go": board_url(asked.name)}
