"""Which names a reading refers to, found by how sheets are written.

A field of a given name always means the same thing, whatever the kind of reading: `part` is a
part, `at` a node. So a new kind has its references checked without saying anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from ohmbook.documents.fields import Document, PartName, ReadingName

Noun = Literal["part", "part end", "node", "source", "instrument", "reading"]
Key = tuple[str | int, ...]

MEANING: dict[str, Noun] = {
    "part": "part",
    "parts": "part",
    "detached": "part",
    "instead": "part",
    "shorted": "part",
    "lifted": "part end",
    "at": "node",
    "between": "node",
    "amplitudes": "node",
    "phases": "node",
    "source": "source",
    "instrument": "instrument",
}


@dataclass(frozen=True, slots=True)
class Reference:
    """A name that must exist elsewhere in the sheet, and the key where it stands."""

    key: Key
    noun: Noun
    name: str


def references(document: Document) -> tuple[Reference, ...]:
    """Every reference of a reading or another document, in the order of its fields."""
    return tuple(
        found
        for field in type(document).model_fields
        for found in _within((field,), MEANING.get(field), getattr(document, field))
    )


def _within(key: Key, noun: Noun | None, value: Any) -> Iterator[Reference]:
    if isinstance(value, ReadingName):
        yield Reference(key, "reading", value[1:])
    elif isinstance(value, PartName):
        yield Reference(key, "part", value)
    elif isinstance(value, str):
        if noun is not None:
            yield Reference(key, noun, value)
    elif isinstance(value, dict):
        for name, held in value.items():
            yield from _within((*key, name), noun, name)
            yield from _within((*key, name), None, held)
    elif isinstance(value, tuple | list):
        for index, held in enumerate(value):
            yield from _within((*key, index), noun, held)
