"""Which column is the axis, which belong to it, and what must be asked because nothing says so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ohmbook.captures.capture import Floats, Question
from ohmbook.captures.labels import Column, Labels
from ohmbook.captures.metadata import Stated
from ohmbook.captures.unitwords import UnitWord, heading
from ohmbook.errors import CaptureError

_CHANNEL = re.compile(r"^(ch|chan|channel|c)[ _-]?([1-8]|[a-h])\b", re.IGNORECASE)
_FEWEST_COUNTED = 8
AXES = ("time", "frequency", "index")


@dataclass(frozen=True, slots=True)
class Block:
    """One axis and its channels. `axis` is None where the file has no such column."""

    axis: Column | None
    quantity: str
    channels: tuple[Column, ...]
    stated: Stated
    why: str


@dataclass(frozen=True, slots=True)
class Table:
    """All columns of a file, with their numbers and what is stated beside each."""

    columns: tuple[Column, ...]
    named: bool
    values: Floats
    stated: tuple[Stated, ...]

    def of(self, column: Column) -> Floats:
        """A column's numbers."""
        return self.values[:, [one.cell for one in self.columns].index(column.cell)]


def answered_columns(name: str, labels: Labels, answer: str) -> Labels:
    """The headings as a person gave them: "time/us, CH1/V, -"; "-" leaves a column out."""
    if not answer:
        return labels
    words = [word.strip() for word in answer.split(",")]
    if len(words) != len(labels.columns):
        raise CaptureError(
            name,
            f"there are {len(labels.columns)} columns, and the answer names {len(words)}",
            'expected one name for each, such as columns = "time/us, CH1/V, -"',
        )
    found = []
    for column, word in zip(labels.columns, words, strict=True):
        read = heading(word)
        found.append(Column(column.cell, read.name or word, read.unit, read.unit_text))
    return Labels(tuple(found), True)


def blocks(table: Table, answers: Mapping[str, str]) -> tuple[list[Block], list[Question]]:
    """The blocks of a table, and what must be asked before they can be told."""
    used = [column for column in table.columns if column.name != "-"]
    starts = [k for k, one in enumerate(used) if one.role in AXES]
    if table.named and starts:
        return _merged(table, [_block(table, part) for part in _parts(used, starts)]), []
    groups = _groups(used)
    if all(len(group) >= 2 for group in groups):
        found = [_unnamed(table, group, answers) for group in groups]
        if all(one is not None for one in found):
            return _merged(table, [one for one in found if one is not None]), []
    if len(used) == 1 or _has_interval(table, used) or all(_CHANNEL.match(c.name) for c in used):
        return [Block(None, "index", tuple(used), table.stated[0], "no column of time")], []
    return [], [columns_question(used)]


def with_row_numbers(table: Table) -> Table:
    """A named first column that only counts the rows by one is their index, whatever its name."""
    first, *others = table.columns
    counts = table.of(first)[np.isfinite(table.of(first))]
    if (
        not (table.named and others)
        or first.role != "channel"
        or first.unit is not None
        or _CHANNEL.match(first.name)
        or first.name == "-"
        or len(counts) < _FEWEST_COUNTED
        or not np.all(np.diff(counts) == 1.0)
    ):
        return table
    return replace(table, columns=(replace(first, name="index"), *others))


def columns_question(columns: Sequence[Column]) -> Question:
    """What the columns are, where nothing says so."""
    return Question(
        "columns",
        f"nothing says what the {len(columns)} columns are",
        (),
        'columns = "time/s, CH1/V" or "frequency/Hz, magnitude/ohm, phase/deg"; "-" leaves one out',
    )


def _parts(used: Sequence[Column], starts: list[int]) -> list[list[Column]]:
    """Each axis with the channels behind it; channels in front of the first belong to it too."""
    order = [k for k in starts if used[k].role != "index"] or starts[:1]
    axes = [used[k] for k in order]
    # an index beside a time column, or beside a frequency column, is only a row number
    left = [one for one in used if one.role != "index" or one in axes]
    if len(axes) == 1:
        return [[axes[0], *(one for one in left if one is not axes[0])]]
    cuts = [left.index(one) for one in axes] + [len(left)]
    cuts[0] = 0
    return [list(left[a:b]) for a, b in pairwise(cuts)]


def _block(table: Table, part: list[Column]) -> Block:
    axis = next(one for one in part if one.role in AXES)
    channels = tuple(one for one in part if one is not axis)
    at = [one.cell for one in table.columns].index(axis.cell)
    return Block(axis, axis.role, channels, table.stated[at], "its heading")


def _groups(used: Sequence[Column]) -> list[list[Column]]:
    """Columns that stand side by side without a gap."""
    groups: list[list[Column]] = []
    for one in used:
        if groups and one.cell == groups[-1][-1].cell + 1:
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _unnamed(table: Table, group: list[Column], answers: Mapping[str, str]) -> Block | None:
    """A block whose headings name no axis, by what is stated beside it or by an answer."""
    first, *channels = group
    at = [one.cell for one in table.columns].index(first.cell)
    stated = table.stated[at]
    horizontal = stated.horizontal()
    quantity = answers.get("axis", "")
    if quantity in AXES:
        why = "as answered"
    elif horizontal is not None and horizontal.unit in ("s", "Hz"):
        quantity, why = {"s": "time", "Hz": "frequency"}[horizontal.unit], "the stated unit"
    elif _steps_as_stated(table.of(first), stated):
        quantity, why = "time", "its steps are the stated interval"
    else:
        return None
    axis = (
        first
        if first.unit is not None or horizontal is None
        else replace(first, unit=horizontal, unit_text=horizontal.unit)
    )
    names = _source_names(stated)
    found = []
    for k, one in enumerate(channels):
        unit = one.unit or stated.vertical(k)
        found.append(replace(one, name=one.name or names.get(k, ""), unit=unit))
    return Block(axis, quantity, tuple(found), stated, why)


def _source_names(stated: Stated) -> dict[int, str]:
    found = stated.first(re.compile(r"^(source|channel|trace)$", re.IGNORECASE))
    return dict(enumerate(found[1])) if found else {}


def _steps_as_stated(values: Floats, stated: Stated) -> bool:
    interval = stated.interval_s()
    if not interval or len(values) < 3:
        return False
    step = float(np.median(np.diff(values)))
    return abs(step / interval - 1.0) < 0.02


def _has_interval(table: Table, used: Sequence[Column]) -> bool:
    """Whether the file states an interval in place of a time column."""
    if table.stated[0].interval_s() is None:
        return False
    return not table.named or all(one.role == "channel" for one in used)


def _merged(table: Table, found: list[Block]) -> list[Block]:
    """Blocks on the same axis as one."""
    merged = [found[0]]
    for one in found[1:]:
        last = merged[-1]
        same = (
            last.axis is not None
            and one.axis is not None
            and last.quantity == one.quantity
            and last.axis.unit == one.axis.unit
            and np.array_equal(table.of(last.axis), table.of(one.axis), equal_nan=True)
        )
        if same:
            merged[-1] = replace(last, channels=(*last.channels, *one.channels))
        else:
            merged.append(one)
    return merged


def unit_of(column: Column, stated: Stated, number: int) -> UnitWord | None:
    """A channel's unit: its heading's, or the stated one."""
    return column.unit if column.unit is not None else stated.vertical(number)
