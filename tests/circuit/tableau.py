"""The tests' own road: modified nodal analysis with every branch current, in two arithmetics.

After Ho, Ruehli and Brennan (IEEE Trans. CAS 22, 1975): every branch keeps its current and the
equation n i = d v, so that shorts, opens and values of zero are ordinary. Dense; in double
precision by numpy.linalg.solve, or with as many digits as wanted by mpmath. It shares nothing with
the circuit room but the nouns.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import mpmath
import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import REFERENCE_HZ, Branch, Id, Network

Numbers = Mapping[Id, Any]


def branch_ratio(branch: Branch, values: Numbers, f_hz: Any, pi: Any) -> tuple[Any, Any]:
    """n and d of Z = n/d, by the formulas of `network.Branch`'s elements; f above 0."""

    def of(quantity: str) -> Any:
        return values.get((branch.owner, quantity), 0)

    jw = 2j * pi * f_hz
    if branch.element == "short":
        return 0, 1
    if branch.element == "open":
        return 1, 0
    if branch.element == "resistor":
        return of("resistance"), 1
    if branch.element == "semi-inductor":
        return of("modulus") * jw ** of("exponent"), 1
    fall = (1j * f_hz / REFERENCE_HZ) ** (-of("loss"))
    if branch.element == "inductor":
        coil = of("resistance") + jw * of("inductance") * fall
        return coil, 1 + jw * of("winding_capacitance") * coil
    susceptance = jw * of("capacitance") * fall
    return 1 + of("resistance") * susceptance, susceptance


def _places(network: Network) -> dict[str, int]:
    pairs = [network.drive.ends, *(branch.ends for branch in network.branches)]
    names = {node for pair in pairs for node in pair} - {network.drive.ends[1]}
    return {name: k for k, name in enumerate(sorted(names))}


def _entries(network: Network, values: Numbers, f_hz: Any, pi: Any) -> dict[tuple[int, int], Any]:
    place = _places(network)
    entries: dict[tuple[int, int], Any] = {}

    def put(row: int, ends: tuple[str, str], factor: Any, down: int) -> None:
        for node, sign in zip(ends, (1, -1), strict=True):
            if node in place:
                spot, law = (row, place[node]), (place[node], down)
                entries[spot] = entries.get(spot, 0) + sign * factor
                entries[law] = entries.get(law, 0) + sign

    for k, branch in enumerate(network.branches):
        row = len(place) + k
        n, d = branch_ratio(branch, values, f_hz, pi)
        put(row, branch.ends, d, row)
        entries[(row, row)] = entries.get((row, row), 0) - n
    _couple(network, values, (f_hz, pi), (entries, place))
    last = len(place) + len(network.branches)
    put(last, network.drive.ends, 1, last)
    owner = network.drive.owner
    behind = values[(owner, "resistance")] if owner is not None else 0
    entries[(last, last)] = entries.get((last, last), 0) - behind
    return entries


def _couple(
    network: Network, values: Numbers, at: tuple[Any, Any], matrix: tuple[Any, Any]
) -> None:
    """v1 = Z1 i1 + X i2: minus X of the other coil's current in each coil's row."""
    entries, place = matrix
    jw = 2j * at[1] * at[0]
    owners = [branch.owner for branch in network.branches]
    for coupling in network.couplings:
        rows = [owners.index(coil) for coil in coupling.coils]
        mutual = values[(coupling.owner, "coupling")]
        for coil in coupling.coils:
            assert not values.get((coil, "winding_capacitance"))
            fall = (1j * at[0] / REFERENCE_HZ) ** (-values.get((coil, "loss"), 0))
            mutual = mutual * (jw * values[(coil, "inductance")] * fall) ** 0.5
        for one, other in (rows, rows[::-1]):
            spot = (len(place) + one, len(place) + other)
            entries[spot] = entries.get(spot, 0) - mutual


def _answers(network: Network, solution: Any) -> list[Any]:
    """Each probe's voltage, then the input impedance, from voltages and currents."""
    place = _places(network)

    def at(node: str) -> Any:
        return solution[place[node]] if node in place else 0

    last = len(place) + len(network.branches)
    plus, minus = network.drive.ends
    found = [at(a) - at(b) for a, b in network.probes]
    return [*found, (at(plus) - at(minus)) / -solution[last]]


def dense(network: Network, values: Numbers, f_hz: Any) -> NDArray[np.complex128]:
    """Probes and then the input impedance, shape (probes + 1, m)."""
    columns = []
    for f in np.atleast_1d(f_hz):
        matrix, right = _matrix(network, values, float(f))
        columns.append(_answers(network, np.linalg.solve(matrix, right)))
    return np.array(columns, np.complex128).T


def condition(network: Network, values: Numbers, f_hz: float) -> float:
    """The condition number of the dense equations, rows scaled alike."""
    matrix, _ = _matrix(network, values, f_hz)
    return float(np.linalg.cond(matrix / np.abs(matrix).max(axis=1, keepdims=True)))


def _matrix(
    network: Network, values: Numbers, f_hz: float
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    size = len(_places(network)) + len(network.branches) + 1
    matrix, right = np.zeros((size, size), np.complex128), np.zeros(size, np.complex128)
    for spot, value in _entries(network, values, f_hz, np.pi).items():
        matrix[spot] = value
    right[-1] = 1.0
    return matrix, right


def precise(network: Network, values: Numbers, f_hz: Any, omega: int | None = None) -> list[Any]:
    """Probes and then the input impedance at one frequency, as mpmath numbers.

    The floats are taken at their word: the question is what arithmetic does to them. `omega` is the
    angular frequency where that is what is exact. Raises ZeroDivisionError where singular.
    """
    with mpmath.workdps(60):
        pi = mpmath.pi if omega is None else omega / (2 * mpmath.mpf(f_hz))
        exact = {key: mpmath.mpf(value) for key, value in values.items()}
        size = len(_places(network)) + len(network.branches) + 1
        matrix, right = mpmath.matrix(size, size), mpmath.matrix(size, 1)
        for (row, column), value in _entries(network, exact, mpmath.mpf(f_hz), pi).items():
            matrix[row, column] = value
        right[size - 1] = 1
        solution = mpmath.lu_solve(matrix, right)
        return _answers(network, solution)


def distance(found: complex, reference: Any) -> float:
    """The relative distance of a float from an mpmath number."""
    with mpmath.workdps(40):
        wide = mpmath.mpc(found.real, found.imag)
        return float(abs(wide - reference) / abs(reference))
