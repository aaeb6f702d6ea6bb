"""Plain values of a sheet to the JSON that a notebook keeps, and back without a loss.

TOML has dates and times, which JSON has not: they stand as {"$date": "2026-11-25"} and the like.
A key of the sheet's own that begins with "$" is kept with a second one in front.
"""

from __future__ import annotations

import datetime
import json
from typing import Any

_KINDS: dict[str, type[datetime.date] | type[datetime.time]] = {
    "$datetime": datetime.datetime,
    "$date": datetime.date,
    "$time": datetime.time,
}


def to_body(value: Any) -> str:
    """JSON of plain values.

    Args:
        value: texts, numbers, dates, lists and tables, as TOML has them.
    """
    return json.dumps(_plain(value), ensure_ascii=False, separators=(",", ":"))


def from_body(body: str) -> Any:
    """The plain values that `to_body` was given."""
    return json.loads(body, object_hook=_table)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {f"${k}" if k[:1] == "$" else k: _plain(held) for k, held in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    for name, kind in _KINDS.items():
        if isinstance(value, kind):
            return {name: value.isoformat()}
    return value


def _table(found: dict[str, Any]) -> Any:
    if len(found) == 1:
        ((name, held),) = found.items()
        if name in _KINDS:
            return _KINDS[name].fromisoformat(held)
    return {k[1:] if k[:1] == "$" else k: held for k, held in found.items()}
