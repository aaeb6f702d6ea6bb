"""What was done on a board, and its readings with their ink, as people read them."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.notebook.boards import Kept
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.ink import PARTS, Act, Entry, Subject
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.plain import reading_text


@dataclass(frozen=True, slots=True)
class Deed:
    """An act.

    Args:
        number: of the act.
        at: when, UTC, to the second, for machines.
        when: the same for people.
        who, kind, words: by whom, what, in words.
        mark: "", "undone", "redone", "beside", or "left" beside for good.
        can_undo: whether undoing it may be asked for.
    """

    number: int
    at: str
    when: str
    who: str
    kind: str
    words: str
    mark: str
    can_undo: bool


@dataclass(frozen=True, slots=True)
class Version:
    """What a reading said before: in which act, when, and its text."""

    act: int
    when: str
    text: str


@dataclass(frozen=True, slots=True)
class Inked:
    """A reading as it stands.

    Args:
        name, kind, gist: which, of which kind, in a few words.
        struck: why it does not count, or None.
        base: the entry that holds.
        text: as a sheet has it.
        before: what stood there earlier, the latest first.
    """

    name: str
    kind: str
    gist: str
    struck: str | None
    base: int
    text: str
    before: tuple[Version, ...]


def deeds(book: Notebook, board: str | None, name: str | None = None) -> tuple[Deed, ...]:
    """What was done, the latest first.

    Args:
        book: the notebook.
        board: only what concerns it; None: everything.
        name: only what concerns this part of the board.
    """
    view, beside = book.view(), {one.id for one in book.beside()}
    found = []
    for act in book.history():
        made = _made(book, act)
        if board is not None and not any(one.subject.board == board for one in made):
            continue
        if name is not None and not any(_tells(one.subject, name) for one in made):
            continue
        mark = _mark(act, act.id in view.undone, act.id in beside)
        able = view.counts(act) and act.undoes is None and not mark
        found.append(Deed(act.id, act.at, when(act.at), act.who, act.kind, act.words, mark, able))
    return tuple(reversed(found))


def inked(book: Notebook, board: str, at: int | None = None) -> tuple[Inked, ...]:
    """A board's readings in order, struck ones too, with what they said before."""
    return tuple(_inked(book, one, at) for one in book.readings(board, at))


def gist(raw: Mapping[str, Any]) -> str:
    """What a reading says in a few words, so that it is known again."""
    said = ", ".join(_plainly(one) for key, one in raw.items() if key not in _ASIDE)
    if "table" in raw:
        rows = [line for line in str(raw["table"]).splitlines() if line.strip()]
        said += f", a table of {max(len(rows) - 1, 0)} rows"
    return said if len(said) <= _MOST_SIGNS else f"{said[: _MOST_SIGNS - 1]}…"


def when(at: str) -> str:
    """A moment for people: "2026-11-25 21:03 UTC"."""
    moment = datetime.datetime.fromisoformat(at)
    return f"{moment:%Y-%m-%d %H:%M} UTC"


_ASIDE = ("kind", "name", "note", "date", "struck", "source", "instrument", "table")
_MOST_SIGNS = 90


def _plainly(value: Any) -> str:
    if isinstance(value, dict):
        return " ".join(f"{key} {_plainly(one)}" for key, one in value.items())
    return "-".join(map(str, value)) if isinstance(value, list) else str(value)


def _made(book: Notebook, act: Act) -> Sequence[Entry]:
    """What an act wrote, or what the act that it takes back or does again wrote."""
    made = book.made_by(act.id)
    while not made and act.undoes is not None:
        act = book.history()[act.undoes - 1]
        made = book.made_by(act.id)
    return made


def _tells(subject: Subject, name: str) -> bool:
    return subject.section == PARTS and subject.key == name


def _mark(act: Act, undone: bool, beside: bool) -> str:
    if undone:
        return "redone" if act.kind == "undo" else "undone"
    if beside:
        return "beside"
    return "left" if act.beside else ""


def _inked(book: Notebook, kept: Kept, at: int | None) -> Inked:
    view = book.view(at)
    acts = view.ledger.acts
    before = [
        Version(one.act, when(acts[one.act - 1].at), _body(one))
        for one in view.ledger.history(kept.entry.subject)
        if one.id < kept.entry.id and one.body is not None and view.counts(acts[one.act - 1])
    ]
    kind = str(kept.raw.get("kind", ""))
    text = reading_text(kept.raw)
    return Inked(
        kept.name,
        kind,
        gist(kept.raw),
        kept.struck,
        kept.entry.id,
        text,
        tuple(one for one in reversed(before) if one.text != text),
    )


def _body(entry: Entry) -> str:
    return reading_text(from_body(entry.body or "{}"))
