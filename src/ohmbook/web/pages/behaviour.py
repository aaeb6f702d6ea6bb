"""What a board's crossover does, and what it would do with other values."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException
from starlette.responses import Response

from ohmbook.errors import CircuitError
from ohmbook.job import Settled
from ohmbook.job.packed import CURVES, Curves
from ohmbook.job.whatif import Move, WhatIf, lacking
from ohmbook.web.asked import Asked, Book, Name
from ohmbook.web.openbook import OpenBook
from ohmbook.web.rendering import known_board, page, t
from ohmbook.web.shelf import Shelf

router = APIRouter()


def _shelf(request: Request) -> Shelf:
    state = request.app.state
    if not hasattr(state, "shelf"):
        state.shelf = Shelf()
    found: Shelf = state.shelf
    return found


Shelved = Annotated[Shelf, Depends(_shelf)]
Token = Annotated[str, Field(max_length=40)]


class Moving(BaseModel):
    """A value moved: SI, or as typed."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    part: Name
    quantity: Annotated[str, Field(max_length=40)]
    to: Annotated[float, Field(ge=0.0)] | Annotated[str, Field(max_length=120)]
    exact: bool = False

    def move(self) -> Move:
        """For the job."""
        return Move(self.part, self.quantity, self.to, self.exact)


Moves = Annotated[list[Moving], Field(max_length=200)]


class Moved(Asked):
    """Which values are moved, of which settled answer; how many draws the bands rest on; which
    curves are wanted."""

    token: Token
    to: Moves
    draws: Literal[0, 200, 1000] = 200
    curves: Annotated[tuple[Curves, ...], Field(max_length=3, strict=False)] = CURVES
    pins: Annotated[list[Moves], Field(max_length=4, default_factory=list)]


@router.get("/b/{board}/behaviour")
def behaviour_page(request: Request, board: str, book: Book) -> Response:
    """The page on its own."""
    return page(request, "behaviour.html", board=known_board(book, board), here="behaviour")


@router.get("/api/b/{board}/behaviour")
def settled(board: str, book: Book, shelf: Shelved) -> Response:
    """The settled curves."""
    token, found = shelf.of(_whole(book, known_board(book, board)))
    return _bytes(found.settled(token))


@router.post("/api/b/{board}/behaviour/moved")
def moved(asked: Moved, shelf: Shelved) -> Response:
    """The curves with some values moved; nothing is written."""
    found = _kept(shelf, asked.token)
    moves, pins = _moves(asked.to), [_moves(one) for one in asked.pins]
    return _bytes(found.moved(moves, asked.draws, curves=asked.curves, pins=pins))


@router.get("/api/b/{board}/behaviour/width")
def width(
    shelf: Shelved, token: Token, at: Annotated[float, Query(gt=0.0, le=1e9, allow_inf_nan=False)]
) -> dict[str, Any]:
    """Where the settled curves' width at a frequency comes from."""
    return {"at": at, "widths": _kept(shelf, token).width(at)}


def _moves(some: list[Moving]) -> list[Move]:
    return [one.move() for one in some]


def _kept(shelf: Shelf, token: str) -> WhatIf:
    found = shelf.get(token)
    if found is None:
        raise HTTPException(409, t("behaviour.again"))
    return found


def _whole(book: OpenBook, board: str) -> Settled:
    """A board whose sketch is whole, settled.

    Raises:
        CircuitError: it is not, and what it lacks.
    """
    missing = lacking(book.sheet(board))
    if missing:
        raise CircuitError(" ".join(t(f"behaviour.no_{one}") for one in missing))
    return book.settled(board)


def _bytes(data: bytes) -> Response:
    # Floats hardly shrink, and shrinking them would take longer than sending them.
    headers = {"content-encoding": "identity"}
    return Response(data, media_type="application/octet-stream", headers=headers)
