"""A notebook's pages: its boards, a board's readings, and what was done when."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from shlex import quote

from rich.console import RenderableType
from rich.text import Text

from ohmbook.report.layout import bullets, joined, section, table


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One board of a notebook.

    Args:
        name: what it is called.
        title: its sheet's title.
        parts: how many.
        readings: how many, struck ones too.
        struck: how many of those are struck.
    """

    name: str
    title: str
    parts: int
    readings: int
    struck: int


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part of a board: its name, its kind, its label, what is stated of it."""

    name: str
    kind: str
    label: str
    stated: str


def parts_page(title: str, parts: Sequence[PartLine]) -> RenderableType:
    """The parts of a board, with the codes of their labels."""
    if not parts:
        return section(title, Text("No parts yet."))
    rows = [[one.name, one.kind, one.label, one.stated] for one in parts]
    return section(title, table(["part", "kind", "label", "stated"], rows))


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading of a board: its name, its kind, why it is struck, how often it was revised, what
    it says in a few words."""

    name: str
    kind: str
    struck: str | None
    revised: int
    gist: str = ""


@dataclass(frozen=True, slots=True)
class ActLine:
    """One act of the history.

    Args:
        number: counted from 1.
        at: when, UTC, ISO 8601.
        who: the writer.
        kind: what was done.
        words: the same in words.
        mark: "undone", "redone" of an undo, "beside" or nothing.
    """

    number: int
    at: str
    who: str
    kind: str
    words: str
    mark: str


@dataclass(frozen=True, slots=True)
class AttachmentLine:
    """One attachment: its name, what its bytes are, how many, whose it is, a note."""

    name: str
    type: str
    size: int
    owner: str
    note: str


def attachments_page(title: str, attached: Sequence[AttachmentLine]) -> RenderableType:
    """What is attached to a board."""
    if not attached:
        return section(title, Text("Nothing attached yet: ohmbook notebook attach BOARD FILE"))
    rows = [
        [one.name, one.owner, _size(one.size), f"{one.type}{one.note and f', {one.note}'}"]
        for one in attached
    ]
    return section(title, table(["attachment", "of", ">size", "what"], rows))


def _size(count: int) -> str:
    if count < 1000:
        return f"{count} B"
    return f"{count / 1e3:.0f} kB" if count < 999_500 else f"{count / 1e6:.1f} MB"


def boards_page(
    file: str, boards: Sequence[BoardLine], beside: Sequence[ActLine]
) -> RenderableType:
    """The boards of a notebook, and what is kept beside them."""
    if not boards:
        return Text(
            f"{file} has no board yet. Take a sheet in: ohmbook notebook import {quote(file)} SHEET"
        )
    rows = [[one.name, str(one.parts), _readings(one), one.title] for one in boards]
    pages = [section(file, table(["board", ">parts", "readings", "title"], rows))]
    if beside:
        lines = [f"number {one.number}, {one.who}: {one.words}" for one in beside]
        advice = (
            f"let one count, or leave it: ohmbook notebook choose {quote(file)} NUMBER [--leave]"
        )
        pages.append(section("Kept beside what counts", bullets([*lines, advice])))
    return joined(pages)


def readings_page(readings: Sequence[ReadingLine]) -> RenderableType:
    """The readings of a board; struck ones are shown struck through."""
    rows: list[list[str | Text]] = [
        [
            Text(one.name, style="strike" if one.struck is not None else ""),
            one.kind,
            "; ".join(filter(None, [one.gist, _state(one)])),
        ]
        for one in readings
    ]
    if not rows:
        return section("Readings", Text("No readings yet."))
    return section("Readings", table(["reading", "kind", "what"], rows))


def history_page(file: str, acts: Sequence[ActLine]) -> RenderableType:
    """What was done, in order; what was taken back is struck through."""
    rows: list[list[str | Text]] = [
        [
            str(one.number),
            _local(one.at),
            one.who,
            Text(_said(one), style="strike" if one.mark in ("undone", "redone") else ""),
        ]
        for one in acts
    ]
    return section(f"History of {file}", table([">", "when", "who", "what"], rows))


def _said(act: ActLine) -> str:
    words = f"{act.kind}: {act.words}"
    return f"{words} ({act.mark})" if act.mark else words


def _readings(board: BoardLine) -> str:
    return f"{board.readings}, {board.struck} struck" if board.struck else str(board.readings)


def _state(reading: ReadingLine) -> str:
    if reading.struck is not None:
        return f"struck: {reading.struck}"
    return _revised(reading.revised)


def _revised(times: int) -> str:
    return "" if not times else "revised" if times == 1 else f"revised {times} times"


def _local(at: str) -> str:
    return datetime.datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")
