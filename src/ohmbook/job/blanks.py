"""The blanks of a planned reading: where "?" stands, what may be written there, and writing it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import log10
from typing import Any

from ohmbook.bench.form import Form
from ohmbook.documents.table import NOT_READ, NOT_YET, REMARK, Column, row_offsets
from ohmbook.errors import CallError, OhmbookError, QuantityError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, Unit
from ohmbook.units.show import show_plain

Plain = dict[str, Any]

_WORD = re.compile(r"\S+")
_NUMBER = re.compile(r"[+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Blank:
    """One number that is to be read.

    Args:
        place: of it: "value", "amplitudes.w", or "table.2.w/Vpp" (row from 1, heading).
        label: what it is for people: a node, or a field's words.
        at: at which frequency, for people; "" where there is none of its own.
        unit: that a number without one is taken in.
        row: of a table, from 1; None elsewhere.
    """

    place: str
    label: str
    at: str
    unit: str
    row: int | None = None


def blanks(reading: Mapping[str, Any], form: Form) -> tuple[Blank, ...]:
    """What a planned reading leaves blank.

    Args:
        reading: its plain values.
        form: of its kind.
    """
    return tuple(_blanks(reading, form))


def waits(reading: Mapping[str, Any]) -> bool:
    """Whether anything in a reading is still to be read."""
    return any(True for _ in _places(reading))


def _places(reading: Mapping[str, Any]) -> Iterator[tuple[str, ...]]:
    for key, value in reading.items():
        if value == NOT_YET:
            yield (key,)
        elif isinstance(value, Mapping):
            yield from ((key, str(name)) for name, one in value.items() if one == NOT_YET)
        elif key == "table" and isinstance(value, str):
            yield from ((key, str(r), head) for r, head, cell in _cells(value) if cell == NOT_YET)


def _blanks(reading: Mapping[str, Any], form: Form) -> Iterator[Blank]:
    at = str(reading.get("frequency", ""))
    for place in _places(reading):
        field = form.field(place[0])
        unit = _usual(None if field is None else field.unit)
        if len(place) == 3:
            row, head = int(place[1]), _column(place[2])
            yield Blank(
                ".".join(place), head.name, _row_at(reading["table"], row), head.unit_text, row
            )
        elif len(place) == 2:
            yield Blank(".".join(place), place[1], at, unit)
        else:
            yield Blank(place[0], place[0] if field is None else field.label, at, unit)


def _usual(unit: Unit | None) -> str:
    """The unit that a bare number is taken in."""
    return {"V": "Vpp", None: ""}.get(unit, str(unit))


def _row_at(table: str, row: int) -> str:
    for number, head, cell in _cells(table):
        if number == row and _column(head).name == "frequency":
            try:
                return show_plain(
                    parse_quantity(_column(head).quantity_text(cell), "Hz").value, "Hz"
                )
            except OhmbookError:
                return cell
    return ""


def _column(heading: str) -> Column:
    name, _, rest = heading.partition("/")
    unit, _, held = rest.partition("@")
    return Column(name, unit, held)


def _cells(table: str) -> Iterator[tuple[int, str, str]]:
    """Every cell: its row from 1, its heading, what stands in it."""
    lines = table.split("\n")
    offsets = row_offsets(table)
    heads = _words(lines[offsets[0]]) if offsets else []
    for row, offset in enumerate(offsets[1:], 1):
        yield from (
            (row, head, cell) for head, cell in zip(heads, _words(lines[offset]), strict=False)
        )


def _words(line: str) -> list[str]:
    return line.partition(REMARK)[0].split()


def filled(reading: Mapping[str, Any], form: Form, numbers: Mapping[str, str]) -> Plain:
    """A planned reading with what was read in its blanks; the others stay blank.

    Args:
        reading: its plain values.
        form: of its kind.
        numbers: what was typed, by place; "-" for what cannot be read; "" is left blank.

    Raises:
        CallError: there is no such blank, or what is typed is no quantity of its kind.
    """
    there = {one.place: one for one in blanks(reading, form)}
    found = dict(reading)
    for place, text in numbers.items():
        if place not in there:
            raise CallError(f'There is nothing to fill in at "{place}".')
        if not text.strip():
            continue
        key, *inner = place.split(".", 2)
        if len(inner) == 2:
            written = in_column(text, _column(inner[1]))
            found[key] = _with_cell(found[key], int(inner[0]), inner[1], written)
        elif inner:
            found[key] = {**found[key], inner[0]: _checked(text, there[place].unit)}
        else:
            found[key] = _checked(text, there[place].unit)
    return found


def _checked(text: str, unit: str) -> str:
    base: Unit = "V" if unit == "Vpp" else unit  # type: ignore[assignment]
    bare = _NUMBER.fullmatch(text.strip()) is not None
    written = f"{text.strip()} {unit}" if bare and unit else text.strip()
    if unit:
        _quantity(written, base)
    return written


def _quantity(text: str, unit: Unit) -> Quantity:
    try:
        return parse_quantity(text, unit)
    except QuantityError as error:
        raise CallError(str(error)) from error


def in_column(text: str, column: Column) -> str:
    """A quantity as a cell of a table's column: the number alone, every digit kept.

    Args:
        text: "340 mVpp", or a bare number in the column's own unit.
        column: whose cell it is to be.

    Raises:
        CallError: it is no voltage, or in another convention than the column's.
    """
    text = text.strip()
    if text == NOT_READ:
        return NOT_READ
    one = _quantity(f"1 {column.unit_text}", "V")
    bare = _NUMBER.fullmatch(text) is not None
    read = _quantity(f"{text} {column.unit_text}" if bare else text, "V")
    if read.convention not in (None, one.convention) or read.per_division or read.spread:
        raise CallError(f'"{text}": expected a plain number of {column.unit_text}, as the others.')
    number = _NUMBER.match(text)
    if number is None or not read.value > 0.0:
        raise CallError(f'"{text}": expected an amplitude above 0, or "-" where none can be read.')
    digits = Decimal(number[0].replace(",", "."))
    shift = round(log10(read.value / (float(digits) * one.value)))
    return f"{digits.scaleb(shift):f}"


def _with_cell(table: str, row: int, heading: str, cell: str) -> str:
    lines = table.split("\n")
    offsets = row_offsets(table)
    place = _words(lines[offsets[0]]).index(heading)
    line = lines[offsets[row]]
    spot = list(_WORD.finditer(line))[place]
    rest = line[spot.end() :].lstrip(" ")
    room = len(line) - len(rest) - spot.start()
    gap = "  " if rest and len(cell) >= room else ""
    lines[offsets[row]] = line[: spot.start()] + (cell + gap).ljust(room) + rest
    return "\n".join(lines)


def with_examples(
    reading: Mapping[str, Any], form: Form, shown: Mapping[str, str] | None = None
) -> Plain | None:
    """The same with something in every blank, so that it can be looked at as a whole; None where
    nothing is known that could stand there.

    Args:
        reading: its plain values.
        form: of its kind.
        shown: what there should be, by place; an example of its kind elsewhere.
    """
    found, shown = dict(reading), shown or {}
    for place in _places(reading):
        field = form.field(place[0])
        text = shown.get(".".join(place), "" if field is None else field.example)
        if len(place) == 3:
            cell = in_column(shown.get(".".join(place), "1"), _column(place[2]))
            found["table"] = _with_cell(found["table"], int(place[1]), place[2], cell)
        elif not text:
            return None
        elif len(place) == 2:
            found[place[0]] = {**found[place[0]], place[1]: text}
        else:
            found[place[0]] = text
    return found


def headings(reading: Mapping[str, Any]) -> dict[str, str]:
    """A table's headings by their names."""
    table = reading.get("table")
    heads = [head for _, head, _ in _cells(table)] if isinstance(table, str) else []
    return {_column(head).name: head for head in heads}
