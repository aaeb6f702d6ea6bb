"""Every value of every board of a notebook, as a table for other programs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from ohmbook.documents.estimate import Estimate
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.job.settled import Settled, settle
from ohmbook.job.sheets import opened_for_reading
from ohmbook.notebook.address import board_at, notebook_address
from ohmbook.notebook.commas import to_csv

Progress = Callable[[int, int], None]
COLUMNS = (
    "board", "name", "quantity", "value", "standard_uncertainty", "low", "high", "unit",
    "determined", "frequency_hz",
)  # fmt: skip
"""Values in SI units; `low` and `high` are the 95 % interval."""


def values_csv(text: str, progress: Progress | None = None) -> str:
    """All estimates of a notebook's boards, or of one board, as CSV (RFC 4180).

    Args:
        text: a notebook, or a board of it, at a moment where one is named.
        progress: called with (done, of) as boards get settled.

    Returns:
        A line of headings and one line an estimate, numbers in SI units with a decimal point.

    Raises:
        OhmbookError: a board cannot be settled; which, and why.
    """
    sheets = _sheets(text)
    rows: list[list[str]] = []
    for done, (board, sheet) in enumerate(sheets, 1):
        rows += _rows(board, settle(sheet).estimates)
        if progress is not None:
            progress(done, len(sheets))
    return to_csv(COLUMNS, rows)


def board_csv(board: str, settled: Settled) -> str:
    """The same of one board that is settled already."""
    return to_csv(COLUMNS, list(_rows(board, settled.estimates)))


def _sheets(text: str) -> list[tuple[str, Sheet]]:
    there = notebook_address(text)
    with opened_for_reading(there) as book:
        if there.board is not None or there.moment is not None:
            board, at = board_at(book, there)
            return [(board, book.sheet(board, at))]
        found = [(one, book.sheet(one)) for one in book.boards() if book.readings(one)]
    if not found:
        raise CallError(f"{there.file} has no readings yet, so there are no values.")
    return found


def _rows(board: str, estimates: Sequence[Estimate]) -> Iterator[list[str]]:
    for one in estimates:
        frequency = "" if one.frequency_hz is None else repr(one.frequency_hz)
        numbers = (one.value, one.standard_uncertainty, one.low, one.high)
        yield [
            board,
            one.name,
            one.quantity,
            *map(repr, numbers),
            one.unit,
            "yes" if one.determined else "no",
            frequency,
        ]
