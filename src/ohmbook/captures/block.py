"""Where the numbers stand in a text, and reading them: quickly where they are regular."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from ohmbook.captures.capture import Floats
from ohmbook.captures.style import Style
from ohmbook.errors import CaptureError

Progress = Callable[[int, int], None]

MOST_ROWS = 5_000_000
_HEAD_LINES = 1500
_LONGEST_LINE = 4000
_CHUNK = 4_000_000
_ABSENT = frozenset(
    ["", "-", "--", "---", "----", "nan", "null", "none", "ol", "overflow", "inf", "-inf", "+inf",
     "invalid", "n/a", "na", "#n/a", "infinity", "-infinity", "clip", "clipped"]
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """Where the numbers stand.

    Args:
        columns: of the cells that hold them.
        head: the lines above them.
        beside: the first rows of numbers, whole, for what stands beside the numbers.
        offset: of their first character.
        line: their first line, from 1.
    """

    columns: tuple[int, ...]
    head: tuple[str, ...]
    beside: tuple[str, ...]
    offset: int
    line: int


@dataclass(slots=True)
class Numbers:
    """What was read: shape (rows, columns); rows that were left out, and why."""

    values: Floats
    left_out: list[tuple[int, str]] = field(default_factory=list)
    inside: bool = False


def lines_of(text: str, start: int = 0) -> Iterator[tuple[int, str]]:
    """Each line with its offset, one at a time."""
    while start < len(text):
        end = text.find("\n", start)
        end = len(text) if end < 0 else end
        yield start, text[start:end]
        start = end + 1


def sample(name: str, text: str) -> list[str]:
    """Lines to judge a text by: its head, and some from further down.

    Raises:
        CaptureError: a line is longer than any row of numbers.
    """
    found = _sample(text)
    longest = max(map(len, found), default=0)
    if longest > _LONGEST_LINE:
        raise CaptureError(
            name,
            f"a line of it has {longest} characters, which no row of a capture has",
            "expected one row of numbers on each line",
        )
    return found


def _sample(text: str) -> list[str]:
    head = [line for _, line in islice(lines_of(text), _HEAD_LINES)]
    if len(text) < 60_000:
        return [line for _, line in lines_of(text)]
    middle = text[int(len(text) * 0.6) :][:20_000].split("\n")[1:-1]
    return [*head, *middle]


def find(name: str, text: str, style: Style, lines: Sequence[str]) -> Place:
    """Where the numbers stand.

    Raises:
        CaptureError: no column of numbers goes to the end.
    """
    columns = _columns(style, lines)
    head = list(islice(lines_of(text), _HEAD_LINES))
    good = [_is_row(style, columns, line) for _, line in head]
    filled = [k for k, (_, line) in enumerate(head) if line.strip()]
    for turn, k in enumerate(filled):
        following = [good[one] for one in filled[turn : turn + 10]]
        if good[k] and sum(following) >= 0.8 * len(following):
            above = tuple(line for _, line in head[:k])
            beside = tuple(line for _, line in head[k : k + 200])
            return Place(columns, above, beside, head[k][0], k + 1)
    raise CaptureError(
        name, "no rows of numbers were found in it", "expected columns of numbers below headings"
    )


def _columns(style: Style, lines: Sequence[str]) -> tuple[int, ...]:
    rows = [style.split(line) for line in lines if line.strip()]
    numeric = [[k for k, c in enumerate(row) if style.is_number(c)] for row in rows]
    pure = [
        found
        for row, found in zip(rows, numeric, strict=True)
        if found and len(found) == sum(map(bool, row))
    ]
    late = [found for found in numeric if found]
    late = late[-max(3, len(late) // 4) :]
    # a quarter of the rows is enough: one channel may be shorter than another
    counts = Counter(k for found in pure for k in found)
    tail = Counter(k for found in late for k in found)
    chosen = {k for k, count in counts.items() if count >= 0.25 * len(pure)}
    chosen |= {k for k, count in tail.items() if count >= 0.5 * len(late)}
    return tuple(sorted(chosen))


def _is_row(style: Style, columns: tuple[int, ...], line: str) -> bool:
    cells = style.split(line)
    here = [cells[k] for k in columns if k < len(cells) and cells[k]]
    if not here or not all(map(style.is_number, here)):
        return False
    return 2 * len(here) >= len(columns)


def load(name: str, text: str, style: Style, place: Place, progress: Progress | None) -> Numbers:
    """The numbers, piece by piece, so that memory stays in bounds.

    Raises:
        CaptureError: a cell holds something else than a number, or there are too many rows.
    """
    slow = _Slow(name, style, place)
    pieces: list[Floats] = []
    rows, start, line = 0, place.offset, place.line
    while start < len(text):
        end = start + _CHUNK
        end = len(text) if end >= len(text) else text.rfind("\n", start, end) + 1 or len(text)
        piece = text[start:end]
        if piece.strip():
            values = None if slow.odd else _quick(piece, style, place.columns)
            pieces.append(slow.read(piece, line) if values is None else values)
            rows += len(pieces[-1])
        if rows > MOST_ROWS:
            raise CaptureError(
                name, f"it has more than {MOST_ROWS} rows", "save fewer points of the capture"
            )
        line += piece.count("\n")
        start = end
        if progress is not None:
            progress(start, len(text))
    return _finite(name, slow, np.concatenate(pieces or [np.empty((0, 1))]))


def _quick(piece: str, style: Style, columns: tuple[int, ...]) -> Floats | None:
    if style.decimal == ",":
        piece = piece.replace(",", ".")
    delimiter = None if style.delimiter == " " else style.delimiter
    if "_" in piece or "(" in piece:
        return None
    try:
        return np.loadtxt(
            io.StringIO(piece),
            delimiter=delimiter,
            usecols=columns,
            comments=None,
            quotechar='"',
            ndmin=2,
        )
    except (ValueError, UserWarning):
        return None


class _Slow:
    """Reading line by line, where a line or a cell is missing or odd."""

    def __init__(self, name: str, style: Style, place: Place) -> None:
        self.name, self.style, self.columns = name, style, place.columns
        self.odd: list[tuple[int, str]] = []
        self.last = 0

    def read(self, piece: str, first: int) -> Floats:
        """The numbers of a piece; what is no number is nan, and kept in mind if it is a word."""
        rows = []
        for k, (_, line) in enumerate(lines_of(piece)):
            if line.strip():
                found = self._row(line, first + k)
                if found is not None:
                    rows.append(found)
        return np.array(rows, dtype=float).reshape(-1, len(self.columns))

    def _row(self, line: str, number: int) -> list[float] | None:
        cells = self.style.split(line)
        values = []
        for k in self.columns:
            cell = cells[k] if k < len(cells) else ""
            if self.style.is_number(cell):
                values.append(self.style.number(cell))
            elif cell.lower() in _ABSENT:
                values.append(np.nan)
            else:
                self._odd(number, cell)
                return None
        if all(map(np.isnan, values)):
            return None
        if self.odd:
            self._refuse()
        self.last = number
        return values

    def _odd(self, number: int, cell: str) -> None:
        self.odd.append((number, cell))
        if len(self.odd) > 3:
            self._refuse()

    def _refuse(self) -> None:
        number, cell = self.odd[0]
        raise CaptureError(
            self.name,
            f'line {number}: "{cell[:40]}" stands where a number was expected',
            "save the capture once more, or take that line out",
        )


def _finite(name: str, slow: _Slow, values: Floats) -> Numbers:
    """Only rows that are whole; a column that is mostly empty must not cost the others theirs."""
    found = Numbers(values, [(line, f'"{cell[:40]}"') for line, cell in slow.odd])
    if not len(values):
        raise CaptureError(
            name, "no rows of numbers were found in it", "save the capture once more"
        )
    if np.any(np.isinf(values)):
        found.values = np.where(np.isinf(values), np.nan, values)
    return found
