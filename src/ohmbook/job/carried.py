"""Readings carried along when a part or a node gets another name: each goes on saying the same."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ohmbook.documents.reference import HELD, MEANING
from ohmbook.documents.table import REMARK

_WORDS = ("kind", "name", "note", "date", "struck", "source", "instrument", "table")


@dataclass(frozen=True, slots=True)
class Renamed:
    """Old names to new ones."""

    parts: Mapping[str, str] = field(default_factory=dict)
    nodes: Mapping[str, str] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.parts or self.nodes)


def carried(raw: Mapping[str, Any], renamed: Renamed) -> dict[str, Any]:
    """A reading's plain values with the new names.

    Args:
        raw: as a sheet has them.
        renamed: which names change.
    """
    return {key: _field(key, value, renamed) for key, value in raw.items()}


def _field(key: str, value: Any, renamed: Renamed) -> Any:
    if key == "table" and isinstance(value, str):
        return _headings(value, renamed.nodes)
    noun = MEANING.get(key)
    names = _names(noun, renamed)
    if isinstance(value, Mapping):
        held = _names(HELD.get(key), renamed)
        return {
            names.get(one, one): _values(two, held) if key in HELD else _values(two, renamed.parts)
            for one, two in value.items()
        }
    if noun == "part end":
        return _values(value, names, ends=True)
    if noun is not None:
        return _values(value, names)
    return value if key in _WORDS else _values(value, renamed.parts)


def _names(noun: str | None, renamed: Renamed) -> Mapping[str, str]:
    if noun in ("part", "part end"):
        return renamed.parts
    return renamed.nodes if noun == "node" else {}


def _values(value: Any, names: Mapping[str, str], *, ends: bool = False) -> Any:
    if isinstance(value, list | tuple):
        return [_values(one, names, ends=ends) for one in value]
    if not isinstance(value, str):
        return value
    if ends:
        part, dot, end = value.rpartition(".")
        return f"{names.get(part, part)}{dot}{end}"
    return names.get(value, value)


def _headings(table: str, names: Mapping[str, str]) -> str:
    """A table with other nodes in its headings: its first line that is no remark and not blank."""
    lines = table.split("\n")
    for k, line in enumerate(lines):
        said, mark, remark = line.partition(REMARK)
        if said.split():
            lines[k] = re.sub(r"(?<!\S)([^/\s]+)(?=/)", _swap(names), said) + mark + remark
            break
    return "\n".join(lines)


def _swap(names: Mapping[str, str]) -> Any:
    return lambda found: names.get(found[1], found[1])
