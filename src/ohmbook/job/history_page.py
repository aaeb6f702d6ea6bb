"""What the history page shows: everything done to a board, and its readings, struck ones too."""

from __future__ import annotations

from dataclasses import dataclass

from ohmbook.documents.estimate import Estimate
from ohmbook.errors import OhmbookError
from ohmbook.job.keeping import act_lines, concerns, reading_line
from ohmbook.job.settled import settle
from ohmbook.notebook.notebook import Notebook
from ohmbook.report.notebook import ActLine, ReadingLine
from ohmbook.units.show import ShownInterval, split_interval

MOST_ACTS = 200
"""Acts shown at once, the last ones first."""


@dataclass(frozen=True)
class Line:
    """One act, with what can be done about it: "undo", "choose", or nothing."""

    act: ActLine
    can: str


@dataclass(frozen=True)
class Written:
    """A reading in a line, and the entry that holds, for whoever revises it."""

    line: ReadingLine
    entry: int


@dataclass(frozen=True)
class HistoryPage:
    """The page's content.

    Args:
        acts: the last first; at most `MOST_ACTS`.
        earlier: how many more there are.
        readings: in order.
    """

    acts: tuple[Line, ...]
    earlier: int
    readings: tuple[Written, ...]


def history_page(book: Notebook, board: str, *, every: bool = False) -> HistoryPage:
    """The history of a board.

    Args:
        book: the open notebook.
        board: its name.
        every: all of its acts, however many.
    """
    acts = [one for one in book.history() if concerns(book.made_by(one.id), board)]
    shown = acts if every else acts[-MOST_ACTS:]
    view = book.view()
    beside = {one.id for one in book.beside()}
    lines = tuple(
        Line(line, _can(line, counts=view.counts(act), beside=act.id in beside))
        for act, line in zip(shown, act_lines(book, shown), strict=True)
    )
    readings = tuple(Written(reading_line(book, one), one.entry.id) for one in book.readings(board))
    return HistoryPage(lines[::-1], len(acts) - len(shown), readings)


def _can(line: ActLine, *, counts: bool, beside: bool) -> str:
    if beside:
        return "choose"
    return "undo" if counts and line.kind not in ("undo", "redo") else ""


@dataclass(frozen=True)
class Stood:
    """A board as it stood after an act: its values then, or why there are none."""

    values: tuple[tuple[Estimate, ShownInterval], ...]
    why_not: str
    text: str


def as_it_stood(book: Notebook, board: str, at: int) -> Stood:
    """A board at a moment of its history, its values worked out from what was there then.

    Raises:
        CallError: there was no such board, or no such moment.
    """
    text = book.text(board, at)
    try:
        found = settle(book.sheet(board, at)).estimates
    except OhmbookError as error:
        return Stood((), str(error), text)
    return Stood(tuple((one, _shown(one)) for one in found), "", text)


def _shown(one: Estimate) -> ShownInterval:
    return split_interval(one.value, one.low, one.high, one.unit, one.standard_uncertainty)
