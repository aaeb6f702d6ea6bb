"""Where each value stands in a state, and which circuits are solved together.

A `Look` is one circuit at one frequency. All looks of a notebook are gathered once by network, so
that each evaluation solves each network once for all its frequencies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import Id, Network

ZERO: Id = ("", "zero")
"""A constant that is 0: fills the place of a cause that a row does not have."""


@dataclass(frozen=True, slots=True)
class Look:
    """A network at one frequency, in hertz, with the causes that shift that frequency.

    `shift` names unknowns whose sum is the relative error of the stated frequency.
    """

    network: Network
    f_hz: float
    shift: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """All looks at one network, of g frequencies.

    Args:
        network: what is solved.
        f_hz: stated frequencies, Hz, shape (g,).
        shifts: columns of the causes that shift each frequency, each of shape (g,).
        known: the network's ids that have a value, k of them.
        columns: where their values stand, shape (k,).
        unknown: which of them are unknowns, indices into `known`.
        rows: where those stand among the network's ids, the same shape.
        by_log: whether slopes come by ln of the value (all but loss exponents), same shape.
    """

    network: Network
    f_hz: NDArray[np.float64]
    shifts: tuple[NDArray[np.intp], ...]
    known: tuple[Id, ...]
    columns: NDArray[np.intp]
    unknown: NDArray[np.intp]
    rows: NDArray[np.intp]
    by_log: NDArray[np.bool_]


class Layout:
    """Where each value stands, and which looks are solved together. Immutable once made.

    Args:
        unknowns: ids in the order of the columns of x.
        constants: ids with a fixed value.
        looks: everything that will be looked at, in any order, repeats allowed.
    """

    def __init__(
        self, unknowns: Sequence[Id], constants: Mapping[Id, float], looks: Sequence[Look]
    ) -> None:
        fixed = {**constants, ZERO: 0.0}
        self.count = len(unknowns)
        self.index = {one: k for k, one in enumerate([*unknowns, *fixed])}
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
        return Group(
            network,
            np.array([look.f_hz for look in looks]),
            tuple(self.columns([row[k] for row in padded]) for k in range(depth)),
            known,
            columns,
            unknown,
            np.array([ids.index(known[k]) for k in unknown], dtype=np.intp),
            np.array([known[k][1] != "loss" for k in unknown], dtype=bool),
        )
