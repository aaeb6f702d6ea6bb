"""One part's page, and what is attached to it."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job import Settled
from ohmbook.job.one_part import one_part
from ohmbook.job.past import deeds, inked
from ohmbook.notebook.attachments import Attached
from ohmbook.notebook.ink import PARTS
from ohmbook.notebook.safenames import safe_name
from ohmbook.notebook.sniffing import UNKNOWN, type_of
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.pages.parts import FIELDS, KINDS
from ohmbook.web.rendering import known_board, page, t
from ohmbook.web.soon import settled_soon, unsettled

router = APIRouter()
SHOWN = ("image/jpeg", "image/png", "image/gif", "image/webp")
"""What a browser may show as a picture; everything else is only ever saved."""


class TakenOff(Asked):
    """An attachment to be taken off."""

    name: Name
    base: Number | None = None


@router.get("/b/{board}/parts/{part:path}")
def of_part(request: Request, board: str, part: str, book: Book) -> Response:
    """The page."""
    _there(book, board, part)
    settled, told = None, ""
    try:
        settled = settled_soon(book, board)
    except OhmbookError as error:
        told = str(error)
    body = _body(book, board, part, (settled, told))
    return page(request, "part.html", board=board, here="parts", fields=FIELDS, **body)


@router.get("/api/b/{board}/part-body")
def body(request: Request, board: str, part: str, book: Book) -> Response:
    """The same again, worked out however long it takes."""
    _there(book, board, part)
    found = _body(book, board, part, unsettled(book, board))
    return page(request, "parts/part_body.html", board=board, **found)


def _there(book: OpenBook, board: str, part: str) -> None:
    known_board(book, board)
    with book.reading() as notebook:
        raw = notebook.plain(board)
    if not any(part in raw.get(one, {}) for one in ("parts", "sources")):
        raise CallError(t("parts.no_part", part=part, board=board))


def _body(
    book: OpenBook, board: str, part: str, settled: tuple[Settled | None, str]
) -> dict[str, Any]:
    with book.reading() as notebook:
        raw, kept = notebook.plain(board), notebook.readings(board)
        own = raw.get(PARTS, {}).get(part)
        head = [one for one in notebook.view().standing(board, PARTS) if one.subject.key == part]
        attached = [one for one in notebook.attachments(board) if _is_of(one, part)]
        done = deeds(notebook, board, part)
        ink = inked(notebook, board)
        code = notebook.label(board, part) if own is not None else ""
    found = (
        None
        if settled[0] is None
        else one_part(settled[0], part, {one.name: one.raw for one in kept})
    )
    mentions = [one for one in kept if one.raw.get("part") == part]
    struck = [one for one in ink if one.struck is not None and _names(mentions, one.name)]
    return {
        "part": part,
        "raw": own,
        "source": raw.get("sources", {}).get(part),
        "one": found,
        "told": settled[1],
        "code": code,
        "base": head[0].id if head else 0,
        "reading_bases": {one.name: one.entry.id for one in kept},
        "attached": [
            {"entry": one.entry.id, "shown": one.type in SHOWN, **_told(one)} for one in attached
        ],
        "deeds": done,
        "struck": struck,
        "kinds": KINDS,
    }


def _names(some: list[Any], name: str) -> bool:
    return any(one.name == name for one in some)


def _is_of(one: Attached, part: str) -> bool:
    return one.to is not None and (one.to.section, one.to.key) == (PARTS, part)


def _told(one: Attached) -> dict[str, Any]:
    return {"name": one.name, "type": one.type, "size": f"{one.size / 1e6:.2g} MB"}


@router.post("/api/b/{board}/attach")
async def attach(request: Request, board: str, book: Book, part: str, name: str) -> dict[str, Any]:
    """Keep a photo or a capture with a part: its bytes are the body."""
    data = await request.body()
    return await run_in_threadpool(_attach, book, (board, part), name, data)


def _attach(book: OpenBook, at: tuple[str, str], name: str, data: bytes) -> dict[str, Any]:
    board, part = at
    known_board(book, board)
    if data and type_of(data) == UNKNOWN:
        raise CallError(t("parts.wrong_type", part=safe_name(name)))
    return saved_json(book.do(lambda one: one.attach(board, name, data, to=(PARTS, part))))


@router.post("/api/b/{board}/attach/out")
def take_off(board: str, asked: TakenOff, book: Book) -> dict[str, Any]:
    """Take an attachment off; its bytes stay in the notebook's history."""
    known_board(book, board)
    return saved_json(book.do(lambda one: one.take_out_attachment(board, asked.name, asked.base)))


@router.get("/b/{board}/attachment/{name:path}")
def attachment(board: str, name: str, book: Book) -> Response:
    """The original bytes, to be saved."""
    with book.reading() as notebook:
        one = notebook.attachment(board, name)
        data = notebook.bytes_of(one)
    kind = one.type if one.type in SHOWN else "application/octet-stream"
    return saved_file(data, one.name, kind)


@router.get("/b/{board}/thumbnail/{name:path}")
def thumbnail(board: str, name: str, book: Book) -> Response:
    """A small picture of it."""
    with book.reading() as notebook:
        data = notebook.thumbnail_of(notebook.attachment(board, name))
    kind = "" if data is None else type_of(data)
    if data is None or kind not in SHOWN:
        raise CallError(t("parts.no_picture", part=name))
    return Response(data, media_type=kind, headers={"content-security-policy": SANDBOX})


SANDBOX = "default-src 'none'; sandbox"


def saved_file(data: bytes, name: str, kind: str = "application/octet-stream") -> Response:
    """Bytes that a browser saves and never shows or runs, under a safe name (RFC 6266)."""
    safe = safe_name(name)
    plain = "".join(one if one.isascii() and one not in '"\\%' else "_" for one in safe)
    told = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(safe, safe='')}"
    headers = {"content-disposition": told, "content-security-policy": SANDBOX}
    return Response(data, media_type=kind, headers=headers)
