"""Rewriting: a sheet with something else at one site, and that in words for the sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ohmbook.counsel.sites import Site
from ohmbook.documents.fields import Document
from ohmbook.documents.reading import Sheet
from ohmbook.documents.table import Column, Row, Table
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Convention, Quantity, sine_factor


def rewritten(sheet: Sheet, site: Site, text: str) -> Sheet:
    """The sheet with `text` at a site.

    A cell that moves under another node becomes a reading of its own behind the others, so that
    what stands there stays.

    Args:
        sheet: as written.
        site: where.
        text: a quantity with its unit, a word, a name; "" takes the entry away ("done").

    Raises:
        QuantityError: the text is no quantity of the site's unit.
    """
    group, key = site.owner
    if group == "readings":
        index = int(key)
        readings = list(sheet.readings)
        whole = readings[index]
        readings[index] = _changed(whole, site, text)
        if site.what == "node" and site.field_is_table:
            readings.append(whole.model_copy(update={site.field: _alone(whole, site, text)}))
        return replace(sheet, readings=tuple(readings))
    held = dict(getattr(sheet, group))
    held[str(key)] = _changed(held[str(key)], site, text)
    changes: dict[str, Any] = {group: held}
    return replace(sheet, **changes)


def _changed(document: Document, site: Site, text: str) -> Any:
    value = getattr(document, site.field)
    return document.model_copy(update={site.field: _new(value, site, text)})


def _new(value: Any, site: Site, text: str) -> Any:
    if isinstance(value, Table):
        return _table(value, site, text)
    held: Any = text
    if site.what == "quantity":
        held = parse_quantity(text, site.unit)
    if isinstance(value, dict):
        return _entry(value, site, held)
    if isinstance(value, tuple | list):
        place = int(site.key[1])
        put = [] if site.what == "done" and not text else [held]
        return (*value[:place], *put, *value[place + 1 :])
    if site.what == "choice" and isinstance(value, int):
        return type(value)(text)
    return held


def _entry(value: dict[str, Any], site: Site, held: Any) -> dict[str, Any]:
    """A table's entry with another quantity, taken away, or under another name (exchanged)."""
    name = str(site.key[1])
    if site.what == "quantity":
        return {**value, name: held}
    if not held:
        return {other: one for other, one in value.items() if other != name}
    names = {name: held, held: name}
    return {names.get(other, other): one for other, one in value.items()}


def _table(table: Table, site: Site, text: str) -> Table:
    number, place = int(site.key[1]), int(site.key[2])
    column = table.columns[place]
    if site.what == "heading":
        return _headed(table, place, replace(column, unit_text=text))
    if site.what == "column":
        names = {column.name: text, text: column.name}
        columns = tuple(replace(one, name=names.get(one.name, one.name)) for one in table.columns)
        return replace(table, columns=columns)
    cell = None if site.what == "node" else in_column(column, site, text)
    return _with_cell(table, (number, place), cell)


def in_column(column: Column, site: Site, text: str) -> str:
    """A quantity as a cell of a column, in the column's unit and convention."""
    there = parse_quantity(f"1 {column.unit_text}", site.unit)
    here = parse_quantity(text, site.unit)
    value = here.value / there.value * _factor(here, there)
    cell = f"{value:.12f}".rstrip("0").rstrip(".")
    return cell if abs(float(cell) - value) < 1e-9 * abs(value) else f"{value:.9g}"


def _factor(here: Quantity, there: Quantity) -> float:
    default: Convention = "pp"
    if here.convention == there.convention:
        return 1.0
    return sine_factor(here.convention or default, there.convention or default)


def _headed(table: Table, place: int, column: Column) -> Table:
    return replace(table, columns=(*table.columns[:place], column, *table.columns[place + 1 :]))


def _with_cell(table: Table, at: tuple[int, int], cell: str | None) -> Table:
    number, place = at
    rows = list(table.rows)
    cells = list(rows[number - 1].cells)
    cells[place] = cell
    rows[number - 1] = replace(rows[number - 1], cells=tuple(cells))
    return replace(table, rows=tuple(rows))


def _alone(reading: Document, site: Site, node: str) -> Table:
    """One cell of a table, with its row's frequency, under another node."""
    table: Table = getattr(reading, site.field)
    number, place = int(site.key[1]), int(site.key[2])
    row = table.rows[number - 1]
    columns = (table.columns[0], replace(table.columns[place], name=node))
    cells = (row.cells[0], row.cells[place])
    return Table(columns, (Row(row.line_offset, cells),))
