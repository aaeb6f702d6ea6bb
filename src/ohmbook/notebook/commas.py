"""Comma-separated values (RFC 4180): every text comes back as it was, whatever stands in it.

The standard library's reader has a limit for a field that is one for the whole process, and takes
much that nobody wrote so; what is read here must be as `to_csv` writes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_FIELD = re.compile(r'(?:"([^"]*(?:""[^"]*)*)"|([^",\r\n]*))(,|\r\n)')
_WANTS_QUOTES = re.compile(r'[",\r\n]')


def to_csv(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows under a heading; each line ends with CR LF."""
    return "".join(",".join(map(_quoted, row)) + "\r\n" for row in (heading, *rows))


def from_csv(text: str, heading: Sequence[str]) -> list[list[str]]:
    """The rows that `to_csv` was given.

    Raises:
        ValueError: this is not such a table; the message says in which row.
    """
    rows: list[list[str]] = [[]]
    place = 0
    while place < len(text):
        found = _FIELD.match(text, place)
        if found is None:
            raise ValueError(f"row {len(rows) - 1} cannot be read")
        quoted, bare, end = found.groups()
        rows[-1].append(bare if quoted is None else quoted.replace('""', '"'))
        if end != ",":
            rows.append([])
        place = found.end()
    if rows.pop() or not rows:
        raise ValueError("its last row is cut off")
    return _under(rows, heading)


def _under(rows: list[list[str]], heading: Sequence[str]) -> list[list[str]]:
    if rows[0] != list(heading):
        raise ValueError(f"its columns are not {', '.join(heading)}")
    wrong = next((k for k, one in enumerate(rows) if len(one) != len(heading)), None)
    if wrong is not None:
        raise ValueError(f"row {wrong} has {len(rows[wrong])} columns instead of {len(heading)}")
    return rows[1:]


def _quoted(field: str) -> str:
    if not _WANTS_QUOTES.search(field):
        return field
    return '"' + field.replace('"', '""') + '"'
