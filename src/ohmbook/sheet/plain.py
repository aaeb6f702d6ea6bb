"""A sheet's plain values (texts, numbers, dates, lists, tables) to text that says the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ohmbook.sheet.write import drawing_blocks, key_text, long_text, value_text

_NESTED = ("outputs", "between", "drawing")


def plain_text(raw: Mapping[str, Any]) -> str:
    """Write a sheet's plain values as TOML, laid out as a person likes to read a sheet.

    Args:
        raw: as `tomllib` gives it, whole or in part; nothing in it is checked or filled in.

    Returns:
        The text; `tomllib.loads` gives values equal to `raw`, but for sections that are empty.

    Raises:
        CallError: it holds something that TOML cannot say.
    """
    blocks = ("\n".join(block) for block in _blocks(raw) if block)
    return "\n\n".join(blocks) + "\n"


def reading_text(reading: Mapping[str, Any]) -> str:
    """One reading as a sheet has it, under its own heading."""
    return "\n".join(["[[readings]]", *_lines(reading)]) + "\n"


def _blocks(raw: Mapping[str, Any]) -> Iterator[Sequence[str]]:
    if "title" in raw:
        yield [f"title = {value_text(raw['title'])}"]
    if raw.get("defaults"):
        yield ["[defaults]", *_lines(raw["defaults"])]
    for group in ("instruments", "sources"):
        for name, thing in raw.get(group, {}).items():
            yield [f"[{group}.{key_text(name)}]", *_lines(thing)]
    if raw.get("parts"):
        yield ["[parts]", *_lines(raw["parts"])]
    if "sketch" in raw:
        yield from _sketch(raw["sketch"])
    for reading in raw.get("readings", ()):
        yield ["[[readings]]", *_lines(reading)]


def _sketch(sketch: Mapping[str, Any]) -> Iterator[Sequence[str]]:
    nested = [name for name in _NESTED if isinstance(sketch.get(name), Mapping) and sketch[name]]
    yield ["[sketch]", *_lines({k: v for k, v in sketch.items() if k not in nested})]
    for name in nested:
        if name == "drawing":
            yield from drawing_blocks(sketch[name])
            continue
        yield [f"[sketch.{name}]", *_lines(sketch[name])]


def _lines(table: Mapping[str, Any]) -> Iterator[str]:
    for key, value in table.items():
        shown = long_text(value) if isinstance(value, str) and "\n" in value else value_text(value)
        yield f"{key_text(key)} = {shown}"
