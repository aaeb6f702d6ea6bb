"""The drawer of spare parts: a board without a sketch, in which parts of every project lie.

A part goes there with what is known of it: its own readings, their source and instrument. It goes
out of the drawer onto a board in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from ohmbook.documents.reading import ReadingBase
from ohmbook.documents.reference import MEANING
from ohmbook.errors import CallError
from ohmbook.notebook.boards import boards
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.change import Change
from ohmbook.notebook.going_along import (
    Bench,
    carried,
    of_the_bench,
    own,
    why_it_stays,
    written_out,
)
from ohmbook.notebook.ink import BOARD, PARTS, READINGS, Subject
from ohmbook.notebook.labels import label
from ohmbook.notebook.ledger import View
from ohmbook.notebook.together import check_together

DRAWER = "drawer"
COUNTED = "what it says is in the stated value"


@dataclass(frozen=True, slots=True)
class Move:
    """A part that goes from one board to another.

    Args:
        board: where it is.
        part: its name there.
        to: where it goes.
        name: what it is called there; None: what it was, and where it came from.
        stated: what is stated of it from now on ("value", "resistance"); its own readings then no
            longer count, since they are in what is stated.
    """

    board: str
    part: str
    to: str
    name: str | None = None
    stated: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Moved:
    """What is written for a move: in words, as changes, and what to tell the person."""

    words: str
    changes: Sequence[Change]
    told: str


def moving(view: View, move: Move, file: str) -> Moved:
    """What a move writes.

    Raises:
        CallError: there is no such part or board, or something stands in the way.
        SheetError: what is to be stated is no such quantity.
    """
    here = Bench.of(view, _board(view, move.board, file))
    if move.part not in here.raw.get(PARTS, {}):
        listed = ", ".join(here.raw.get(PARTS, {})) or "none"
        raise CallError(f'There is no part "{move.part}" on {move.board}; there are: {listed}.')
    _refuse_twice(view, move)
    begun = [] if move.to in boards(view) or move.to != DRAWER else _begun()
    there = Bench.of(view, move.to if begun else _board(view, move.to, file))
    name = move.name or _new_name(f"{move.part} ({move.board})".replace(".", "-"), there.raw, PARTS)
    if name in there.raw.get(PARTS, {}):
        raise CallError(f'There is a part "{name}" on {move.to} already; give this one another.')
    mine = own(here, move.part)
    stays = why_it_stays(here, move.part, mine)
    body = _body(view, move, here)
    arriving = [Change(Subject(move.to, PARTS, name), body), *_arrivals(move, name, here, there)]
    leaving = [] if stays else list(_leaving(move, here, mine))
    check_together(view, [*begun, *arriving, *leaving], file)
    told = f"{move.part} stays on {move.board} as well: {'; '.join(stays[:4])}." if stays else ""
    words = f"{move.part} of {move.board} to {move.to}, as {name}"
    return Moved(words, [*begun, *arriving, *leaving], told)


def _board(view: View, board: str, file: str) -> str:
    there = boards(view)
    if board not in there:
        listed = ", ".join(there) or "none yet"
        raise CallError(f'There is no board "{board}" in {file}; there are: {listed}.')
    return board


def _refuse_twice(view: View, move: Move) -> None:
    """A part that stayed on its board when it was put away lies in the drawer only once."""
    mark = f"from {move.board}, {move.part}, label {label(view, move.board, move.part)}"
    written = view.head(Subject(move.board, PARTS, move.part))
    for one in view.standing(move.to, PARTS) if move.to == DRAWER else ():
        note = str(from_body(one.body or "{}").get("note", ""))
        if written is not None and one.id > written.id and mark in note.split("; "):
            raise CallError(
                f'{move.part} of {move.board} is in the drawer already, as "{one.subject.key}"; '
                "nothing was written."
            )


def _begun() -> list[Change]:
    title = "Drawer of spare parts"
    return [Change(Subject(DRAWER, BOARD, ""), {}), Change(Subject(DRAWER, "title", ""), title)]


def _body(view: View, move: Move, here: Bench) -> dict[str, Any]:
    """The part as it is written elsewhere: without nodes, and with where it came from."""
    had = here.raw[PARTS][move.part]
    body = {key: value for key, value in had.items() if key != "between"}
    trace = [f"from {move.board}, {move.part}, label {label(view, move.board, move.part)}"]
    if move.stated:
        made_of = body.pop("made_of", None)
        trace += [f"made of {', '.join(made_of)}"] if made_of else []
        main = "rated" if body.get("kind") == "driver" else "value"
        body |= {main if key == "value" else key: value for key, value in move.stated.items()}
    body["note"] = "; ".join([body["note"], *trace] if body.get("note") else trace)
    return body


def _leaving(move: Move, here: Bench, mine: Sequence[ReadingBase]) -> Iterator[Change]:
    yield Change(Subject(move.board, PARTS, move.part), None)
    for one in mine:
        yield Change(here.kept[one.name].entry.subject, None)
    sketch = here.raw.get("sketch", {})
    if move.part in sketch.get("between", {}):
        left = {key: value for key, value in sketch["between"].items() if key != move.part}
        yield Change(Subject(move.board, "sketch", ""), {**sketch, "between": left})


def _arrivals(move: Move, name: str, here: Bench, there: Bench) -> Iterator[Change]:
    """Readings, with the sources and instruments that they need and the board has not."""
    mine = own(here, move.part)
    along = mine if move.stated else [*of_the_bench(here, mine), *mine]
    things = _Things(move, here, there)
    taken = {"readings": dict.fromkeys(there.kept)}
    names: dict[str, str] = {}
    for one in along:
        wanted = one.name if move.board == DRAWER else f"{one.name} ({move.board})"
        names[one.name] = _new_name(wanted, taken, "readings")
        taken["readings"][names[one.name]] = None
    written = []
    for one, raw in zip(along, carried(here, along, names), strict=True):
        if one in mine:
            raw = _renamed(raw, move.part, name)
            if move.stated:
                raw.setdefault("struck", COUNTED)
        raw |= things.used(one)
        if one in mine or not _is_there(raw, there):
            written.append(Change(Subject(move.to, READINGS, ""), raw))
    pinned = list(things.pinned())
    yield from things.added()
    yield from written
    yield from pinned


class _Things:
    """Sources and instruments that readings bring along."""

    def __init__(self, move: Move, here: Bench, there: Bench) -> None:
        self._move, self._here, self._there = move, here, there
        self._new: dict[str, dict[str, Any]] = {"sources": {}, "instruments": {}}

    def used(self, reading: ReadingBase) -> dict[str, str]:
        """The source and the instrument of a reading, by their names on the other board."""
        source, instrument = self._here.used(reading)
        found = {}
        if source is not None:
            found["source"] = self._name("sources", source)
        if instrument is not None:
            found["instrument"] = self._name("instruments", instrument)
        elif reading.instrument_kinds:
            found["instrument"] = self._untold(reading.instrument_kinds[0])
        return found

    def added(self) -> Iterator[Change]:
        """Those that the board has not."""
        for section, things in self._new.items():
            for name, body in things.items():
                yield Change(Subject(self._move.to, section, name), body)

    def pinned(self) -> Iterator[Change]:
        """Readings of the board that left unsaid what is no longer the only one there."""
        before = self._there
        kinds = {name: {"kind": one["kind"]} for name, one in self._new["instruments"].items()}
        after = before.with_things(self._new["sources"], kinds)
        for one in before.draft.readings:
            (source, instrument), now = before.used(one), after.used(one)
            if (source, instrument) == now:
                continue
            kept = before.kept[one.name]
            if instrument is None and now[1] is not None:
                instrument = self._untold(one.instrument_kinds[0])
            said = {"source": source} if source else {}
            said |= {"instrument": instrument} if instrument else {}
            yield Change(kept.entry.subject, {**kept.raw, **said}, kept.entry.id)

    def _name(self, section: str, name: str) -> str:
        """What a source or an instrument is called on the other board; added where it is new."""
        body = dict(self._here.raw[section][name])
        if "open" in body:
            body["open"] = written_out(self._here, "open", body["open"])
        away = f" ({self._move.to})"
        wanted = [name.removesuffix(away)] if name.endswith(away) else []
        wanted.append(name if self._move.board == DRAWER else f"{name} ({self._move.board})")
        return self._placed(section, wanted, body)

    def _untold(self, kind: str) -> str:
        """An instrument of which nothing is told, so that no other one takes its place."""
        wanted = f"{kind}, nothing told of it"
        return self._placed("instruments", [wanted], {"kind": kind})

    def _placed(self, section: str, wanted: Sequence[str], body: dict[str, Any]) -> str:
        there = {**self._there.raw.get(section, {}), **self._new[section]}
        for name in wanted:
            if there.get(name) == body:
                return name
        for k in count(1):
            name = wanted[-1] if k == 1 else f"{wanted[-1]} ({k})"
            if there.get(name, body) == body:
                break
        if name not in there:
            self._new[section][name] = body
        return name


def _renamed(raw: dict[str, Any], part: str, name: str) -> dict[str, Any]:
    """A part's own reading with the part's new name in it."""
    named = {key for key, noun in MEANING.items() if noun == "part"}
    return {key: name if key in named and value == part else value for key, value in raw.items()}


def _is_there(raw: dict[str, Any], there: Bench) -> bool:
    """Whether a board has a reading that says the same, whatever it is called."""
    said = {key: value for key, value in raw.items() if key != "name"}
    return any(
        {key: value for key, value in one.raw.items() if key != "name"} == said
        for one in there.kept.values()
    )


def _new_name(wanted: str, taken: Mapping[str, Any], section: str) -> str:
    there = taken.get(section, {})
    names = (wanted if k == 1 else f"{wanted} ({k})" for k in count(1))
    return next(name for name in names if name not in there)
