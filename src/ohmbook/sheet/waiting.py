"""What a plan still asks for: readings in which "?" stands where a number belongs.

They wait: they are left out, and named, until they are filled in. In a table the cells wait one
by one; a whole table waits where none of its cells is filled in.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmbook.documents.table import NOT_YET, is_unread
from ohmbook.sheet.lines import Key, Lines


def without_waiting(raw: dict[str, Any], lines: Lines) -> tuple[dict[str, Any], Lines, list[str]]:
    """A sheet's plain values without the readings that wait, and what those are called.

    Args:
        raw: what the TOML parser gave.
        lines: where everything stands.

    Returns:
        The values, the lines with the readings numbered anew, and the names of those that wait.
    """
    readings = raw.get("readings")
    if not isinstance(readings, list):
        return raw, lines, []
    kept = [k for k, one in enumerate(readings) if not _waits(one)]
    if len(kept) == len(readings) and not any(map(_partly, readings)):
        return raw, lines, []
    names = [
        str(one.get("name") or f"reading {k + 1}")
        for k, one in enumerate(readings)
        if k not in kept
    ]
    left = [_taken(_called(readings[k], k), names) for k in kept]
    return {**raw, "readings": left}, _renumbered(lines, kept), names


def _waits(reading: Any) -> bool:
    if not isinstance(reading, Mapping):
        return False
    return any(
        value == NOT_YET
        or (isinstance(value, Mapping) and value and all(one == NOT_YET for one in value.values()))
        or (key == "table" and isinstance(value, str) and is_unread(value))
        for key, value in reading.items()
    )


def _partly(reading: Any) -> bool:
    return isinstance(reading, Mapping) and any(
        isinstance(value, Mapping) and NOT_YET in value.values() for value in reading.values()
    )


def _called(reading: Any, place: int) -> Any:
    """A reading with the name its place gave it, so that leaving others out changes none."""
    if isinstance(reading, Mapping) and "name" not in reading:
        return {**reading, "name": f"reading {place + 1}"}
    return reading


def _taken(reading: Any, waiting: list[str]) -> Any:
    """A reading without the entries that wait, and without references to readings that do."""
    if not isinstance(reading, Mapping):
        return reading
    found: dict[str, Any] = {}
    for key, value in reading.items():
        if isinstance(value, Mapping):
            found[key] = {name: one for name, one in value.items() if one != NOT_YET}
        elif not (isinstance(value, str) and value[:1] == "@" and value[1:] in waiting):
            found[key] = value
    return found


def _renumbered(lines: Lines, kept: list[int]) -> Lines:
    places = {old: new for new, old in enumerate(kept)}

    def moved(key: Key) -> Key | None:
        if len(key) < 2 or key[0] != "readings":
            return key
        place = places.get(int(key[1]))
        return None if place is None else ("readings", place, *key[2:])

    keys = {new: line for key, line in lines.keys.items() if (new := moved(key)) is not None}
    rows = {new: line for key, line in lines.rows.items() if (new := moved(key)) is not None}
    return Lines(keys, rows)
