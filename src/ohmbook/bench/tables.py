"""Tables of amplitudes for a plan: filled with what they should show, or with blanks to fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ohmbook.bench.kind import TO_READ, Wanted
from ohmbook.documents.table import NOT_READ, Row, Table
from ohmbook.units.parse import parse_quantity

_OWN = ("frequency", "amplitudes")


def filled_table(table: Table, values: Sequence[float]) -> Table:
    """A table whose every cell was read, with these amplitudes in it (volts), row by row."""
    left = iter(values)
    rows = [
        Row(row.line_offset, (row.cells[0], *(f"{next(left):.3g}" for _ in row.cells[1:])))
        for row in table.rows
    ]
    return replace(table, rows=tuple(rows), text="")


def tables(wanted: Sequence[Wanted]) -> list[dict[str, Any]]:
    """Single amplitudes as one table for each connection.

    A cell to be filled in is "?", one that is not wanted "-"; what is expected stands behind each
    row as a remark.
    """
    groups: dict[str, list[Wanted]] = {}
    for one in wanted:
        groups.setdefault(str(_said(one)), []).append(one)
    return [{**_said(group[0]), "table": _text(group)} for group in groups.values()]


def _said(one: Wanted) -> dict[str, Any]:
    return {key: value for key, value in one.blank.items() if key not in _OWN}


def _text(group: Sequence[Wanted]) -> str:
    cells: dict[float, dict[str, str]] = {}
    for one in group:
        f_hz = parse_quantity(one.blank["frequency"], "Hz").value
        cells.setdefault(f_hz, {}).update(one.expected)
    nodes = list(dict.fromkeys(node for one in group for node in one.blank["amplitudes"]))
    heads = ["frequency/Hz", *(f"{node}/Vpp" for node in nodes)]
    lines = [_padded(heads, heads) + "  # expected"]
    for f_hz, expected in sorted(cells.items()):
        row = [f"{f_hz:g}", *(TO_READ if node in expected else NOT_READ for node in nodes)]
        told = ", ".join(f"{node} {expected[node]}" for node in nodes if node in expected)
        lines.append(f"{_padded(row, heads)}  # {told}")
    return "\n" + "\n".join(lines) + "\n"


def _padded(cells: Sequence[str], heads: Sequence[str]) -> str:
    return "  ".join(cell.ljust(len(head)) for cell, head in zip(cells, heads, strict=True))
