"""A table of readings as cells: frequency, node, amplitude; and what can be wrong with one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ohmbook.circuit.network import Node
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.table import Column, Table
from ohmbook.errors import QuantityError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, Unit


@dataclass(frozen=True, slots=True)
class Cell:
    """One amplitude: at which frequency and node, what was read, and its row from 1 (or None)."""

    f: Quantity
    node: Node
    read: Quantity
    row: int | None = None


@lru_cache(maxsize=512)
def cells_of(table: Table) -> Sequence[Cell]:
    """Every cell that was read, row by row; the table has no problems."""
    found: list[Cell] = []
    for number, row in enumerate(table.rows, 1):
        pairs = list(zip(table.columns, row.cells, strict=True))
        f = parse_quantity(table.columns[0].quantity_text(row.cells[0] or ""), "Hz")
        found += [
            Cell(f, column.name, parse_quantity(column.quantity_text(cell), "V"), number)
            for column, cell in pairs[1:]
            if cell is not None
        ]
    return tuple(found)


def table_problems(table: Table, sheet: Sheet) -> Iterable[Problem]:
    """Headings that are no nodes, frequencies that are missing, cells that are no amplitudes."""
    nodes = {node for part in sheet.parts.values() for node in part.between or ()}
    for k, column in enumerate(table.columns):
        if (k == 0) != (column.name == "frequency") or (k and column.name not in nodes):
            expected = "a node of the board" if k else "frequency/kHz"
            yield Problem(
                ("table",),
                f'"{column.name}" stands at the head of a column; expected {expected} '
                f"(the nodes are {', '.join(sorted(nodes))})",
                0,
                column.heading,
            )
            return
    if not any(cell is not None for row in table.rows for cell in row.cells[1:]):
        yield Problem(("table",), "nothing was read in it; expected an amplitude at some node")
    for number, row in enumerate(table.rows, 1):
        for k, (column, cell) in enumerate(zip(table.columns, row.cells, strict=True)):
            told = _fault(column, cell, "V" if k else "Hz")
            if told is not None:
                yield Problem(("table",), told, number, column.heading)


def _fault(column: Column, cell: str | None, unit: Unit) -> str | None:
    if cell is None:
        return None if unit == "V" else "the frequency is missing"
    try:
        parse_quantity(column.quantity_text(cell), unit)
    except QuantityError as error:
        return str(error)
    return None
