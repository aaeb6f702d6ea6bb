"""What every page uses: the words, news of changes, undo and redo."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response, StreamingResponse

from ohmbook.web.asked import Asked, Book, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.rendering import words_module

router = APIRouter()
LOOK_S = 0.4
"""How often the notebook is looked at for what others wrote, s."""

BEAT_S = 15.0
"""How often a silent line is kept open, s."""


class Turn(Asked):
    """Which act is taken back; the last one where None."""

    act: Number | None = None


@router.get("/words.js")
def words() -> Response:
    """Every text, for the page's scripts."""
    return Response(words_module(), media_type="text/javascript")


@router.get("/events")
async def events(request: Request, book: Book, after: Number = 0) -> Response:
    """News of the notebook, as they come: which boards an act was about."""
    return StreamingResponse(_news(request, book, after), media_type="text/event-stream")


async def _news(request: Request, book: OpenBook, after: int) -> AsyncIterator[str]:
    silent = 0.0
    yield "retry: 1000\n\n"
    while not (await request.is_disconnected() or request.app.state.ending.is_set()):
        last = await run_in_threadpool(book.last)
        if last > after:
            told = await run_in_threadpool(_since, book, after)
            after, silent = last, 0.0
            yield f"event: changed\nid: {last}\ndata: {json.dumps(told)}\n\n"
        elif silent >= BEAT_S:
            silent = 0.0
            yield ": still here\n\n"
        await asyncio.sleep(LOOK_S)
        silent += LOOK_S


def _since(book: OpenBook, after: int) -> dict[str, Any]:
    with book.reading() as notebook:
        acts = notebook.history()[after:]
        boards = {made.subject.board for act in acts for made in notebook.made_by(act.id)}
        turned = any(act.undoes is not None for act in acts)
        return {
            "last": acts[-1].id if acts else after,
            "boards": sorted(boards),
            "every": turned,
            "there": list(notebook.boards()),
            "words": f"{acts[-1].kind}: {acts[-1].words}" if acts else "",
        }


@router.post("/api/undo")
def undo(asked: Turn, book: Book) -> dict[str, Any]:
    """Take back what was done last, or one act."""
    return saved_json(book.do(lambda notebook: notebook.undo(asked.act)))


@router.post("/api/redo")
def redo(asked: Asked, book: Book) -> dict[str, Any]:  # noqa: ARG001
    """Do again what was taken back last."""
    return saved_json(book.do(lambda notebook: notebook.redo()))
