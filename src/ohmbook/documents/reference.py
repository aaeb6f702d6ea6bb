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
    "partner": "part",
    "detached": "part",
    "instead": "part",
    "shorted": "part",
    "added": "part",
    "lifted": "part end",
    "at": "node",
    "between": "node",
    "scope_ground": "node",
    "amplitudes": "node",
    "phases": "node",
    "source": "source",
    "instrument": "instrument",
}
"""What a field's texts name: the text itself, those of a list, or the keys of a table."""
HELD: dict[str, Noun] = {"added": "node"}
"""What the texts held under those keys name, where they name anything."""


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
        for found in _in_field(field, getattr(document, field))
    )


def _in_field(field: str, value: Any) -> Iterator[Reference]:
    if not isinstance(value, dict):
        yield from _within((field,), MEANING.get(field), value)
        return
    for name, held in value.items():
        yield from _within((field, name), MEANING.get(field), name)
        yield from _within((field, name), HELD.get(field), held)


def _within(key: Key, noun: Noun | None, value: Any) -> Iterator[Reference]:
    if isinstance(value, ReadingName):
        yield Reference(key, "reading", value[1:])
    elif isinstance(value, PartName):
        yield Reference(key, "part", value)
    elif isinstance(value, str):
        if noun is not None:
            yield Reference(key, noun, value)
    elif isinstance(value, tuple | list):
        for index, held in enumerate(value):
            yield from _within((*key, index), noun, held)
