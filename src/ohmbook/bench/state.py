"""The state that predictions are made from: values of all unknowns, and every circuit solved.

A `Look` is one circuit at one frequency. All looks of a notebook are gathered once by network, so
that each evaluation solves each network once for all its frequencies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.jet import Jet
from ohmbook.circuit import respond, slopes
from ohmbook.circuit.network import Id, Network

Complex = NDArray[np.complex128]

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
class _Group:
    network: Network
    f_hz: NDArray[np.float64]
    shifts: tuple[NDArray[np.intp], ...]
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    unknown: NDArray[np.intp]
    exponent: NDArray[np.float64]


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
        self.look_index = {look: k for k, look in enumerate(dict.fromkeys(looks))}
        networks: dict[Network, list[Look]] = {}
        for look in self.look_index:
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

    def _group(self, network: Network, looks: list[Look]) -> _Group:
        depth = max(len(look.shift) for look in looks)
        padded = [[*look.shift, *[ZERO] * (depth - len(look.shift))] for look in looks]
        known = [one for one in network.ids if one in self.index]
        columns = self.columns(known)
        return _Group(
            network,
            np.array([look.f_hz for look in looks]),
            tuple(self.columns([row[k] for row in padded]) for k in range(depth)),
            np.array([network.ids.index(one) for one in known], dtype=np.intp),
            columns,
            np.flatnonzero(columns < self.count),
            np.array([0.0 if one[1] == "loss" else 1.0 for one in known]),
        )


class State:
    """All values at hand, and every network's answer, solved when first asked for.

    Args:
        layout: where things stand.
        x: shape (draws, n), natural units.
        with_slopes: carry derivatives; then draws must be 1.
    """

    def __init__(self, layout: Layout, x: NDArray[np.float64], with_slopes: bool) -> None:
        self.layout = layout
        self.with_slopes = with_slopes
        fixed = np.broadcast_to(layout.fixed, (x.shape[0], layout.fixed.size))
        self.z = np.concatenate([x, fixed], axis=1)
        self._solved: dict[int, tuple[list[Jet], Jet]] = {}

    def take(self, columns: NDArray[np.intp]) -> Jet:
        """The values that stand in these columns."""
        value = self.z[:, columns]
        if not self.with_slopes:
            return Jet(value)
        slope = np.zeros((columns.size, self.layout.count))
        rows = np.flatnonzero(columns < self.layout.count)
        slope[rows, columns[rows]] = 1.0
        return Jet(value, slope)

    def transfer(self, group: int, probe: int) -> Jet:
        """Voltage at a probe over EMF, complex, at all looks of one group."""
        return self._solve(group)[0][probe]

    def impedance(self, group: int) -> Jet:
        """Input impedance in ohm, complex, at all looks of one group."""
        return self._solve(group)[1]

    def _solve(self, number: int) -> tuple[list[Jet], Jet]:
        if number not in self._solved:
            group = self.layout.groups[number]
            shift = sum((self.take(columns) for columns in group.shifts), Jet(np.zeros((1, 1))))
            answer = (
                self._with_slopes(group, shift) if self.with_slopes else self._draws(group, shift)
            )
            self._solved[number] = answer
        return self._solved[number]

    def _draws(self, group: _Group, shift: Jet) -> tuple[list[Jet], Jet]:
        values = {
            one: self.z[:, self.layout.index[one]]
            for one in (group.network.ids[row] for row in group.rows)
        }
        f_hz = group.f_hz * (1.0 + shift.value) if group.shifts else group.f_hz
        answer = respond(group.network, values, f_hz)
        draws, count = self.z.shape[0], group.f_hz.size
        return (
            [Jet(np.broadcast_to(one, (draws, count))) for one in answer.transfer],
            Jet(np.broadcast_to(answer.input_impedance, (draws, count))),
        )

    def _with_slopes(self, group: _Group, shift: Jet) -> tuple[list[Jet], Jet]:
        here = self.z[0, group.columns]
        values = {group.network.ids[row]: float(here[k]) for k, row in enumerate(group.rows)}
        f_hz = group.f_hz * (1.0 + shift.value[0]) if group.shifts else group.f_hz
        solved = slopes(group.network, values, f_hz)
        scale = np.where(
            group.exponent > 0, np.divide(1.0, here, out=np.zeros_like(here), where=here != 0), 1.0
        )
        rows, columns = group.rows[group.unknown], group.columns[group.unknown]
        scale = scale[group.unknown]

        def jet(value: Complex, by_log: Complex, by_log_f: Complex) -> Jet:
            slope = np.zeros((group.f_hz.size, self.layout.count), dtype=complex)
            slope[:, columns] = (by_log[rows] * scale[:, None]).T
            if shift.slope is not None:
                slope += by_log_f[:, None] * (shift.slope / (1.0 + shift.value[0])[:, None])
            return Jet(value[None, :], slope)

        answer = solved.response
        probes = [
            jet(one[0], solved.transfer[p], solved.transfer_log_f[p])
            for p, one in enumerate(answer.transfer)
        ]
        entry = jet(answer.input_impedance[0], solved.input_impedance, solved.input_impedance_log_f)
        return probes, entry
