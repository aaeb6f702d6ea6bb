"""A history that somebody hands over: every act and entry looked at before it is believed."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from itertools import groupby
from typing import Any, get_args

from ohmbook.notebook.attachments import MOST_BYTES
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.checking import is_board_name
from ohmbook.notebook.ink import (
    ATTACHMENTS,
    BOARD,
    NAMED,
    PARTS,
    READINGS,
    WHOLE,
    Act,
    ActKind,
    Entry,
    Subject,
    digest_of,
)  # fmt: skip
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.safenames import safe_name

_NUMBER = re.compile(r"[0-9]{1,18}")
_SHAPES: dict[str, type] = {"title": str, "defaults": dict, "sketch": dict}


def told_history(acts: Sequence[Sequence[str]], entries: Sequence[Sequence[str]]) -> Ledger:
    """The ledger of rows as an archive has them.

    Args:
        acts: id, at, who, kind, words, undoes, beside, digest.
        entries: id, act, board, section, key, base, body.

    Raises:
        ValueError: an act or an entry is not what was written; the message says which.
    """
    ledger = Ledger()
    made = [_entry(number, row) for number, row in enumerate(entries, 1)]
    of_act = {act: list(each) for act, each in groupby(made, lambda one: one.act)}
    if sum(map(len, of_act.values())) != len(made) or list(of_act) != sorted(of_act):
        raise ValueError("the entries are not in the order of their acts")
    for number, row in enumerate(acts, 1):
        act, wrote = _act(number, row), of_act.pop(number, [])
        if digest_of(ledger.digest, act, wrote) != act.digest:
            raise ValueError(f"act {number} does not agree with its digest")
        ledger.add(act, wrote)
    if of_act:
        raise ValueError(f"there are entries of act {next(iter(of_act))}, which is not there")
    return ledger


def _act(number: int, row: Sequence[str]) -> Act:
    ident, at, who, kind, words, undoes, beside, digest = row
    back = None if undoes == "" else _number(undoes)
    sound = (
        ident == str(number)
        and kind in get_args(ActKind)
        and beside in ("0", "1")
        and (back is None or 0 < back < number)
        and _is_time(at)
    )
    if not sound:
        raise ValueError(f"act {number} is none that ohmbook writes")
    return Act(number, at, who, kind, words, back, beside == "1", bytes.fromhex(digest))


def _entry(number: int, row: Sequence[str]) -> Entry:
    ident, act, board, section, key, base, body = row
    found = Entry(number, _number(act), Subject(board, section, key), _number(base), body or None)
    if ident != str(number) or found.base >= number or not _is_sound(found):
        raise ValueError(f"entry {number} is none that ohmbook writes")
    return found


def _is_sound(entry: Entry) -> bool:
    board, section, key = entry.subject
    if not is_board_name(board) or section not in (*WHOLE, *NAMED, READINGS, BOARD, ATTACHMENTS):
        return False
    if (section in WHOLE or section == BOARD) != (key == ""):
        return False
    if section == READINGS and not (_NUMBER.fullmatch(key) and int(key) <= entry.id):
        return False
    if section == ATTACHMENTS and key != safe_name(key):
        return False
    if entry.body is None:
        return True
    try:
        value = from_body(entry.body)
    except (ValueError, TypeError, RecursionError):
        return False
    if section == ATTACHMENTS:
        return _is_attachment(value)
    return isinstance(value, _SHAPES.get(section, dict))


def _is_attachment(value: Any) -> bool:
    if not isinstance(value, dict) or not {"sha256", "type", "size"} <= set(value):
        return False
    to = value.get("to", [PARTS, ""])
    return (
        set(value) <= {"sha256", "type", "size", "to", "note"}
        and re.fullmatch("[0-9a-f]{64}", str(value["sha256"])) is not None
        and isinstance(value["type"], str)
        and type(value["size"]) is int
        and 0 < value["size"] <= MOST_BYTES
        and isinstance(value.get("note", ""), str)
        and isinstance(to, list)
        and len(to) == 2
        and to[0] in (PARTS, READINGS)
        and isinstance(to[1], str)
    )


def _number(text: str) -> int:
    if not _NUMBER.fullmatch(text):
        raise ValueError(f'"{text[:20]}" is no number')
    return int(text)


def _is_time(text: str) -> bool:
    try:
        return datetime.datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False
