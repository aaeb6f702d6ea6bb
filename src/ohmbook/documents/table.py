"""A table of readings as a person types it: words in columns, headings first.

Headings are a name and a unit, `frequency/kHz` or `w/Vpp`, and may carry the range of the whole
column, `w/Vpp@50mV/div`. Cells are numbers; "-" was not read, "?" is still to be read. Rows may be
blank; what stands behind "#" is a remark. Rows are counted from 1 below the headings (row 0).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ohmbook.errors import QuantityError, TableError
from ohmbook.units.parse import parse_quantity

NOT_READ = "-"
NOT_YET = "?"
REMARK = "#"
_HEADING = re.compile(r"(?P<name>[^/]+)/(?P<unit>[^@]+)(?:@(?P<range>.+))?")


_CELL = re.compile(r"[+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?|[+-]?[a-zA-Z]{3,8}")  # also nan, inf


@dataclass(frozen=True, slots=True)
class Column:
    """One heading: `w/Vpp@50mV/div` is name "w", unit "Vpp", range "50mV/div" ("" if none)."""

    name: str
    unit_text: str
    range_text: str = ""

    @property
    def heading(self) -> str:
        """The heading as written."""
        return f"{self.name}/{self.unit_text}" + (f"@{self.range_text}" if self.range_text else "")

    def quantity_text(self, cell: str) -> str:
        """A cell of this column as a quantity: number, unit and range."""
        written = f"{cell} {self.unit_text}"
        return f"{written} @ {self.range_text}" if self.range_text else written


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line within the text, from 0, and its cells (None: not read)."""

    line_offset: int
    cells: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A whole table; `text` is as written."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    text: str = ""


def read_table(text: str) -> Table:
    """Split a table into headings and cells.

    Args:
        text: the table, headings on its first line that is neither blank nor a remark.

    Returns:
        The table, every row with as many cells as there are headings.

    Raises:
        TableError: with row, column and what was expected.
    """
    lines = text.split("\n")
    offsets = row_offsets(text)
    if not offsets:
        raise TableError(0, "", "the table is empty; expected headings such as frequency/kHz w/Vpp")
    columns = _columns(_words(lines[offsets[0]]))
    if len(offsets) == 1:
        raise TableError(0, "", "the table has headings but no rows")
    rows = tuple(
        Row(offset, _cells(number, _words(lines[offset]), columns))
        for number, offset in enumerate(offsets[1:], 1)
    )
    return Table(columns, rows, text)


def row_offsets(text: str) -> tuple[int, ...]:
    """The line, from 0, of the headings and of each row of a table's text."""
    return tuple(offset for offset, line in enumerate(text.split("\n")) if _words(line))


def is_unread(text: str) -> bool:
    """Whether a table waits to be read: it has cells to fill in, and none is filled in."""
    rows = [_words(line) for line in text.split("\n")]
    cells = [cell for row in [row for row in rows if row][1:] for cell in row[1:]]
    return NOT_YET in cells and all(cell in (NOT_READ, NOT_YET) for cell in cells)


def _words(line: str) -> list[str]:
    return line.partition(REMARK)[0].split()


def _columns(headings: list[str]) -> tuple[Column, ...]:
    columns: list[Column] = []
    for heading in headings:
        column = _column(heading)
        if any((one.name, one.unit_text) == (column.name, column.unit_text) for one in columns):
            raise TableError(0, heading, f'the heading "{heading}" stands twice')
        columns.append(column)
    return tuple(columns)


def _column(heading: str) -> Column:
    found = _HEADING.fullmatch(heading)
    if found is None:
        raise TableError(
            0,
            heading,
            f'the heading "{heading}" has no unit; expected a name, a slash and a unit, without '
            "spaces, such as frequency/kHz or w/Vpp",
        )
    return Column(found["name"], found["unit"], found["range"] or "")


def _cells(row: int, words: list[str], columns: tuple[Column, ...]) -> tuple[str | None, ...]:
    if len(words) < len(columns):
        missing = columns[len(words)].heading
        raise TableError(
            row,
            missing,
            f'the row has {len(words)} of {len(columns)} columns; write "-" for what was not read',
        )
    if len(words) > len(columns):
        raise TableError(
            row,
            str(len(columns) + 1),
            f'"{words[len(columns)]}" stands under no heading: '
            f"the row has {len(words)} columns, the headings {len(columns)}",
        )
    return tuple(_cell(row, word, column) for word, column in zip(words, columns, strict=True))


def _cell(row: int, word: str, column: Column) -> str | None:
    if word in (NOT_READ, NOT_YET):
        return None
    expected = 'a number such as 0.51, or "-" for not read'
    if not _CELL.fullmatch(word):
        why = "this is no plain number, and the unit stands in the heading"
        raise TableError(row, column.heading, f'"{word}": {why}; expected {expected}')
    try:
        parse_quantity(word, "1")
    except QuantityError as error:
        message = f'"{word}": {error.why}; expected {expected}'
        raise TableError(row, column.heading, message) from error
    return word
