"""What pydantic finds wrong with a document, in our own words; its wording never gets out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from ohmbook.documents.fields import TOLD, Document, written_of
from ohmbook.documents.reading import Problem, ReadingBase
from ohmbook.documents.reference import Key
from ohmbook.errors import OhmbookError, QuantityError, TableError
from ohmbook.sheet.near import nearest, short_suggestion, suggestion

_PAIR = 'a pair in square brackets, such as ["in", "gnd"]'
_WHOLE = "a whole number without quotes"
_NUMBER = "a number without quotes"
_DATE = "a date such as 2026-05-01, without quotes"
_EXPECTED = {
    "string_type": "a text in double quotes",
    "bool_type": "true or false, without quotes",
    "bool_parsing": "true or false, without quotes",
    "int_type": _WHOLE,
    "int_parsing": _WHOLE,
    "int_parsing_size": _WHOLE,
    "int_from_float": _WHOLE,
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "finite_number": "a number that is neither nan nor inf",
    "tuple_type": "a list in square brackets",
    "list_type": "a list in square brackets",
    "set_type": "a list in square brackets",
    "dict_type": 'a table such as { in = "0.51 Vpp" }',
    "model_type": "a table",
    "date_type": _DATE,
    "date_parsing": _DATE,
    "date_from_datetime_parsing": _DATE,
    "date_from_datetime_inexact": _DATE,
}
_BOUNDS = {
    "greater_than": ("gt", "more than {}"),
    "greater_than_equal": ("ge", "at least {}"),
    "less_than": ("lt", "less than {}"),
    "less_than_equal": ("le", "at most {}"),
    "string_too_short": ("min_length", "a text of at least {} letters"),
    "string_too_long": ("max_length", "a text of at most {} letters"),
    "too_short": ("min_length", "a list of at least {}"),
    "too_long": ("max_length", "a list of at most {}"),
}
_EXAMPLES = {
    "part": '"L1"',
    "rated": '"8 ohm"',
    "leads": '"0.2 ohm"',
    "at": '"in"',
    "between": '["in", "w"]',
    "detached": '["woofer"]',
    "amplitudes": '{ in = "0.51 Vpp", w = "0.47 Vpp" }',
    "phases": '{ w = "-22 deg" }',
}
_SHOWN = 40


def problems_of(
    error: ValidationError, model: type[Document], raw: Mapping[str, Any]
) -> Iterator[Problem]:
    """Every fault of one document.

    Args:
        error: what pydantic found.
        model: the document's class.
        raw: what the sheet says.

    Yields:
        One problem for each key at fault, its key from the document down.
    """
    at_key: dict[Key, list[ErrorDetails]] = {}
    for detail in error.errors(include_url=False):
        at_key.setdefault(_key(detail, raw), []).append(detail)
    mistyped = {_meant(key, details, model) for key, details in at_key.items()}
    for key, details in at_key.items():
        if key not in mistyped:
            yield _problem(key, details, model)


def told(error: OhmbookError, key: Key) -> Problem:
    """An error of ours as a problem at a key."""
    if isinstance(error, TableError):
        return Problem(key, error.message, error.row, error.column)
    return Problem(key, str(error).rstrip("."))


def example(name: str, field: FieldInfo | None) -> str:
    """How a field is written in a sheet, as TOML."""
    if field is None:
        return f'{name} = "..."'
    if field.examples:
        return f"{name} = {toml(field.examples[0])}"
    if name in _EXAMPLES:
        return f"{name} = {_EXAMPLES[name]}"
    written = written_of(field)
    return f"{name} = {written.example if written else _plain(field.annotation)}"


def toml(value: Any) -> str:
    """A plain value as TOML shows it, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        shown = value if len(value) <= _SHOWN else f"{value[:_SHOWN]}..."
        return f'"{shown}"'
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return str(value)[:_SHOWN]


def _key(detail: ErrorDetails, raw: Any) -> Key:
    # pydantic adds the branch of a union to a place; only what can be followed in the sheet counts.
    key: Key = ()
    for step in detail["loc"]:
        if isinstance(raw, Mapping) and step in raw:
            raw = raw[str(step)]
        elif isinstance(raw, list) and isinstance(step, int) and step < len(raw):
            raw = raw[step]
        elif isinstance(raw, Mapping) and detail["type"] == "missing":
            return (*key, step)
        else:
            return key
        key = (*key, step)
    return key


def _meant(key: Key, details: list[ErrorDetails], model: type[Document]) -> Key | None:
    """The key that an unknown one is a slip for; told once, it need not be told as missing."""
    if details[0]["type"] != "extra_forbidden" or len(key) != 1:
        return None
    near = nearest(str(key[0]), _fields(model))
    return None if near is None else (near,)


def _problem(key: Key, details: list[ErrorDetails], model: type[Document]) -> Problem:
    ours = [one for one in details if one["type"] == TOLD]
    if ours:
        return _ours(key, ours[0]["ctx"]["error"])
    first = details[0]
    if not key:
        return Problem(key, _general(first))
    fields = _fields(model)
    field = fields.get(str(key[0]))
    if first["type"] == "extra_forbidden" and len(key) > 1:
        return Problem(key, "unknown key; expected none of that name here")
    if first["type"] == "extra_forbidden":
        return Problem(key, f"unknown key; {short_suggestion(str(key[-1]), fields)}")
    if first["type"] == "missing" and first["loc"][-1] == key[-1]:
        shown = example(str(key[-1]), field if len(key) == 1 else None)
        return Problem(key, f"this is missing; write for example {shown}")
    return Problem(key, _wrong(str(key[-1]), details, field))


def _ours(key: Key, error: OhmbookError) -> Problem:
    if isinstance(error, QuantityError) and not error.text:
        return Problem(key, f"{error.why}; expected {error.expected}")
    return told(error, key)


def _general(detail: ErrorDetails) -> str:
    if detail["type"] in ("value_error", "assertion_error"):
        return str(detail["ctx"]["error"]).rstrip(".") or "this cannot be"
    return f"found {toml(detail['input'])}; expected {_expected(detail, False) or 'a table'}"


def _wrong(name: str, details: list[ErrorDetails], field: FieldInfo | None) -> str:
    first = details[0]
    if first["type"] in ("value_error", "assertion_error"):
        return _general(first)
    if first["type"] == "literal_error" and isinstance(first["input"], str) and _allowed(first):
        return f"found {toml(first['input'])}; {suggestion(first['input'], _allowed(first))}"
    pair = field is not None and "tuple[str, str]" in str(field.annotation)
    known = dict.fromkeys(one for one in (_expected(one, pair) for one in details) if one)
    expected = " or ".join(known) or example(name, field)
    return f"found {toml(first['input'])}; expected {expected}"


def _expected(detail: ErrorDetails, pair: bool) -> str | None:
    kind, context = detail["type"], detail.get("ctx", {})
    if pair and kind in ("tuple_type", "missing", "too_long", "too_short"):
        return _PAIR
    if kind in _BOUNDS:
        name, words = _BOUNDS[kind]
        return words.format(context[name])
    if kind == "literal_error":
        return str(context["expected"]).replace("'", '"')
    return _EXPECTED.get(kind)


def _allowed(detail: ErrorDetails) -> list[str]:
    return re.findall(r"'([^']*)'", detail["ctx"]["expected"])


def _fields(model: type[Document]) -> dict[str, FieldInfo]:
    """The fields by the key they are written under; what every reading has comes last."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    return dict(sorted(fields.items(), key=lambda one: one[0] in ReadingBase.model_fields))


def _plain(annotation: Any) -> str:
    if get_origin(annotation) is Annotated:
        return _plain(get_args(annotation)[0])
    if get_origin(annotation) is Literal:
        return toml(get_args(annotation)[0])
    return {bool: "true", int: "4", float: "0.5"}.get(annotation, '"..."')
