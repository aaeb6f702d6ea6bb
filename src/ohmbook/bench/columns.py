"""A table whose columns are fixed quantities (frequency, magnitude, phase): its cells, its faults.

Tables of nodes are `bench.cells`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ohmbook.documents.reading import Problem
from ohmbook.documents.table import Column, Table
from ohmbook.errors import QuantityError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, Unit


def rows_of(table: Table, units: Mapping[str, Unit]) -> Sequence[tuple[int, dict[str, Quantity]]]:
    """Each row's number from 1 and what was read in it, by column; the table has no problems."""
    return [
        (
            number,
            {
                column.name: parse_quantity(column.quantity_text(cell), units[column.name])
                for column, cell in zip(table.columns, row.cells, strict=True)
                if cell is not None
            },
        )
        for number, row in enumerate(table.rows, 1)
    ]


def column_problems(
    table: Table, units: Mapping[str, Unit], results: Sequence[str]
) -> Iterable[Problem]:
    """Headings that are none of the columns, cells that cannot be, rows without what they need.

    Args:
        table: as written.
        units: every column's unit; those that are no result are needed in each row.
        results: columns of which at least one was read.
    """
    known = " and ".join(units)
    for column in table.columns:
        if column.name not in units:
            told = f'"{column.name}" stands at the head of a column; expected {known}'
            yield Problem(("table",), told, 0, column.heading)
            return
    names = [column.name for column in table.columns]
    missing = [name for name in units if name not in results and name not in names]
    if missing or not set(results) & set(names):
        told = f"the table has no column {' or '.join(missing or results)}; expected {known}"
        yield Problem(("table",), told, 0)
        return
    read = False
    for number, row in enumerate(table.rows, 1):
        for column, cell in zip(table.columns, row.cells, strict=True):
            told_cell = _fault(column, cell, units[column.name], column.name in results)
            read |= cell is not None and column.name in results
            if told_cell is not None:
                yield Problem(("table",), told_cell, number, column.heading)
    if not read:
        yield Problem(("table",), f"nothing was read in it; expected {' or '.join(results)}")


def _fault(column: Column, cell: str | None, unit: Unit, result: bool) -> str | None:
    if cell is None:
        return None if result else f"the {column.name} is missing"
    try:
        found = parse_quantity(column.quantity_text(cell), unit)
    except QuantityError as error:
        return str(error)
    if unit != "deg" and not result and found.value <= 0.0:
        return f'"{cell}" is no {column.name}; expected more than 0'
    return None
