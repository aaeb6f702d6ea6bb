"""Two sheets as one problem: what the bench shares is one unknown, the boards' parts are two.

An instrument or a source that both sheets state in the same words is the same one, and so are its
errors; they cancel in a ratio of two parts by themselves. A part without nodes that both state in
the same words (a load resistor out of the drawer) is the same part. A reading of shared things
only (the source check) that stands in both sheets alike was taken once and counts once.

Where the boards are meant to be alike, each part of the right board is the left one's value times
a ratio believed near 1, and the losses are the same; else every part stands on its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.circuit.network import Id
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.evidence.unknown import Array, Prior, Shape, Unknown

RIGHT = " (right)"
RATIO = "ratio of "
"""Quantity of a right part that stands as a ratio to the left one."""

RESISTANCE_ALIKE = 0.4
"""Spread of the ratio of two like parts' series resistances, on the log scale (common practice,
no source)."""


@dataclass(frozen=True)
class Side:
    """One board's readings, its unknowns under other names; a block of observations.

    Args:
        compiled: the board's own problem.
        names: the outer id of each inner one, in the compiled order; where a value is a ratio
            times another board's value, both ids.
        rows: which rows count.
        mark: put behind each label.
    """

    compiled: Compiled
    names: tuple[tuple[Id, ...], ...]
    rows: NDArray[np.intp]
    mark: str

    @cached_property
    def ids(self) -> tuple[Id, ...]:
        """The outer ids, each once."""
        return tuple(dict.fromkeys(one for pair in self.names for one in pair))

    @property
    def labels(self) -> tuple[str, ...]:
        """One label for each row that counts."""
        return tuple(f"{self.compiled.labels[k]}{self.mark}" for k in self.rows)

    @property
    def observed(self) -> Array:
        """What was read, shape (m,)."""
        return self.compiled.observed[self.rows]

    @property
    def covariance(self) -> Array:
        """Of the rows' own errors, shape (m, m)."""
        return self.compiled.covariance[np.ix_(self.rows, self.rows)]

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """The distribution of each row's own error."""
        return tuple(self.compiled.shapes[k] for k in self.rows)

    def predict(self, x: Array) -> Array:
        """What should be read: outer values, shape (draws, n), give (draws, m)."""
        return self.compiled.predict(self._inner(x))[:, self.rows]

    def jacobian(self, x: Array) -> Array:
        """By the outer values, shape (m, n)."""
        inner = self.compiled.jacobian(self._inner(x[None, :])[0])[self.rows]
        found = np.zeros((len(self.rows), len(self.ids)))
        for k, columns in enumerate(self._columns):
            for turn, column in enumerate(columns):
                others = np.prod([x[c] for t, c in enumerate(columns) if t != turn])
                found[:, column] += inner[:, k] * float(others)
        return found

    def _inner(self, x: Array) -> Array:
        first = x[:, [columns[0] for columns in self._columns]]
        for k, columns in enumerate(self._columns):
            if len(columns) > 1:
                first[:, k] *= x[:, columns[1]]
        return first

    @cached_property
    def _columns(self) -> tuple[tuple[int, ...], ...]:
        place = {one: k for k, one in enumerate(self.ids)}
        return tuple(tuple(place[one] for one in pair) for pair in self.names)


@dataclass(frozen=True)
class Pair:
    """Two boards as one problem.

    Args:
        unknowns: of both, the shared ones once.
        sides: left, right.
        parts: matched by name and kind, with their main quantity.
        shared: instruments, sources and drawer parts that both sheets state alike.
        once: readings that stand in both sheets alike and count once (the left's names).
    """

    unknowns: tuple[Unknown, ...]
    sides: tuple[Side, Side]
    parts: dict[str, str]
    shared: tuple[str, ...]
    once: tuple[str, ...]

    def right(self, one: Id) -> Id:
        """The outer id of something of the right board."""
        return self.sides[1].names[self.sides[1].compiled.ids.index(one)][0]

    def ratio_id(self, name: str) -> Id:
        """The unknown that is a part's ratio, where the boards are meant to be alike."""
        return (f"{name}{RIGHT}", RATIO + self.parts[name])


def pair(
    left: Sheet,
    right: Sheet,
    beliefs: tuple[dict[Id, Prior], dict[Id, Prior]],
    aside: tuple[Sequence[str], Sequence[str]] = ((), ()),
    alike_u: float | None = None,
) -> Pair:
    """Put two sheets together.

    Args:
        left: the first.
        right: the second.
        beliefs: priors that replace the usual ones, for each.
        aside: labels of rows that do not count, for each.
        alike_u: standard uncertainty of a part's ratio to its like, on the log scale; None
            where every part stands on its own.
    """
    shared = _shared(left, right)
    once = _counted_once(left, right, shared)
    kept = [one for one in right.readings if one.name not in once]
    first = compile_sheet(left, beliefs=beliefs[0])
    second = compile_sheet(right, kept, beliefs[1])
    owners = {**{name: name for name in shared}, **once}
    own = {f"{owner}: open" for owner in owners}
    parts = _matched(left, right)
    parts = {n: q for n, q in parts.items() if (n, q) in first.ids and (n, q) in second.ids}
    names = [_outer(one, owners, shared) for one in second.ids]
    if alike_u is not None:
        names = [
            _alike(one, name[0], first.ids, parts)
            for one, name in zip(second.ids, names, strict=True)
        ]
    sides = (
        Side(first, tuple((one,) for one in first.ids), _rows(first, {*aside[0]}), ""),
        Side(second, tuple(names), _rows(second, {*aside[1], *own}), RIGHT),
    )
    unknowns = {one.id: one for one in first.unknowns}
    for unknown, name in zip(second.unknowns, names, strict=True):
        prior = unknown.prior
        if len(name) > 1:
            assert alike_u is not None
            main = unknown.id[1] == parts.get(unknown.id[0])
            prior = Prior(0.0, alike_u if main else RESISTANCE_ALIKE)
        unknowns.setdefault(name[0], replace(unknown, id=name[0], prior=prior))
    here = tuple(one for one in parts if (one, parts[one]) in first.ids)
    return Pair(
        tuple(unknowns.values()),
        sides,
        {n: parts[n] for n in here if n not in shared},
        shared,
        tuple(once.values()),
    )


def _rows(compiled: Compiled, dropped: set[str]) -> NDArray[np.intp]:
    kept = [k for k, label in enumerate(compiled.labels) if label not in dropped]
    return np.array(kept, dtype=np.intp)


def _matched(left: Sheet, right: Sheet) -> dict[str, str]:
    """Parts of both boards with the same name and kind, and their main quantity."""
    return {
        name: MAIN_QUANTITY[part.kind]
        for name, part in left.parts.items()
        if name in right.parts and right.parts[name].kind == part.kind != "driver"
    }


def _shared(left: Sheet, right: Sheet) -> tuple[str, ...]:
    """What both sheets state in the same words, and is therefore the same thing."""
    tables: list[tuple[Mapping[str, object], Mapping[str, object]]] = [
        (left.instruments, right.instruments),
        (left.sources, right.sources),
        (_drawer(left), _drawer(right)),
    ]
    return tuple(
        name for one, other in tables for name, said in one.items() if other.get(name) == said
    )


def _drawer(sheet: Sheet) -> dict[str, object]:
    """Parts off the board with a stated value; where there is no board at all, none."""
    if not any(part.between for part in sheet.parts.values()):
        return {}
    return {
        name: part
        for name, part in sheet.parts.items()
        if part.between is None and part.stated is not None and part.kind != "driver"
    }


def _counted_once(left: Sheet, right: Sheet, shared: Sequence[str]) -> dict[str, str]:
    """Right readings of shared things that stand in the left sheet alike: their names there."""
    found: dict[str, str] = {}
    for reading in right.readings:
        if reading.struck is not None or not _of_the_bench(reading, shared):
            continue
        for other in left.readings:
            if _said(other) == _said(reading) and other.name not in found.values():
                found[reading.name] = other.name
                break
    return found


def _of_the_bench(reading: ReadingBase, shared: Sequence[str]) -> bool:
    """Whether a reading speaks of shared instruments, sources and drawer parts only."""
    named = reading.references()
    return bool(named) and all(
        one.noun in ("source", "instrument", "part") and one.name in shared for one in named
    )


def _said(reading: ReadingBase) -> ReadingBase:
    return reading.model_copy(update={"name": "", "note": None, "date": None})


def _outer(one: Id, owners: Mapping[str, str], shared: Sequence[str]) -> tuple[Id, ...]:
    """The outer id of one of the right board's: the left's own where the thing is shared."""
    owner, quantity = one
    if owner in owners:
        return ((owners[owner], quantity),)
    for name in shared:
        if owner == f"{name}'s probe":
            return (one,)
    return ((f"{owner}{RIGHT}", quantity),)


def _alike(one: Id, outer: Id, left: Sequence[Id], parts: Mapping[str, str]) -> tuple[Id, ...]:
    """A right part's quantity as a ratio to the left's, its losses as the left's own."""
    name, quantity = one
    if name not in parts or one not in left or outer == one:
        return (outer,)
    if quantity == "loss":
        return (one,)
    return ((outer[0], RATIO + quantity), one)
