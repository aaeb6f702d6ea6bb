"""Changes that belong together checked together: a part that comes with its readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ohmbook.documents.reading import Problem, Sheet
from ohmbook.errors import CallError
from ohmbook.notebook.boards import plain, reading_subjects, readings
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import BOARD, NAMED, PARTS, READINGS, WHOLE
from ohmbook.notebook.ledger import View
from ohmbook.sheet.names import one_name_space, part_names
from ohmbook.sheet.read import check_alone, draft_of, reading_problems


def check_together(view: View, changes: Sequence[Change], file: str) -> None:
    """Whether every board that is written on is as sound afterwards as it was.

    Args:
        view: what stands there.
        changes: what is to be written, on one board or several.
        file: what to call the notebook.

    Raises:
        SheetError: something is unsound by itself.
        CallError: a reading would refer to what is not there, or contradict what is.
    """
    for board in dict.fromkeys(one.subject.board for one in changes):
        own = [one for one in changes if one.subject.board == board]
        where = f"{file}, {board}"
        check_alone(_raw_of(own), file=where)
        before = {one.message for one in _problems(draft_of(_after(view, board, ())))}
        draft = draft_of(_after(view, board, own))
        new = (one for one in _problems(draft) if one.message not in before)
        wrong = next(new, None)
        if wrong is not None:
            name = str(wrong.key[1])
            if wrong.key[0] == READINGS:
                name = draft.readings[int(name)].name
            raise CallError(f"{where}, {name}: {wrong.message}; nothing was written.")


def _problems(draft: Sheet) -> list[Problem]:
    return [*part_names(draft), *one_name_space(draft), *reading_problems(draft)]


def belong_together(changes: Sequence[Change]) -> bool:
    """Whether one change can rest on another: a reading on a new part, or on a reading beside it,
    or the nodes of a part, which it may tell itself or the sketch for it.

    Args:
        changes: of one act.
    """
    if {"sketch", PARTS} <= {one.subject.section for one in changes}:
        return True
    readings = [one for one in changes if one.subject.section == READINGS and one.value]
    if not readings or len(changes) < 2:
        return False
    names = {f"@{one.value['name']}" for one in readings if one.value.get("name")}
    return len(readings) < len(changes) or any(
        isinstance(value, str) and value in names
        for one in readings
        for value in one.value.values()
    )


def _raw_of(changes: Sequence[Change]) -> dict[str, Any]:
    """What is written, as a piece of a sheet."""
    found: dict[str, Any] = {}
    for one in changes:
        _, section, key = one.subject
        if one.value is None or section == BOARD:
            continue
        if section in WHOLE:
            found[section] = one.value
        elif section in NAMED:
            found.setdefault(section, {})[key] = one.value
        elif section == READINGS:
            found.setdefault(section, []).append(one.value)
    return found


def _after(view: View, board: str, changes: Sequence[Change]) -> dict[str, Any]:
    """A board's plain values once changes are written, every reading with its name."""
    raw = plain(view, board, with_readings=False)
    listed: dict[Any, Any] = {
        one.entry.subject: _named(one.raw, one.number) for one in readings(view, board)
    }
    ever = {one: k for k, one in enumerate(reading_subjects(view, board), 1)}
    for one in changes:
        _, section, key = one.subject
        if section == READINGS:
            subject: Any = one.subject if key else len(ever) + 1
            number = ever.setdefault(subject, len(ever) + 1)
            listed[subject] = None if one.value is None else _named(one.value, number)
        elif section in NAMED:
            raw[section] = {**raw.get(section, {}), key: one.value}
        elif section in WHOLE:
            raw[section] = one.value
    for section in NAMED:
        raw[section] = {k: v for k, v in raw.get(section, {}).items() if v is not None}
    left = {k: v for k, v in raw.items() if v is not None}
    return {**left, READINGS: [one for one in listed.values() if one is not None]}


def _named(raw: dict[str, Any], number: int) -> dict[str, Any]:
    return {**raw, "name": raw.get("name") or f"reading {number}"}
