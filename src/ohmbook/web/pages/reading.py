"""Taking a reading: the form of its kind, what it comes to while it is typed, and writing it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from pydantic import Field
from starlette.responses import Response

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job.clipping import clipped
from ohmbook.job.drafting import Draft, Laid, laid
from ohmbook.job.filling import another, begun_draft, expected_at, table_of, usual_values
from ohmbook.job.forms import (
    UNIT_KEYS,
    Bench,
    Form,
    FormField,
    Plain,
    bench_at,
    document_forms,
    forms,
    offered_first,
    offers,
)
from ohmbook.job.settled import Settled
from ohmbook.job.trying import tried
from ohmbook.notebook.boards import Kept
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.telling import listed
from ohmbook.web.asked import Asked, Book, Name, Number, saved_json
from ohmbook.web.openbook import OpenBook
from ohmbook.web.rendering import known_board, page

router = APIRouter()
Section = Literal["parts", "sources", "instruments"]
Things = dict[Section, dict[Name, dict[str, Any]]]


class Typed(Asked):
    """A reading as it is being typed, with what is to be written beside it.

    Args:
        reading: its plain values, as a sheet has them.
        beside: new or changed parts, sources and instruments.
        revises: the reading whose place it takes; "" for a new one.
    """

    reading: dict[str, Any]
    beside: Things = Field(default_factory=dict)
    revises: Annotated[str, Field(max_length=200)] = ""


class Written(Typed):
    """The same, to be written down, with the entries that its writer saw.

    Args:
        base: of the reading that is revised.
        bases: of what is changed beside it.
    """

    base: Number | None = None
    bases: dict[Section, dict[Name, Number]] = Field(default_factory=dict)


@dataclass(frozen=True)
class _Board:
    """A board as it stands: plain values, readings with their ink."""

    name: str
    raw: Plain
    kept: tuple[Kept, ...]

    @property
    def names(self) -> list[str]:
        return [one.name for one in self.kept]

    def reading(self, name: str) -> Kept:
        """A reading by name."""
        for one in self.kept:
            if one.name == name:
                return one
        raise CallError(f'There is no reading "{name}" on {self.name}.')


def _board(book: OpenBook, name: str) -> _Board:
    known_board(book, name)
    with book.reading() as notebook:
        return _Board(name, notebook.plain(name), notebook.readings(name))


def _form(kind: object) -> Form:
    for one in forms():
        if one.kind == kind:
            return one
    raise CallError(f'There is no kind of reading called "{kind}".')


def _laid(board: _Board, typed: Typed) -> Laid:
    _no_nothing(typed.reading)
    _no_nothing(typed.beside)
    beside = {str(section): held for section, held in typed.beside.items()}
    return laid(board.raw, board.names, Draft(typed.reading, beside, typed.revises))


def _no_nothing(value: Any) -> None:
    """A sheet has no null: a field that is not filled in is left out."""
    if value is None:
        raise CallError("Something in the reading is null; expected it left out.")
    for one in value.values() if isinstance(value, dict) else value if _is_list(value) else ():
        _no_nothing(one)


def _is_list(value: Any) -> bool:
    return isinstance(value, list)


@router.post("/api/b/{board}/reading/preview")
def preview(board: str, asked: Typed, book: Book) -> dict[str, Any]:
    """What a reading comes to; nothing is written."""
    there = _board(book, board)
    form, on = _form(asked.reading.get("kind")), _laid(there, asked)
    found = tried(on, form, _before(book, board))
    setups = [asdict(one) for one in clipped(on, form)]
    return {**asdict(found), "setups": setups, "name": on.name}


def _before(book: OpenBook, board: str) -> Settled | None:
    try:
        return book.settled(board)
    except OhmbookError:
        return None


@router.post("/api/b/{board}/reading")
def write(board: str, asked: Written, book: Book) -> dict[str, Any]:
    """Write a reading down, with the part, source and instrument that are new."""
    there, form = _board(book, board), _form(asked.reading.get("kind"))
    _no_nothing(asked.reading)
    _no_nothing(asked.beside)
    changes = [
        Change(Subject(board, section, name), value, asked.bases.get(section, {}).get(name, 0))
        for section, held in asked.beside.items()
        for name, value in held.items()
    ]
    subject, base = Subject(board, READINGS, ""), asked.base
    if asked.revises:
        kept = there.reading(asked.revises)
        subject, base = kept.entry.subject, kept.entry.id if base is None else base
    change = Change(subject, asked.reading, base)
    words = f"{asked.revises or listed([*changes, change])} on {board}"
    kind = "revise" if asked.revises else "write"
    saved = book.write(kind, words, [*changes, change], asked.after)
    return {**saved_json(saved), "another": another(asked.reading, form)}


@router.get("/b/{board}/reading")
def reading(request: Request, board: str, book: Book) -> Response:
    """The page: ?kind=, ?part=, ?take= a suggested reading as JSON, ?revise= a reading's name."""
    there, query = _board(book, board), request.query_params
    part, taken = query.get("part"), _taken(query.get("take"))
    revised = there.reading(query["revise"]) if "revise" in query else None
    asked = revised.raw.get("kind") if revised else taken.get("reading", {}).get("kind")
    asked = asked or query.get("kind")
    every = forms()
    general = bench_at(there.raw)
    form = offered_first(general, there.raw, every, part) if asked is None else _form(asked)
    bench = bench_at(there.raw, form)
    begun = revised.raw if revised else taken.get("reading")
    usual = usual_values(form, bench, there.raw)
    usual |= {"part": part} if form.field("part") and part in bench.parts else {}
    values = usual if begun is None else begun
    data = {
        **_data(form, bench, values, there.raw),
        "board": board,
        "revises": revised.name if revised else "",
        "named": str((begun or {}).get("name", "")),
        "base": revised.entry.id if revised else None,
        "last": revised.raw if revised else (there.kept[-1].raw if there.kept else None),
        "bases": _bases(book, board),
        "expected": expected_at(taken.get("expected", {}), form),
        "taken": bool(taken),
        "next": _next(general, there.raw, every),
    }
    draft = begun_draft(form, bench, data["values"])
    on = laid(there.raw, there.names, draft)
    data |= {"setups": [asdict(one) for one in clipped(on, form)], "begun": asdict(draft)}
    return page(
        request,
        "reading.html",
        board=board,
        here="reading",
        data=data,
        form=form,
        bench=bench,
        offers=offers(general, every),
        documents=document_forms(),
        steps=_steps(form),
        words=str(taken.get("words", "")),
        revised=revised,
        check=_check(general, form, every),
        references=_references(there.raw),
        fresh=not there.kept,
        ground=_ground(there.raw),
    )


def _data(form: Form, bench: Bench, values: Plain, raw: Plain) -> dict[str, Any]:
    """What the page's script begins with."""
    names = {one.name for one in form.fields}
    return {
        "form": asdict(form),
        "values": {name: value for name, value in values.items() if name in names},
        "way": _way(form, values),
        "things": [asdict(one) for one in bench.things],
        "parts": bench.parts,
        "free": bench.free,
        "unit_keys": dict(UNIT_KEYS),
        "tables": {
            one.name: table_of(values.get(one.name), bench, _ground(raw))
            for one in form.fields
            if one.what == "table"
        },
    }


def _taken(text: str | None) -> dict[str, Any]:
    """A suggested reading, as `next` has it: everything but its result."""
    if text is None:
        return {}
    try:
        found = json.loads(text, parse_constant=_no_constant)
    except ValueError as error:
        raise CallError("The suggested reading in the address cannot be read.") from error
    if not isinstance(found, dict):
        raise CallError("The suggested reading in the address is none.")
    held = found if isinstance(found.get("reading"), dict) else {"reading": found}
    blank = {k: v for k, v in held["reading"].items() if v not in ("", "?", None)}
    expected = held.get("expected")
    told = {"expected": expected if isinstance(expected, dict) else {}}
    return {"reading": blank, "words": str(held.get("words", "")), **told}


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _way(form: Form, values: Plain) -> int:
    """The way that a reading is written in; the usual one where nothing says."""
    for one in form.fields:
        if one.way is not None and one.required and one.name in values:
            return one.way
    return 0


def _bases(book: OpenBook, board: str) -> dict[str, dict[str, int]]:
    """The entries that the writer sees."""
    with book.reading() as notebook:
        view = notebook.view()
        return {
            section: {one.subject.key: one.id for one in view.standing(board, section)}
            for section in ("parts", "sources", "instruments")
        }


def _ground(raw: Plain) -> str:
    return str((raw.get("sketch") or {}).get("ground", "gnd"))


def _next(bench: Bench, raw: Plain, every: tuple[Form, ...]) -> str:
    """The kind that follows the source's check."""
    seen = {**raw, "readings": [*raw.get("readings", []), {"kind": ""}]}
    return offered_first(bench, seen, every).kind


def _check(bench: Bench, form: Form, every: tuple[Form, ...]) -> Form | None:
    """The check of a source that has none yet, for a kind that uses a source."""
    unchecked = [one for one in bench.sources() if not one.checked]
    if not form.uses_source or form.checks_source or not unchecked:
        return None
    return next((one for one in every if one.checks_source), None)


def _references(raw: Plain) -> dict[str, list[str]]:
    """Readings that have a quantity of their own in a field, to be named there instead."""
    found: dict[str, list[str]] = {}
    for number, one in enumerate(raw.get("readings", []), 1):
        for field, value in one.items():
            if isinstance(value, str) and value[:1].isdigit():
                found.setdefault(field, []).append(f"@{one.get('name') or f'reading {number}'}")
    return found


def _steps(form: Form) -> dict[str, list[FormField]]:
    """The fields in the order of the work: what is set, what is read, and what is seldom needed."""
    read = ("quantity", "amounts", "table")
    own = [one for one in form.fields if one.noun not in ("source", "instrument")]
    return {
        "set": [one for one in own if one.what not in read and not one.seldom],
        "read": [one for one in own if one.what in read and not one.seldom],
        "more": [one for one in own if one.seldom],
    }
