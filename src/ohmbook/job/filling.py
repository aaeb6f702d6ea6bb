"""What a form for a reading begins with: what was asked for, what stands, or what is usual."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmbook.bench.form import Form, FormField
from ohmbook.documents.table import read_table
from ohmbook.errors import OhmbookError
from ohmbook.job.drafting import Draft
from ohmbook.job.forms import Bench, Plain
from ohmbook.units.parse import parse_quantity
from ohmbook.units.series import nearest
from ohmbook.units.show import show_plain

FREQUENCIES = ("0.1", "0.2", "0.5", "1", "2", "5", "10")
"""Rows that a new table begins with, kHz; those left empty are not written."""

_FURTHER = 1.5
"""By how much another reading like this one moves its frequency."""


def usual_values(form: Form, bench: Bench, raw: Plain) -> Plain:
    """What a new form is filled in with.

    What is set rather than read stands as in the last reading of the kind: the clips, what was
    unplugged. On a board where nothing was read yet, the source is at its input and the drivers
    are unplugged.

    Args:
        form: of the kind.
        bench: what there is to choose from.
        raw: the board's plain values.
    """
    last = _last(form, raw)
    found = {
        one.name: last[one.name]
        for one in form.fields
        if one.name in last and one.what in ("place", "names") and not one.seldom
    }
    if last:
        return found
    at, drivers = (raw.get("sketch") or {}).get("input"), _drivers(bench)
    for one in form.fields:
        if one.what == "place" and at:
            found[one.name] = at
        if one.name == "detached" and drivers and one.way is None:
            found[one.name] = drivers
    return found


def _last(form: Form, raw: Plain) -> Plain:
    same = [one for one in raw.get("readings", []) if one.get("kind") == form.kind]
    return same[-1] if same else {}


def _drivers(bench: Bench) -> list[str]:
    return [name for name in bench.on_board if bench.parts[name] == "driver"]


def begun_draft(form: Form, bench: Bench, values: Plain) -> Draft:
    """A form as it begins, as a draft: with what is usual where nothing says otherwise.

    Args:
        form: of the kind.
        bench: what there is to choose from.
        values: what the form is filled in with.
    """
    reading: Plain = {"kind": form.kind, **values}
    beside: dict[str, dict[str, Plain]] = {}
    for noun, things in (("source", bench.sources()), ("instrument", bench.able(form))):
        if form.field(noun) is None or not things:
            continue
        chosen = next((one for one in things if one.name == values.get(noun)), things[0])
        reading[noun] = chosen.name
        if chosen.new:
            beside[chosen.section] = {chosen.name: chosen.raw}
    part = form.field("part")
    if part is not None and part.way in (None, 0) and "part" not in values and part.required:
        reading["part"] = next(iter(bench.parts), bench.free["inductor"])
        if not bench.parts:
            beside["parts"] = {reading["part"]: {"kind": "inductor"}}
    return Draft(reading, beside)


def table_of(value: object, bench: Bench, ground: str) -> dict[str, Any]:
    """A table's headings and cells for a grid.

    Args:
        value: its text where one stands; otherwise it begins with every node but the ground.
        bench: the board's nodes.
        ground: the board's ground node.
    """
    try:
        table = read_table(value) if isinstance(value, str) else None
    except OhmbookError:
        table = None
    if table is None:
        nodes = [one for one in bench.nodes if one != ground]
        heads = [("frequency", "kHz"), *((one, "Vpp") for one in nodes)]
        rows = [{"frequency/kHz": one} for one in FREQUENCIES]
        return {"columns": [_column(*one) for one in heads], "rows": rows}
    heads = [(one.name, one.heading.partition("/")[2]) for one in table.columns]
    rows = [
        {
            column.heading: _shown(cell, k)
            for k, (column, cell) in enumerate(zip(table.columns, row.cells, strict=True))
        }
        for row in table.rows
    ]
    return {"columns": [_column(*one) for one in heads], "rows": rows}


def _shown(cell: str | None, place: int) -> str:
    return cell if cell is not None else ("" if place == 0 else "-")


def _column(name: str, unit: str) -> dict[str, Any]:
    return {"key": f"{name}/{unit}", "label": name, "unit": unit, "head": name == "frequency"}


def another(reading: Mapping[str, Any], form: Form) -> dict[str, str]:
    """What changes in another reading like this one: its frequency moves on.

    Args:
        reading: the one just written.
        form: of its kind.
    """
    return {
        one.name: _moved_on(str(reading[one.name]))
        for one in form.fields
        if one.unit == "Hz" and not one.result and reading.get(one.name)
    }


def _moved_on(text: str) -> str:
    try:
        f_hz = parse_quantity(text, "Hz").value
    except OhmbookError:
        return text
    return show_plain(nearest(_FURTHER * f_hz, "E12")[0], "Hz", 2) if f_hz > 0.0 else text


def expected_at(expected: Mapping[str, Any], form: Form) -> dict[str, str]:
    """What each blank should show, by field, or by "field.name" where names have amounts."""
    found: dict[str, str] = {}
    for name, text in expected.items():
        field = form.field(name) or _amounts(form)
        if field is not None:
            found[name if field.name == name else f"{field.name}.{name}"] = str(text)
    return found


def _amounts(form: Form) -> FormField | None:
    return next((one for one in form.fields if one.what == "amounts" and one.result), None)
