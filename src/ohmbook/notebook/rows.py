"""Rows of the tables as acts and entries; a row that cannot have been written so is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ohmbook.notebook.ink import Act, Entry, Subject

_ACTS = {(int, str, str, str, str, kind, int, bytes) for kind in (int, type(None))}
_ENTRIES = {(int, int, str, str, str, int, kind) for kind in (str, type(None))}


def act_of(row: Sequence[Any]) -> Act | None:
    """An act of its row; None where the row cannot have been written so."""
    if tuple(map(type, row)) not in _ACTS:
        return None
    number, at, who, kind, words, undoes, beside, digest = row
    return Act(number, at, who, kind, words, undoes, bool(beside), digest)


def entry_of(row: Sequence[Any]) -> Entry | None:
    """An entry of its row; None where the row cannot have been written so."""
    if tuple(map(type, row)) not in _ENTRIES:
        return None
    number, act, board, section, key, base, body = row
    return Entry(number, act, Subject(board, section, key), base, body)
