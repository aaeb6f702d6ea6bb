"""Nothing unsound gets into a notebook: each change is checked against what stands there.

A board may be half drawn (an end that leads nowhere is told when it is settled). What is refused
is a thing unsound by itself, and a reading that refers to what is not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, count
from typing import Any

from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.notebook.boards import Kept, plain
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import BOARD, NAMED, PARTS, READINGS, WHOLE, Subject
from ohmbook.notebook.ledger import View
from ohmbook.notebook.naming import Names
from ohmbook.notebook.together import belong_together, check_together
from ohmbook.sheet.names import one_name_space, part_names
from ohmbook.sheet.read import check_alone, check_reading, draft_of, reading_problems

SHEET = (*WHOLE, *NAMED, READINGS)


class Checker:
    """Checks changes; keeps the boards' drafts while nothing on them but readings changes."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._drafts: dict[str, tuple[tuple[int, ...], Sheet]] = {}
        self._names: dict[str, Names] = {}

    def check(self, view: View, changes: Sequence[Change]) -> None:
        """Check what is to be written.

        Raises:
            OhmbookError: what is wrong, and where.
        """
        if belong_together(changes):
            check_together(view, changes, self.file)
            return
        given: dict[str, dict[str, str]] = {}
        for one in changes:
            if one.subject.section == READINGS and one.value is not None:
                self._reading(view, one, given.setdefault(one.subject.board, {}))
            elif one.subject.section in SHEET:
                self._thing(view, one)

    def told_apart(self, view: View, changes: Sequence[Change]) -> list[Change]:
        """The changes, with a name for each new reading whose number another one is called by.

        A reading that was "reading 5" before others were taken back is still called so on a sheet
        that has fewer readings, and in the board made of that sheet.
        """
        found: list[Change] = []
        given: dict[str, list[str]] = {}
        for one in changes:
            board, section, key = one.subject
            if section == READINGS and not key and one.value is not None:
                taken = given.setdefault(board, [])
                names = self._names.setdefault(board, Names(board))
                number = names.number(view, one.subject) + len(taken)
                name, there = one.value.get("name") or f"reading {number}", names.at(view)
                if not one.value.get("name") and (name in there or name in taken):
                    free = (f"reading {k}" for k in count(number + 1))
                    name = next(k for k in free if k not in there and k not in taken)
                    one = replace(one, value={**one.value, "name": name})
                taken.append(name)
            found.append(one)
        return found

    def check_left(self, before: View, after: View, board: str) -> None:
        """Whether readings still find what they refer to, after something was taken away.

        Raises:
            CallError: which do not.
        """
        self._compare(plain(before, board), plain(after, board), board)

    def _thing(self, view: View, change: Change) -> None:
        board, section, key = change.subject
        if change.value is not None:
            value = change.value if section in WHOLE else {key: change.value}
            check_alone({section: value}, file=f"{self.file}, {board}")
            self._name(view, change)
        if change.value is None or section in ("sketch", "defaults"):
            self._left_without(view, change)

    def _name(self, view: View, change: Change) -> None:
        """Whether a thing's name can be one, and is not another thing's."""
        board, section, key = change.subject
        if section not in NAMED:
            return
        other = "sources" if section == PARTS else PARTS
        there = body_of(view, Subject(board, other, key)) if section != "instruments" else None
        beside = {} if there is None else {other: {key: there}}
        seen = draft_of({section: {key: change.value}, **beside})
        wrong = next(chain(part_names(seen), one_name_space(seen)), None)
        if wrong is not None:
            raise CallError(f"{self.file}, {board}: {wrong.message}; nothing was written.")

    def _left_without(self, view: View, change: Change) -> None:
        board, section, key = change.subject
        had = plain(view, board)
        left = dict(had)
        if section in WHOLE:
            left[section] = {} if change.value is None else change.value
        else:
            left[section] = {k: v for k, v in had.get(section, {}).items() if k != key}
        self._compare(had, left, board)

    def _compare(self, had: dict[str, Any], left: dict[str, Any], board: str) -> None:
        before = {one.message for one in reading_problems(draft_of(had))}
        draft = draft_of(left)
        broken = reading_problems(draft)
        first = next((one for one in broken if one.message not in before), None)
        if first is not None:
            name = draft.readings[int(first.key[1])].name
            raise CallError(
                f"{self.file}, {board}: {name} would no longer stand ({first.message}); nothing "
                "was written. Strike or revise it first."
            )

    def _reading(self, view: View, change: Change, given: dict[str, str]) -> None:
        """Check one reading; `given` has the names of those before it in the act, with their keys
        ("" for new ones), and gets this one's."""
        board = change.subject.board
        names = self._names.setdefault(board, Names(board))
        where, named = f"{self.file}, {board}", names.at(view)
        number = names.number(view, change.subject)
        if not change.subject.key:
            number += sum(not key for key in given.values())
        raw = change.value
        name = str(raw.get("name") or f"reading {number}")
        other = named.get(name)
        if name in given or (other is not None and other.entry.subject != change.subject):
            raise CallError(
                f'{where}: there is a reading "{name}" already; nothing was written. Give this '
                "one a name of its own, or none."
            )
        given[name] = change.subject.key
        draft = self._draft(view, board)
        beside = [{**named[one].raw, "name": one} for one in _referred(raw, named)]
        if beside:
            draft = replace(draft, readings=draft_of({"readings": beside}).readings)
        check_reading(draft, {**raw, "name": name}, number, where)

    def _draft(self, view: View, board: str) -> Sheet:
        stand = tuple(
            one.id for section in (*WHOLE, *NAMED) for one in view.standing(board, section)
        )
        kept = self._drafts.get(board)
        if kept is None or kept[0] != stand:
            kept = (stand, draft_of(plain(view, board, with_readings=False)))
            self._drafts[board] = kept
        return kept[1]


def _referred(value: Any, named: Mapping[str, Kept]) -> Iterator[str]:
    """Names of readings that are referred to as "@name", and by those in turn."""
    seen: dict[str, None] = {}
    waiting = [value]
    while waiting:
        one = waiting.pop()
        if isinstance(one, Mapping):
            waiting += one.values()
        elif isinstance(one, list):
            waiting += one
        elif isinstance(one, str) and one[:1] == "@" and one[1:] in named and one[1:] not in seen:
            seen[one[1:]] = None
            waiting.append(named[one[1:]].raw)
    return iter(seen)


def is_board_name(board: str) -> bool:
    """Whether a text can be a board's name."""
    return (
        bool(board)
        and board == board.strip()
        and board.isprintable()
        and not set(board) & set("@:/\\")
    )


def check_board_name(view: View, board: str) -> None:
    """Whether a board's name can be one, and is free.

    Raises:
        CallError: it cannot, or is not.
    """
    if not is_board_name(board) or not board.strip("."):  # dots alone are no place in an address
        raise CallError(
            f'"{board}" cannot be a board\'s name; expected letters, digits, spaces or dashes, '
            'such as "left"'
        )
    if view.head(Subject(board, BOARD, "")) is not None:
        raise CallError(
            f'There is a board "{board}" already, and it was left alone; expected another name.'
        )


def body_of(view: View, subject: Subject) -> Any:
    """The plain values that stand at a subject; None where nothing does."""
    head = view.head(subject)
    return None if head is None or head.body is None else from_body(head.body)
