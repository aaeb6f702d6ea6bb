"""The board by its readings: a plan as a checklist, typed into, written down step by step."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from pydantic import Field
from starlette.responses import Response

from ohmbook.errors import CallError
from ohmbook.job.blanks import Plain, filled, waits
from ohmbook.job.checklist import Typed, checked, form_at, minutes, steps
from ohmbook.job.sketch_probed import new_with, taken_with
from ohmbook.job.wanted import MOST, plan_document, plan_readings, to_want
from ohmbook.notebook.boards import Kept
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.telling import listed as listed_changes
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.planning import Made, Plans, Progress
from ohmbook.web.rendering import known_board, page, t

router = APIRouter()
NEW = "plan {number}"
"""What a step is called until it has a name in the notebook."""


def _plans(request: Request) -> Plans:
    state = request.app.state
    if not hasattr(state, "plans"):
        state.plans = Plans()
    found: Plans = state.plans
    return found


Held = Annotated[Plans, Depends(_plans)]
Token = Annotated[str, Field(min_length=1, max_length=40)]
Readings = Annotated[list[dict[str, Any]], Field(max_length=100)]


class Wanting(Asked):
    """What a plan is to be made for."""

    want: Annotated[list[Name], Field(max_length=20)] = Field(default_factory=list)
    within: Annotated[float, Field(gt=0.0, lt=1.0)]
    numbers: Annotated[int, Field(ge=1, le=MOST)]


class Which(Asked):
    """A plan by its number."""

    plan: Token


class Again(Asked):
    """A plan that the browser has kept."""

    readings: Readings


class Filled(Asked):
    """One step with what was typed into it.

    Args:
        name: of the reading; of a step that is not in the notebook yet, the page's own.
        reading: of such a step: its plain values.
        base: of a reading in the notebook: the entry that the writer saw.
        numbers: what was typed, by place.
    """

    name: Name
    reading: dict[str, Any] | None = None
    base: Number | None = None
    numbers: dict[Annotated[str, Field(max_length=300)], Annotated[str, Field(max_length=200)]] = (
        Field(default_factory=dict, max_length=500)
    )


class Filling(Asked):
    """Steps, and what was typed into them."""

    steps: Annotated[list[Filled], Field(max_length=100)]


@router.get("/b/{board}/plan")
def plan_page(request: Request, board: str, book: Book, plans: Held, made: str = "") -> Response:
    """The page; ?made= the number of a plan that is not in the notebook yet."""
    raw, kept = _board(book, board)
    waiting = [one for one in kept if one.struck is None and waits(one.raw)]
    found = plans.get(made) if made else None
    proposed = found.made if found is not None and found.board == board else None
    readings = [] if proposed is None else [one["reading"] for one in proposed["readings"]]
    new = [(str(one.get("name") or NEW.format(number=k)), one) for k, one in enumerate(readings, 1)]
    planned = [*((one.name, one.raw) for one in waiting), *new]
    names = [one.name for one in kept]
    listed = steps(raw, names, planned)
    return page(
        request,
        "plan.html",
        board=board,
        here="plan",
        steps=[
            {**asdict(one), "new": k >= len(waiting), "base": _base(waiting, k)}
            for k, one in enumerate(listed)
        ],
        minutes=minutes(listed),
        numbers=sum(len(held) for one in listed for _, held in one.groups),
        proposed=proposed,
        gone=bool(made) and found is None,
        making=made if found is not None and proposed is None else "",
        parts=[name for name, one in raw.get("parts", {}).items() if one.get("kind") != "driver"],
        usual=_usual(raw),
    )


def _base(waiting: list[Kept], place: int) -> int | None:
    return waiting[place].entry.id if place < len(waiting) else None


def _usual(raw: Plain) -> int:
    """How many numbers a plan has unless told otherwise: two for each part that is not known."""
    parts = [one for one in raw.get("parts", {}).values() if one.get("kind") != "driver"]
    return max(4, min(2 * len(parts), 40))


def _board(book: OpenBook, board: str) -> tuple[Plain, tuple[Kept, ...]]:
    known_board(book, board)
    with book.reading() as notebook:
        return notebook.plain(board), notebook.readings(board)


@router.get("/api/b/{board}/plan/wants")
def wants(board: str, book: Book) -> dict[str, Any]:
    """What a plan can be made for."""
    return dict(to_want(book.settled(known_board(book, board))))


@router.post("/api/b/{board}/plan")
def make(board: str, asked: Wanting, book: Book, plans: Held) -> dict[str, Any]:
    """Begin to make a plan; nothing is written but the bench it is for, where none is there yet."""
    raw, _ = _board(book, board)
    bench = new_with(board, taken_with(raw))
    if bench:
        book.write("write", f"{listed_changes(bench)} on {board}", bench, asked.after)
        raw, _ = _board(book, board)
    key = json.dumps([board, raw, asked.want, asked.within, asked.numbers], default=str)

    def work(progress: Progress) -> Made:
        settled = book.settled(board)
        progress(1, 100)
        found = plan_readings(
            settled, asked.numbers, want=asked.want, within=asked.within, progress=progress
        )
        told: Made = plan_document(found, settled)["plan"]
        if not told["readings"]:
            raise CallError(t("plan.nothing_helps"))
        return {**told, "asked": asked.model_dump()}

    return {"plan": plans.begin(key, board, work)}


@router.get("/api/b/{board}/plan/{plan}")
def made(board: str, plan: str, plans: Held) -> dict[str, Any]:
    """How far a plan is."""
    found = plans.get(plan)
    if found is None or found.board != board:
        raise CallError(t("plan.gone"))
    return {"share": found.share, "made": found.made is not None, "told": found.told}


@router.post("/api/b/{board}/plan/end")
def end(board: str, asked: Which, plans: Held) -> dict[str, Any]:
    """A plan is wanted no longer."""
    found = plans.get(asked.plan)
    if found is not None and found.board == board:
        plans.end(asked.plan)
    return {}


@router.post("/api/b/{board}/plan/again")
def again(board: str, asked: Again, book: Book, plans: Held) -> dict[str, Any]:
    """Take up a plan that the browser has kept, after the server has forgotten it."""
    known_board(book, board)
    for one in asked.readings:
        _planned(one)
    readings = [{"reading": one, "expected": {}} for one in asked.readings]
    return {"plan": plans.put(board, {"readings": readings, "foreseen": [], "first_go": None})}


def _planned(reading: Plain) -> Plain:
    """A reading that leaves something blank.

    Raises:
        CallError: it does not, or it is none.
    """
    form_at(reading)
    if not waits(reading):
        raise CallError(t("plan.no_blank"))
    return reading


@router.post("/api/b/{board}/plan/check")
def check(board: str, asked: Filling, book: Book) -> dict[str, Any]:
    """What a plan comes to with what is typed so far; nothing is written."""
    raw, kept = _board(book, board)
    typed = [Typed(one.name, _reading(kept, one), one.numbers) for one in _once(asked.steps)]
    names = [one.name for one in kept]
    return asdict(checked(raw, names, typed, lambda: book.settled(board)))


def _once(some: list[Filled]) -> list[Filled]:
    if len({one.name for one in some}) < len(some):
        raise CallError(t("plan.twice"))
    return some


def _reading(kept: tuple[Kept, ...], one: Filled) -> Plain:
    if one.reading is not None:
        if any(held.name == one.name for held in kept):
            raise CallError(t("plan.taken", reading=one.name))
        return _planned(one.reading)
    for held in kept:
        if held.name == one.name:
            return _planned(held.raw)
    raise CallError(t("plan.no_reading", reading=one.name))


@router.post("/api/b/{board}/plan/write")
def write(board: str, asked: Filling, book: Book) -> dict[str, Any]:
    """Write down what was read, one act for all of it; what is left blank waits on."""
    _, kept = _board(book, board)
    changes = [_change(board, kept, one) for one in _once(asked.steps)]
    if not changes:
        raise CallError(t("plan.nothing"))
    count = sum(len([x for x in one.numbers.values() if x.strip()]) for one in asked.steps)
    words = t("plan.written", count=count, board=board)
    return saved_json(book.write("write", words, changes, asked.after))


def _change(board: str, kept: tuple[Kept, ...], one: Filled) -> Change:
    reading = _reading(kept, one)
    value = filled(reading, form_at(reading), one.numbers)
    if one.reading is not None:
        return Change(Subject(board, READINGS, ""), _unnamed(value))
    held = next(held for held in kept if held.name == one.name)
    return Change(held.entry.subject, value, held.entry.id if one.base is None else one.base)


def _unnamed(reading: Plain) -> Plain:
    return {key: value for key, value in reading.items() if key not in ("struck",)}


@router.post("/api/b/{board}/plan/keep")
def keep(board: str, asked: Filling, book: Book) -> dict[str, Any]:
    """Put a plan into the notebook: its readings wait there, with what was typed already."""
    _, kept = _board(book, board)
    new = [one for one in _once(asked.steps) if one.reading is not None]
    if not new:
        raise CallError(t("plan.nothing"))
    changes = [_change(board, kept, one) for one in new]
    words = t("plan.kept", count=len(new), board=board)
    return saved_json(book.write("write", words, changes, asked.after))


@router.post("/api/b/{board}/plan/drop")
def drop(board: str, asked: Filling, book: Book) -> dict[str, Any]:
    """Strike the steps that are not going to be read."""
    _, kept = _board(book, board)
    by_name = {one.name: one for one in kept}
    changes = []
    for one in _once(asked.steps):
        held = by_name.get(one.name)
        if held is None or held.struck is not None or not waits(held.raw):
            raise CallError(t("plan.no_reading", reading=one.name))
        value = {**held.raw, "struck": t("plan.dropped")}
        changes.append(Change(held.entry.subject, value, one.base or held.entry.id))
    if not changes:
        raise CallError(t("plan.nothing"))
    return saved_json(
        book.write("strike", t("plan.dropped_act", board=board), changes, asked.after)
    )
