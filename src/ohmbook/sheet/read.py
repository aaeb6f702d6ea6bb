"""A sheet's text to a checked Sheet; every fault with its line and what was expected."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from ohmbook.documents.reading import Place, Problem, Sheet
from ohmbook.documents.table import row_offsets
from ohmbook.errors import CallError, OhmbookError, SheetError
from ohmbook.sheet.build import Kinds, build
from ohmbook.sheet.checks import check_sheet
from ohmbook.sheet.fill import filled, named
from ohmbook.sheet.lines import Key, Lines
from ohmbook.sheet.load import checked_text, load_text
from ohmbook.sheet.near import printable
from ohmbook.sheet.syntax import parse
from ohmbook.sheet.waiting import without_waiting
from ohmbook.sheet.words import told

_NOUNS = {"parts": "part", "sources": "source", "instruments": "instrument"}


def read_sheet(
    path: str | os.PathLike[str] | None = None,
    *,
    text: str | None = None,
    kinds: Kinds | None = None,
    file: str = "sheet",
) -> Sheet:
    """Read and check a bench sheet.

    Args:
        path: the file, or "-" for standard input.
        text: the sheet's text, instead of a file.
        kinds: the reading kinds that exist; by default those of the bench.
        file: what to call a `text` in messages.

    Returns:
        The sheet, every reference in it checked, names, nodes, sources and instruments filled in.

    Raises:
        SheetError: the sheet is at fault: file, line, what was found and what was expected.
        CallError: not exactly one of `path` and `text` is given.
    """
    if (path is None) == (text is None):
        raise CallError("read_sheet needs a path or a text, one of the two")
    if path is not None:
        file, text = load_text(path)
    else:
        text = checked_text(file, text or "")
    raw, lines = parse(file, text)
    return replace(sheet_of(raw, kinds=kinds, file=file, lines=lines), text=text)


def sheet_of(
    raw: dict[str, Any],
    *,
    kinds: Kinds | None = None,
    file: str = "sheet",
    lines: Lines | None = None,
) -> Sheet:
    """A checked sheet of plain values.

    Args:
        raw: as the TOML parser gives them.
        kinds: the reading kinds that exist; by default those of the bench.
        file: what to call them in messages.
        lines: where everything stands; without it messages name no line.

    Raises:
        SheetError: what is wrong, and where.
    """
    raw, lines, waiting = without_waiting(raw, lines or Lines({}, {}))
    teller = _Teller(file, raw, lines)
    draft, problems = build(raw, bench_kinds() if kinds is None else kinds)
    teller.refuse(problems)
    return _checked(replace(named(draft), file=file, waiting=tuple(waiting)), teller)


def check_alone(raw: dict[str, Any], *, file: str, kinds: Kinds | None = None) -> None:
    """Whether each thing among plain values is sound by itself; references are not looked at.

    Raises:
        SheetError: what is wrong, and where.
    """
    raw, lines, _ = without_waiting(raw, Lines({}, {}))
    teller = _Teller(file, raw, lines)
    teller.refuse(build(raw, bench_kinds() if kinds is None else kinds)[1])


def draft_of(raw: dict[str, Any], kinds: Kinds | None = None) -> Sheet:
    """A sheet's documents as they stand, with nothing checked across them.

    Args:
        raw: plain values, each of them sound by itself.
        kinds: the reading kinds that exist; by default those of the bench.
    """
    raw, _, waiting = without_waiting(raw, Lines({}, {}))
    draft, _ = build(raw, bench_kinds() if kinds is None else kinds)
    return replace(named(draft), waiting=tuple(waiting))


def reading_problems(draft: Sheet) -> list[Problem]:
    """What is wrong with the readings of a draft, seen with all the rest of it."""
    found = [one for one in check_sheet(draft) if one.key[:1] == ("readings",)]
    whole = filled(draft)
    return found or list(_without_source(whole)) or list(_own_problems(whole))


def _without_source(sheet: Sheet) -> Iterator[Problem]:
    """Readings whose source, chosen under [defaults], is not there (yet)."""
    for index, reading in enumerate(sheet.readings):
        if reading.uses_source and reading.source and reading.source not in sheet.sources:
            yield Problem(
                ("readings", index),
                f'its source is "{reading.source}", by [defaults], and there is none of that name; '
                f"write [sources.{reading.source}] first",
            )


def check_reading(draft: Sheet, raw: dict[str, Any], number: int, file: str) -> None:
    """Whether one more reading is sound, with all the rest of a draft.

    Args:
        draft: the board, with the readings that this one refers to.
        raw: the reading's plain values; it has a name.
        number: which reading it is, from 1, for messages.
        file: what to call the board in messages.

    Raises:
        SheetError: what is wrong, and where.
    """
    key, called = number - 1, f"reading {number}"
    stated = {k: v for k, v in raw.items() if (k, v) != ("name", called)}
    teller = _Teller(file, {"readings": {key: stated}}, Lines({}, {}))

    def refuse(problems: Iterable[Problem], index: int) -> None:
        own = [one for one in problems if one.key[:2] == ("readings", index)]
        teller.refuse(replace(one, key=("readings", key, *one.key[2:])) for one in own)

    left, _, waits = without_waiting({"readings": [raw]}, Lines({}, {}))
    made, problems = build(left, bench_kinds())
    refuse(problems, 0)
    if waits:
        return  # it is checked once it is filled in
    whole = replace(draft, readings=(*draft.readings, *named(made).readings))
    refuse(reading_problems(whole), len(draft.readings))


def bench_kinds() -> Kinds:
    """The reading kinds that the bench has."""
    from ohmbook.bench.kinds import KINDS  # heavy, and not needed where kinds are given

    return KINDS


def _checked(draft: Sheet, teller: _Teller) -> Sheet:
    teller.refuse(check_sheet(draft))
    sheet = replace(filled(draft), places=teller.places(draft))
    teller.refuse(_own_problems(sheet))
    return sheet


def _own_problems(sheet: Sheet) -> Iterator[Problem]:
    """What each reading's kind finds wrong with it; one that is struck may be as wrong as it is."""
    for index, reading in enumerate(sheet.readings):
        if reading.struck is not None:
            continue
        try:
            found = list(reading.check(sheet))
        except OhmbookError as error:
            found = [told(error, ())]
        for one in found:
            yield replace(one, key=("readings", index, *one.key))


class _Teller:
    """Knows where everything stands, and refuses a sheet that has problems."""

    def __init__(self, file: str, raw: dict[str, Any], lines: Lines) -> None:
        self.file = file
        self.raw = raw
        self.lines = lines

    def refuse(self, problems: Iterable[Problem]) -> None:
        """Raise one error that lists the problems, in the order of their lines."""
        errors = {str(one): one for one in map(self._error, problems)}
        listed = sorted(errors.values(), key=lambda one: one.line or 0)
        if listed:
            first, others = listed[0], tuple(listed[1:])
            raise SheetError(self.file, first.line, first.message, first.where, others)

    def places(self, sheet: Sheet) -> dict[tuple[str, str], Place]:
        """Where each named thing of the sheet stands."""
        found = {(group, name): (group, name) for group in _NOUNS for name in getattr(sheet, group)}
        keys: dict[tuple[str, str], Key] = dict(found)
        for index, one in enumerate(sheet.readings):
            keys["readings", one.name] = ("readings", index)
        return {name: Place(self.file, self.lines.of(key)) for name, key in keys.items()}

    def _error(self, problem: Problem) -> SheetError:
        message, where = printable(problem.message), printable(self._where(problem))
        return SheetError(self.file, self._line(problem), message, where)

    def _line(self, problem: Problem) -> int | None:
        if problem.row is None:
            return self.lines.of(problem.key)
        text = self._value(problem.key)
        offsets = row_offsets(text) if isinstance(text, str) else ()
        if problem.row >= len(offsets):
            return self.lines.of(problem.key)
        return self.lines.of_row(problem.key, offsets[problem.row])

    def _where(self, problem: Problem) -> str:
        words = self._words(problem.key)
        if problem.row is not None:
            words.append(f"row {problem.row}" if problem.row else "headings")
        if problem.column:
            words.append(f"column {problem.column}")
        return ", ".join(words)

    def _words(self, key: Key) -> list[str]:
        head, rest = key[:2], key[2:]
        if len(key) < 2:
            return []
        if head[0] == "readings":
            name = self._value((*head, "name"))
            called = f' ("{name}")' if isinstance(name, str) else ""
            words = [f"reading {int(head[1]) + 1}{called}"]
        elif head[0] in _NOUNS:
            words = [f"{_NOUNS[str(head[0])]} {head[1]}"]
        else:
            words, rest = [f"[{head[0]}]"], key[1:]
        within = ".".join(step for step in rest if isinstance(step, str))
        return [*words, within] if within else words

    def _value(self, key: Key) -> Any:
        found: Any = self.raw
        for step in key:
            try:
                found = found[step]
            except (KeyError, IndexError, TypeError):
                return None
        return found
