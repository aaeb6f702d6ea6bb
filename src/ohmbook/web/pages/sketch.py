"""The sketch: drawn, saved, probed; values and doubts beside its parts."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import Field
from starlette.responses import Response

from ohmbook.errors import OhmbookError
from ohmbook.job.on_sketch import on_sketch
from ohmbook.job.sketch_probed import Connected, connected, probe_words, probed, taken_with
from ohmbook.job.sketch_saved import PartEdit, SketchEdit, to_save
from ohmbook.job.sketching import every_shape, laid_out, sketched
from ohmbook.notebook.notebook import Notebook
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.rendering import known_board, page

router = APIRouter()
_IMAGES = ("image/jpeg", "image/png", "image/webp", "image/gif")
_Raw = dict[str, Any]


class Part(Asked):
    """What becomes of one part; see `PartEdit`."""

    was: Name | None = None
    name: Name | None = None
    raw: _Raw | None = None
    base: Number | None = None


class Drawn(Asked):
    """A drawing to be saved."""

    drawing: _Raw
    base: Number
    parts: Annotated[list[Part], Field(default_factory=list, max_length=2000)]


class Probed(Asked):
    """Amplitudes at nodes."""

    amplitudes: Annotated[dict[Name, Name], Field(min_length=1, max_length=50)]
    at: Name | Annotated[list[Name], Field(min_length=2, max_length=2)]
    frequency: Name
    detached: Annotated[list[Name], Field(default_factory=list, max_length=50)]


@router.get("/b/{board}/sketch")
def sketch_page(request: Request, board: str, book: Book) -> Response:
    """The page."""
    return page(request, "sketch.html", board=known_board(book, board), here="sketch")


@router.get("/api/sketch/shapes")
def to_begin_with() -> list[dict[str, Any]]:
    """Networks to begin with."""
    return every_shape()


@router.get("/api/b/{board}/sketch")
def look(board: str, book: Book) -> dict[str, Any]:
    """The sketch as it stands."""
    with book.reading() as notebook:
        return _look(notebook, board)


@router.post("/api/b/{board}/sketch")
def save(board: str, asked: Drawn, book: Book) -> dict[str, Any]:
    """Save a drawing, and what becomes of parts, as one act."""
    parts = [PartEdit(one.was, one.name, one.raw, one.base) for one in asked.parts]
    with book.reading() as notebook:
        wanted = to_save(notebook, board, SketchEdit(asked.drawing, asked.base, parts))
        written: dict[str, Any] = {"act": 0, "beside": False, "told": ""}
        if wanted.changes:
            written = saved_json(book.write("write", wanted.words, wanted.changes, asked.after))
        return {**_look(notebook, board), **written, "held": wanted.held}


@router.get("/api/b/{board}/sketch/anew")
def anew(board: str, book: Book) -> dict[str, Any]:
    """The circuit that is worked with, laid out anew."""
    with book.reading() as notebook:
        return {"drawing": laid_out(notebook, board)}


@router.get("/api/b/{board}/sketch/values")
def values(board: str, book: Book) -> dict[str, Any]:
    """What stands beside the parts; why nothing does, where a board is not finished."""
    known_board(book, board)
    try:
        return {**on_sketch(book.settled(board)), "fault": ""}
    except OhmbookError as error:
        return {"values": {}, "findings": [], "fault": str(error)}


@router.post("/api/b/{board}/sketch/probe")
def probe(board: str, asked: Probed, book: Book) -> dict[str, Any]:
    """Write what was read at a node."""
    at = asked.at if isinstance(asked.at, str) else (asked.at[0], asked.at[1])
    how = Connected(at, asked.frequency, tuple(asked.detached))
    known_board(book, board)
    with book.reading() as notebook:
        changes = probed(board, asked.amplitudes, how, taken_with(notebook.plain(board)))
    words = probe_words(board, list(asked.amplitudes))
    saved = book.write("write", words, changes, asked.after)
    with book.reading() as notebook:
        return {**_look(notebook, board), **saved_json(saved)}


@router.get("/api/b/{board}/sketch/photo/{name}")
def photo(board: str, name: str, book: Book) -> Response:
    """A photo that is attached to the board."""
    with book.reading() as notebook:
        found = notebook.attachment(known_board(book, board), name)
        kind = found.type if found.type in _IMAGES else "application/octet-stream"
        return Response(notebook.bytes_of(found), media_type=kind)


@router.post("/api/b/{board}/sketch/photo/{name}")
async def attach_photo(request: Request, board: str, name: str, book: Book) -> dict[str, Any]:
    """Attach a photo of the board."""
    data, known = await request.body(), known_board(book, board)
    saved = book.do(lambda notebook: notebook.attach(known, name, data))
    with book.reading() as notebook:
        return {**saved_json(saved), "name": notebook.attachments(known)[-1].name}


def _look(notebook: Notebook, board: str) -> dict[str, Any]:
    return {
        **sketched(notebook, board).document(),
        "photos": [one.name for one in notebook.attachments(board) if one.type in _IMAGES],
        "connected": connected(notebook, board).document(),
    }
