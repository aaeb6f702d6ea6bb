"""A second road: nodal analysis with branch currents, dense, one matrix a draw and frequency.

Modified nodal analysis after Ho, Ruehli and Brennan (IEEE Trans. CAS 22, 1975); written for the
tests alone, it shares nothing with the circuit room but the nouns. Ideal R, L and C with a series
resistance; no loss exponent, no winding capacitance, no shorts and opens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import Branch, Id, Network

Values = Mapping[Id, "float | NDArray[np.float64]"]


@dataclass(frozen=True)
class Answer:
    transfer: NDArray[np.complex128]
    input_impedance: NDArray[np.complex128]


def respond(network: Network, values: Values, f_hz: NDArray[np.float64]) -> Answer:
    """Transfers (probes, draws, m) from the EMF, and terminals' impedance (draws, m)."""
    draws = max([1, *(np.size(one) for one in values.values())])
    nodes = _nodes(network)
    size = len(nodes) + len(network.branches) + 1
    matrix = np.zeros((draws, f_hz.size, size, size), np.complex128)
    for k, branch in enumerate(network.branches):
        row = len(nodes) + k
        _stamp(matrix, nodes, branch.ends, row)
        matrix[:, :, row, row] = -_impedance(branch, values, draws, f_hz)
    row = size - 1
    _stamp(matrix, nodes, network.drive.ends, row)
    owner = network.drive.owner
    source = 0.0 if owner is None else np.asarray(values[(owner, "resistance")])
    matrix[:, :, row, row] = -np.broadcast_to(source, (draws,))[:, None]
    excitation = np.zeros((draws, f_hz.size, size, 1), np.complex128)
    excitation[:, :, row] = 1.0
    solved = np.linalg.solve(matrix, excitation)[..., 0]

    def across(a: str, b: str) -> NDArray[np.complex128]:
        total = np.zeros((draws, f_hz.size), np.complex128)
        for node, sign in ((a, 1.0), (b, -1.0)):
            if node in nodes:
                total += sign * solved[:, :, nodes[node]]
        return total

    transfer = np.array([across(*probe) for probe in network.probes])
    return Answer(transfer, across(*network.drive.ends) / -solved[:, :, row])


def _nodes(network: Network) -> dict[str, int]:
    datum = network.drive.ends[1]
    names = {n for b in network.branches for n in b.ends} | {network.drive.ends[0]}
    return {name: k for k, name in enumerate(sorted(names - {datum}))}


def _stamp(
    matrix: NDArray[np.complex128], nodes: dict[str, int], ends: tuple[str, str], row: int
) -> None:
    for node, sign in zip(ends, (1.0, -1.0), strict=True):
        if node in nodes:
            matrix[:, :, row, nodes[node]] += sign
            matrix[:, :, nodes[node], row] += sign


def _impedance(
    branch: Branch, values: Values, draws: int, f_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    def column(quantity: str) -> NDArray[np.float64]:
        value = np.asarray(values.get((branch.owner, quantity), 0.0), dtype=np.float64)
        return np.broadcast_to(value, (draws,))[:, None]

    s = 2j * np.pi * f_hz[None, :]
    if branch.element == "inductor":
        return np.asarray(column("resistance") + s * column("inductance"))
    if branch.element == "capacitor":
        return np.asarray(column("resistance") + 1.0 / (s * column("capacitance")))
    return np.asarray(column("resistance") + 0.0 * s)
