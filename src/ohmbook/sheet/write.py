"""A Sheet back to text that a person likes to read; reading it again gives an equal sheet."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from pydantic.fields import FieldInfo

from ohmbook.documents.fields import Document, written_of
from ohmbook.documents.part import Part, Sketch
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.table import Table
from ohmbook.errors import CallError
from ohmbook.sheet.fill import instrument_for, source_for
from ohmbook.units.quantity import Accuracy, Quantity, Unit

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_FIRST = ("kind", "name")
_LAST = ("source", "instrument", "between", "date", "note", "struck")
_PREFIXES: dict[Unit, dict[str, int]] = {
    "V": {"": 0, "m": -3},
    "H": {"": 0, "m": -3, "u": -6},
    "F": {"u": -6, "n": -9, "p": -12},
}


def write_sheet(sheet: Sheet) -> str:
    """Write a sheet as TOML.

    Args:
        sheet: as read or made; quantities are written as their original text.

    Returns:
        The text; `read_sheet(text=...)` gives a sheet equal to `sheet`.

    Raises:
        CallError: the sheet holds something that no sheet can say.
    """
    return "\n\n".join("\n".join(block) for block in _blocks(sheet) if block) + "\n"


def _blocks(sheet: Sheet) -> Iterator[list[str]]:
    yield [f"title = {value_text(sheet.title)}"]
    yield _table("[defaults]", sheet.defaults)
    for group in ("instruments", "sources"):
        for name, thing in getattr(sheet, group).items():
            yield [f"[{group}.{key_text(name)}]", *_lines(thing)]
    yield _parts(sheet)
    yield from _sketch(sheet.sketch)
    for number, reading in enumerate(sheet.readings, 1):
        yield ["[[readings]]", *_lines(_unsaid(sheet, reading, number))]


def _table(heading: str, document: Document) -> list[str]:
    lines = list(_lines(document))
    return [heading, *lines] if lines else []


def _parts(sheet: Sheet) -> list[str]:
    drawn = sheet.sketch.between if sheet.sketch else {}
    lines = [
        f"{key_text(name)} = {_inline(_without_nodes(part) if name in drawn else part)}"
        for name, part in sheet.parts.items()
    ]
    return ["[parts]", *lines] if lines else []


def _without_nodes(part: Part) -> Part:
    return part.model_copy(update={"between": None})


def _sketch(sketch: Sketch | None) -> Iterator[list[str]]:
    if sketch is None or sketch == Sketch():
        return
    tables = ("outputs", "between")
    bare = sketch.model_copy(update={"outputs": {}, "between": {}, "drawing": None})
    yield ["[sketch]", *_lines(bare)]
    for name in tables:
        held = getattr(sketch, name)
        if held:
            lines = [f"{key_text(key)} = {value_text(value)}" for key, value in held.items()]
            yield [f"[sketch.{name}]", *lines]
    if sketch.drawing is not None:
        yield from drawing_blocks(sketch.drawing.plain())


def drawing_blocks(drawing: Mapping[str, Any]) -> Iterator[list[str]]:
    """A drawing's plain values: what there are many of has a line each."""
    parts = drawing.get("parts")
    apart = isinstance(parts, Mapping) and bool(parts)
    lines = [
        f"{key_text(key)} = {_one_a_line(value)}"
        for key, value in drawing.items()
        if not (apart and key == "parts")
    ]
    yield ["[sketch.drawing]", *lines]
    if isinstance(parts, Mapping) and apart:
        lines = [f"{key_text(key)} = {value_text(value)}" for key, value in parts.items()]
        yield ["[sketch.drawing.parts]", *lines]


def _one_a_line(value: Any) -> str:
    if not isinstance(value, list | tuple) or len(value) < 2:
        return value_text(value)
    return "\n".join(["[", *(f"  {value_text(one)}," for one in value), "]"])


def _unsaid(sheet: Sheet, reading: ReadingBase, number: int) -> ReadingBase:
    """The reading without what reading the sheet fills in anyhow."""
    bare = reading.model_copy(update={"source": None, "instrument": None})
    left_out: dict[str, Any] = {}
    if source_for(sheet, bare) == reading.source:
        left_out["source"] = None
    if instrument_for(sheet, bare) == reading.instrument:
        left_out["instrument"] = None
    if reading.name == f"reading {number}":
        left_out["name"] = ""
    return reading.model_copy(update=left_out)


def _lines(document: Document) -> Iterator[str]:
    for name, field, value in _stated(document):
        yield f"{key_text(name)} = {_field_value(field, value)}"


def _inline(document: Document) -> str:
    return _braces(
        f"{key_text(name)} = {_field_value(field, value)}"
        for name, field, value in _stated(document)
    )


def _stated(document: Document) -> Iterator[tuple[str, FieldInfo, Any]]:
    """Fields that differ from their default, the ones a person looks for first in front."""
    fields = type(document).model_fields
    for name in sorted(fields, key=_rank):
        value = getattr(document, name)
        if value is not None and value != fields[name].get_default(call_default_factory=True):
            yield fields[name].alias or name, fields[name], value


def _rank(name: str) -> int:
    if name in _FIRST:
        return _FIRST.index(name) - len(_FIRST)
    return _LAST.index(name) + 1 if name in _LAST else 0


def _field_value(field: FieldInfo, value: Any) -> str:
    if isinstance(value, Accuracy):
        written = written_of(field)
        return value_text(accuracy_text(value, written.unit if written else "1"))
    return value_text(value)


def value_text(value: Any) -> str:
    """Any value that a sheet can hold, on one line of TOML.

    Raises:
        CallError: no sheet can hold it.
    """
    if isinstance(value, Quantity):
        return _text(value.text)
    if isinstance(value, Table):
        return long_text(value.text)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Mapping):
        return _braces(f"{key_text(str(key))} = {value_text(held)}" for key, held in value.items())
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(value_text, value))}]"
    raise CallError(f"a sheet cannot hold a {type(value).__name__}")


def _braces(pairs: Iterable[str]) -> str:
    inside = ", ".join(pairs)
    return f"{{ {inside} }}" if inside else "{}"


def key_text(name: str) -> str:
    """A key, in quotes where TOML wants them."""
    return name if _BARE.fullmatch(name) else _text(name)


def _text(text: str) -> str:
    # JSON's escapes are TOML's, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def long_text(text: str) -> str:
    """A text of several lines as it is, where TOML allows it."""
    plain = all(line.replace("\t", "").isprintable() for line in text.split("\n"))
    if not plain or "\\" in text or '"' in text:
        return _text(text)
    return f'"""\n{text}"""'


def accuracy_text(accuracy: Accuracy, unit: Unit) -> str:
    """An accuracy as a sheet states it, such as "0.8 % + 2 digits".

    Args:
        accuracy: the sum.
        unit: of its absolute term.
    """
    terms = []
    if accuracy.relative:
        terms.append(f"{_plain(_decimal(accuracy.relative).scaleb(2))} %")
    if accuracy.absolute:
        terms.append(_with_prefix(_decimal(accuracy.absolute), unit))
    if accuracy.digits:
        terms.append(f"{_plain(_decimal(accuracy.digits))} digits")
    if accuracy.divisions:
        terms.append(f"{_plain(_decimal(accuracy.divisions))} div")
    return " + ".join(terms) or "0 %"


def _decimal(value: float) -> Decimal:
    return Decimal(repr(value))  # the shortest text that gives the same float


def _with_prefix(value: Decimal, unit: Unit) -> str:
    prefixes = _PREFIXES.get(unit, {"": 0})
    prefix = next(
        (one for one in prefixes if value.scaleb(-prefixes[one]) >= 1), list(prefixes)[-1]
    )
    return f"{_plain(value.scaleb(-prefixes[prefix]))} {prefix}{unit}"


def _plain(value: Decimal) -> str:
    return format(value.normalize(), "f")
