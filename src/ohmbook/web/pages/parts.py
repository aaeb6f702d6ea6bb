"""The parts of a board: what each is, how well it is known, and what to look at first."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Request
from pydantic import Field
from starlette.responses import Response

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job import Settled
from ohmbook.job.known import known, value
from ohmbook.notebook.change import Change
from ohmbook.notebook.drawer import DRAWER
from ohmbook.notebook.ink import PARTS, Subject
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.rendering import known_board, page, t
from ohmbook.web.soon import Advice, settled_soon, unsettled

router = APIRouter()
KINDS = ("inductor", "capacitor", "resistor", "driver")
FIELDS = ("marking", "value", "rated", "resistance", "dielectric", "core", "note")
"""What can be said of a part here; anything else of it stays as it is."""

EMPTY: dict[str, Any] = {"title": "", "parts": {}, "sources": {}, "instruments": {}}
"""What a board that says nothing of them yet has."""

Short = Annotated[str, Field(max_length=500)]


def _advice(request: Request) -> Advice:
    state = request.app.state
    if not hasattr(state, "advice"):
        state.advice = Advice()
    found: Advice = state.advice
    return found


Advised = Annotated[Advice, Depends(_advice)]


class SavedPart(Asked):
    """A part to be added or edited: what is said of it, "" where nothing is.

    Args:
        name: the part's.
        kind: of part.
        said: by field.
        base: the entry that the writer saw; 0 for a new part.
    """

    name: Name
    kind: Literal["inductor", "capacitor", "resistor", "driver"]
    said: dict[Name, Short] = Field(default_factory=dict)
    base: Number = 0


class OnePart(Asked):
    """A part by name, with the entry that the writer saw."""

    name: Name
    base: Number | None = None


class Away(OnePart):
    """A part for the drawer, with its settled value in place of its readings if so wished."""

    settled: bool = False


class Brought(Asked):
    """A part out of the drawer, and what it is called here."""

    name: Name
    as_name: Name


@router.get("/b/{board}/parts")
def parts(request: Request, board: str, book: Book) -> Response:
    """The page; with its values if they are there soon."""
    known_board(book, board)
    settled, told = None, ""
    try:
        settled = settled_soon(book, board)
    except OhmbookError as error:
        told = str(error)
    body = _body(book, board, settled, told)
    return page(request, "parts.html", board=board, here="parts", fields=FIELDS, **body)


@router.get("/api/b/{board}/parts/body")
def body(request: Request, board: str, book: Book) -> Response:
    """The same again, worked out however long it takes: what the page puts in its place."""
    known_board(book, board)
    settled, told = unsettled(book, board)
    return page(request, "parts/body.html", board=board, **_body(book, board, settled, told))


@router.get("/api/b/{board}/parts/next")
def advice(request: Request, board: str, book: Book, advised: Advised, part: str = "") -> Response:
    """What to read next, for the board or for one part."""
    known_board(book, board)
    settled, _ = unsettled(book, board)
    if settled is not None and not settled.sheet.parts:
        found = {"first_of_all": t("parts.next_no_parts")}
    elif settled is not None and not (settled.sheet.sources or settled.sheet.instruments):
        found = {"first_of_all": t("parts.next_no_bench")}
    else:
        found = {} if settled is None else _next(advised, settled, part)
    return page(request, "parts/next.html", board=board, part=part, **suggestions(found))


def _next(advised: Advice, settled: Settled, part: str) -> dict[str, Any]:
    try:
        return advised.of(settled, part)
    except OhmbookError as error:
        return {"first_of_all": str(error)}


def suggestions(found: dict[str, Any]) -> dict[str, Any]:
    """The suggested readings as the page has them."""
    listed = [
        {**one, "take": json.dumps(one, ensure_ascii=False)} for one in found.get("suggestions", [])
    ]
    enough = found.get("good_enough") or {}
    return {"suggested": listed, "first": found.get("first_of_all"), "enough": enough}


def _body(book: OpenBook, board: str, settled: Settled | None, told: str) -> dict[str, Any]:
    with book.reading() as notebook:
        raw = notebook.plain(board)
        kept = {one.name: one for one in notebook.readings(board)}
        codes, view = notebook.labels(board), notebook.view()
        bases = {one.subject.key: one.id for one in view.standing(board, PARTS)}
        drawer = notebook.plain(DRAWER).get(PARTS, {}) if DRAWER in notebook.boards() else {}
    texts = {name: one.raw for name, one in kept.items()}
    return {
        "raw": {**EMPTY, **raw},
        "known": None if settled is None else known(settled, texts),
        "told": told,
        "codes": codes,
        "bases": bases,
        "reading_bases": {name: one.entry.id for name, one in kept.items()},
        "count": sum(one.struck is None for one in kept.values()),
        "drawer": {} if board == DRAWER else drawer,
        "in_drawer": board == DRAWER,
        "kinds": KINDS,
    }


@router.post("/api/b/{board}/parts")
def save(board: str, asked: SavedPart, book: Book) -> dict[str, Any]:
    """Add a part, or say something else of one."""
    known_board(book, board)
    with book.reading() as notebook:
        had = dict(notebook.plain(board).get(PARTS, {}).get(asked.name, {}))
    unknown = set(asked.said) - set(FIELDS)
    if unknown:
        raise CallError(f'A part has no "{min(unknown)}" here.')
    if had and not asked.base:
        raise CallError(t("parts.taken", part=asked.name))
    if had and had.get("kind") != asked.kind:
        had = {key: one for key, one in had.items() if key in ("between", "note", "marking")}
    said = {key: text.strip() for key, text in asked.said.items()}
    left = {key: one for key, one in had.items() if key not in said and key != "kind"}
    value = {"kind": asked.kind, **left, **{key: one for key, one in said.items() if one}}
    change = Change(Subject(board, PARTS, asked.name), value, asked.base)
    return saved_json(book.write("write", f"{asked.name} on {board}", [change], asked.after))


@router.post("/api/b/{board}/parts/out")
def out(board: str, asked: OnePart, book: Book) -> dict[str, Any]:
    """Take a part out."""
    known_board(book, board)
    return saved_json(book.do(lambda one: one.take_out(board, PARTS, asked.name, asked.base)))


@router.post("/api/b/{board}/parts/away")
def away(board: str, asked: Away, book: Book) -> dict[str, Any]:
    """Put a part into the drawer."""
    known_board(book, board)
    stated = _stated(book.settled(board), asked.name) if asked.settled else None
    return saved_json(book.do(lambda one: one.put_away(board, asked.name, stated)))


def _stated(settled: Settled, name: str) -> str:
    """The settled value as it would be stated, with half of its 95 % interval."""
    main = next((one for one in settled.estimates if one.name == name), None)
    if main is None:
        raise CallError(t("parts.no_value", part=name))
    if not main.determined:
        raise CallError(t("parts.not_determined", part=name))
    shown = value(main)
    low, high = (float(one) for one in shown.span.split(" to "))
    decimals = len(shown.text.partition(".")[2])
    return f"{shown.text} {shown.unit} ± {(high - low) / 2:.{decimals}f} {shown.unit} (k=2)"


@router.post("/api/b/{board}/parts/bring")
def bring(board: str, asked: Brought, book: Book) -> dict[str, Any]:
    """Take a part out of the drawer onto this board."""
    known_board(book, board)
    return saved_json(book.do(lambda one: one.take_from_drawer(asked.name, board, asked.as_name)))
