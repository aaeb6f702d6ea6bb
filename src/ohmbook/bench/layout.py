"""Where each value stands in a state, and which circuits are solved together.

A `Look` is one circuit at one frequency. All looks of a notebook are gathered once by network, so
that each evaluation solves each network once for all its frequencies.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import Sizes
from ohmbook.circuit.network import Id, Network

Index = NDArray[np.intp]

ZERO: Id = ("", "zero")
"""A constant that is 0: fills the place of a cause that a row does not have."""


@dataclass(frozen=True, slots=True)
class Look:
    """A network at one frequency, in hertz, with the causes that shift that frequency.

    `shift` names unknowns whose sum is the relative error of the stated frequency. `absent` names
    values that are 0 in this look (the probe's load at the nodes where it was not), so that looks
    which differ only in that share their network.
    """

    network: Network
    f_hz: float
    shift: tuple[Id, ...] = ()
    absent: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """All looks at one network, g of them, of p patterns of absence at c frequencies.

    Args:
        network: what is solved.
        f_hz: stated frequency of each look, Hz, shape (g,).
        shifts: columns of the causes that shift each look's frequency, each of shape (g,).
        known: the network's ids that have a value, k of them.
        columns: where their values stand, shape (k,).
        unknown: which of them are unknowns, u indices into `known`.
        rows: where those stand among the network's ids, shape (u,).
        by_log: whether slopes come by ln of the value (all but loss exponents), same shape.
        turns: the u unknown ids in turns, each with the columns where they stand, such that no
            column stands in one turn twice.
        patterns: 1 where a value is present and 0 where it is absent, shape (p, k).
        pattern: each look's pattern, shape (g,).
        chosen: for each distinct frequency the first look that has it, shape (c,).
        frequency: each look's distinct frequency, shape (g,).
    """

    network: Network
    f_hz: NDArray[np.float64]
    shifts: tuple[NDArray[np.intp], ...]
    known: tuple[Id, ...]
    columns: NDArray[np.intp]
    unknown: NDArray[np.intp]
    rows: NDArray[np.intp]
    by_log: NDArray[np.bool_]
    turns: tuple[tuple[Index, Index], ...]
    patterns: NDArray[np.float64]
    pattern: NDArray[np.intp]
    chosen: NDArray[np.intp]
    frequency: NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """Some looks of a group, r of them.

    Args:
        group: which.
        f_hz: their stated frequencies, Hz, shape (r,).
        present: 1 where a value is present, shape (k, 1, r).
        shifts: for each cause of a shift its columns, shape (r,), and which looks and columns
            have one that is an unknown.
    """

    group: Group
    f_hz: NDArray[np.float64]
    present: NDArray[np.float64]
    shifts: tuple[tuple[Index, Index, Index], ...]

    @classmethod
    def of(cls, group: Group, looks: Index, count: int) -> View:
        """Of a layout with so many unknowns."""
        shifts = []
        for columns in group.shifts:
            here = columns[looks]
            moved = np.flatnonzero(here < count)
            shifts.append((here, moved, here[moved]))
        present = np.ascontiguousarray(group.patterns[group.pattern[looks]].T[:, None, :])
        return cls(group, group.f_hz[looks], present, tuple(shifts))


class Layout:
    """Where each value stands, and which looks are solved together. Immutable once made.

    Args:
        unknowns: ids in the order of the columns of x.
        constants: ids with a fixed value.
        looks: everything that will be looked at, in any order, repeats allowed.
        same: ids that stand for another id's value (a probe's load wherever the probe is).
    """

    def __init__(
        self,
        unknowns: Sequence[Id],
        constants: Mapping[Id, float],
        looks: Sequence[Look],
        same: Mapping[Id, Id] | None = None,
    ) -> None:
        fixed = {**constants, ZERO: 0.0}
        self.count = len(unknowns)
        self._units: dict[bytes, NDArray[np.float64]] = {}
        self._views: dict[tuple[int, bytes], View] = {}
        self._sizes: dict[tuple[int, bytes, bytes], Sizes] = {}
        self._spots: dict[tuple[int, bytes], tuple[tuple[Index, Index], ...]] = {}
        self.index = {one: k for k, one in enumerate([*unknowns, *fixed])}
        self.size = len(self.index)
        self.index |= {one: self.index[other] for one, other in (same or {}).items()}
        self.fixed = np.array(list(fixed.values()))
        networks: dict[Network, list[Look]] = {}
        for look in dict.fromkeys(looks):
            networks.setdefault(look.network, []).append(look)
        self.groups = tuple(self._group(network, found) for network, found in networks.items())
        self.place = {
            look: (g, k)
            for g, found in enumerate(networks.values())
            for k, look in enumerate(found)
        }

    def unit(self, columns: Index) -> NDArray[np.float64]:
        """Slopes of the values in some columns by every unknown: 1 or 0, not to be written to."""
        key = columns.tobytes()
        if key not in self._units:
            unit = np.zeros((columns.size, self.count))
            rows = np.flatnonzero(columns < self.count)
            unit[rows, columns[rows]] = 1.0
            unit.flags.writeable = False
            self._units[key] = unit
        return self._units[key]

    def view(self, group: int, looks: Index) -> View:
        """Some looks of a group."""
        key = (group, looks.tobytes())
        if key not in self._views:
            self._views[key] = View.of(self.groups[group], looks, self.count)
        return self._views[key]

    def sizes(self, group: int, looks: Index, outputs: Index) -> Sizes:
        """One output at each of some looks of a group, for their absolute values alone."""
        key = (group, looks.tobytes(), outputs.tobytes())
        if key not in self._sizes:
            own, view = self.groups[group], self.view(group, looks)
            present = view.present[:, 0, :]
            self._sizes[key] = Sizes(own.network, own.known, present, view.f_hz, outputs)
        return self._sizes[key]

    def spots(self, group: int, owners: Index) -> tuple[tuple[Index, Index], ...]:
        """Rows of slopes by known values in turns, each with the unknowns' columns they go to."""
        key = (group, owners.tobytes())
        if key not in self._spots:
            columns = self.groups[group].columns[owners]
            rows = np.flatnonzero((columns < self.count) & (owners >= 0))
            turns = _turns(columns[rows])
            self._spots[key] = tuple((rows[turn], where) for turn, where in turns)
        return self._spots[key]

    def columns(self, ids: Sequence[Id]) -> NDArray[np.intp]:
        """The column of each id, shape (len(ids),)."""
        return np.array([self.index[one] for one in ids], dtype=np.intp)

    def _group(self, network: Network, looks: list[Look]) -> Group:
        depth = max(len(look.shift) for look in looks)
        padded = [[*look.shift, *[ZERO] * (depth - len(look.shift))] for look in looks]
        ids = network.ids
        known = tuple(one for one in ids if one in self.index)
        columns = self.columns(known)
        unknown = np.flatnonzero(columns < self.count)
        absences, pattern, _ = _distinct([look.absent for look in looks])
        _, frequency, chosen = _distinct([(look.f_hz, look.shift) for look in looks])
        return Group(
            network,
            np.array([look.f_hz for look in looks]),
            tuple(self.columns([row[k] for row in padded]) for k in range(depth)),
            known,
            columns,
            unknown,
            np.array([ids.index(known[k]) for k in unknown], dtype=np.intp),
            np.array([known[k][1] != "loss" for k in unknown], dtype=bool),
            _turns(columns[unknown]),
            np.array([[one not in gone for one in known] for gone in absences], dtype=float),
            pattern,
            chosen,
            frequency,
        )


Thing = TypeVar("Thing", bound=Hashable)


def _turns(columns: Index) -> tuple[tuple[Index, Index], ...]:
    left = np.arange(columns.size)
    found = []
    while left.size:
        _, first = np.unique(columns[left], return_index=True)
        found.append((left[first], columns[left[first]]))
        left = np.delete(left, first)
    return tuple(found)


def _distinct(things: Sequence[Thing]) -> tuple[list[Thing], Index, Index]:
    """The distinct things, each thing's number among them, and where each first stands."""
    number = {one: k for k, one in enumerate(dict.fromkeys(things))}
    found = np.array([number[one] for one in things], dtype=np.intp)
    first = np.array([things.index(one) for one in number], dtype=np.intp)
    return list(number), found, first
