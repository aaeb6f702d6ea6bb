"""The values handed in, as one table: a row for each quantity, a column for each draw."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import pi

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import graph
from ohmbook.circuit.network import QUANTITIES, REFERENCE_HZ, Id, Network, Values
from ohmbook.errors import CallError, CircuitError

Reals = NDArray[np.float64]

OMEGA_REFERENCE = 2.0 * pi * REFERENCE_HZ
"""Angular frequency at which inductance and capacitance hold, rad/s."""


_SLACK = 1e-12
"""How far below zero rounding may take what should be zero, as couplings are checked."""


@dataclass(frozen=True, slots=True, eq=False)
class Core:
    """More than two coils that share a field.

    Args:
        coils: their owners.
        pairs: for each coupling between them, by its number in the network, which two.
    """

    coils: tuple[str, ...]
    pairs: dict[int, tuple[int, int]]

    def matrix(self, needs: Inventory, table: Reals) -> Reals:
        """The coupling of each coil with each, 1 with itself: shape (draws, coils, coils)."""
        found = np.tile(np.eye(len(self.coils)), (table.shape[1], 1, 1))
        for number, (i, j) in self.pairs.items():
            found[:, i, j] = found[:, j, i] = table[needs.mutuals[number][0]]
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Inventory:
    """What a network needs to be given; the same object for equal networks.

    Args:
        network: whose.
        ids: as `network.ids`.
        required: for each id, whether it must be given.
        signed: for each id, whether it may be below zero.
        largest: for each id, the largest it may be.
        semis: for each semi-inductor the rows of its modulus and its exponent.
        given: the owners of given elements.
        mutuals: for each coupling the rows of k, of the two inductances and of the two losses.
        cores: the coils that more than one coupling joins.
    """

    network: Network
    ids: tuple[Id, ...]
    required: tuple[bool, ...]
    signed: NDArray[np.bool_]
    largest: Reals
    mutuals: tuple[tuple[int, ...], ...]
    cores: tuple[Core, ...]
    semis: dict[str, tuple[int, int]]
    given: tuple[str, ...]

    @property
    def zeros(self) -> int:
        """The row of zeros, after those of the ids."""
        return len(self.ids)

    def mutual_row(self, number: int) -> int:
        """The first of three rows of a coupling: M, -M, and its loss exponent."""
        return len(self.ids) + 1 + 3 * number

    def semi_row(self, owner: str) -> int:
        """The first of two rows of a semi-inductor: its L and its loss exponent."""
        return self.mutual_row(len(self.mutuals)) + 2 * list(self.semis).index(owner)


@lru_cache(maxsize=512)
def inventory(network: Network) -> Inventory:
    """What a network needs to be given."""
    main = {(branch.owner, QUANTITIES[branch.element][:1]) for branch in network.branches}
    main.add((network.drive.owner or "", ("resistance",)))
    ids = network.ids
    main.update((one.owner, ("coupling",)) for one in network.couplings)
    semis = dict.fromkeys(b.owner for b in network.branches if b.element == "semi-inductor")
    main.update((owner, ("exponent",)) for owner in semis)
    required = tuple((owner, (quantity,)) in main for owner, quantity in ids)
    points = {(b.owner, "inductance") for b in network.branches if b.element == "point"}
    return Inventory(
        network,
        ids,
        required,
        np.array([one[1] == "loss" or one in points for one in ids], dtype=np.bool_),
        np.array([1.0 if one[1] in ("coupling", "exponent") else np.inf for one in ids]),
        _mutuals(network, ids),
        _cores(network),
        {one: (ids.index((one, "modulus")), ids.index((one, "exponent"))) for one in semis},
        tuple(dict.fromkeys(b.owner for b in network.branches if b.element == "given")),
    )


def _mutuals(network: Network, ids: tuple[Id, ...]) -> tuple[tuple[int, ...], ...]:
    coils = [branch.owner for branch in network.branches if branch.element == "inductor"]
    met = set[frozenset[str]]()
    for coupling in network.couplings:
        for coil in coupling.coils:
            if coils.count(coil) != 1:
                raise CircuitError(
                    f'"{coupling.owner}" couples "{coil}": expected an inductor of this network '
                    "that has one branch."
                )
        pair = frozenset(coupling.coils)
        one, other = coupling.coils
        if one == other:
            raise CircuitError(f'"{coupling.owner}" couples "{one}" with itself: expected two.')
        if pair in met:
            raise CircuitError(
                f'"{one}" and "{other}" are coupled more than once: expected one coupling of them.'
            )
        met.add(pair)
    wanted = [
        [(coupling.owner, "coupling")]
        + [(coil, quantity) for quantity in ("inductance", "loss") for coil in coupling.coils]
        for coupling in network.couplings
    ]
    return tuple(tuple(ids.index(one) for one in some) for some in wanted)


def _cores(network: Network) -> tuple[Core, ...]:
    """Cores of more than two coils; two can have any coupling."""
    found = []
    for coils in graph.together([one.coils for one in network.couplings]):
        place = {coil: k for k, coil in enumerate(coils)}
        pairs = {
            number: (place[one.coils[0]], place[one.coils[1]])
            for number, one in enumerate(network.couplings)
            if one.coils[0] in place
        }
        if len(coils) > 2:
            found.append(Core(tuple(coils), pairs))
    return tuple(found)


def tabulate(needs: Inventory, values: Values) -> Reals:
    """The values by row in the order of the inventory's ids, a row of zeros, and three rows for
    each coupling: its mutual inductance M = k sqrt(L1 L2), -M, and the mean of the two
    losses, and two for each semi-inductor: its L at the reference frequency and its loss.

    Args:
        needs: which quantities.
        values: SI, floats or arrays of shape (draws,); what else is in it is not looked at.

    Returns:
        Shape (rows, draws); draws is 1 where there are only floats.

    Raises:
        CircuitError: a part's main quantity is missing, or a value cannot be.
        CallError: arrays of different lengths.
    """
    found = [values.get(one) for one in needs.ids]
    height = needs.mutual_row(len(needs.mutuals)) + 2 * len(needs.semis)
    table = np.zeros((height, _draws(needs, found)))
    for k, value in enumerate(found):
        if value is not None:
            table[k] = value
        elif needs.required[k]:
            owner, quantity = needs.ids[k]
            raise CircuitError(f'"{owner}" has no {quantity}: expected a value for it.')
    _check(needs, table[: needs.zeros])
    for core in needs.cores:
        _check_core(core, core.matrix(needs, table))
    for number, (k, one, other, loss, far_loss) in enumerate(needs.mutuals):
        row = needs.mutual_row(number)
        table[row] = table[k] * np.sqrt(table[one]) * np.sqrt(table[other])
        table[row + 1] = -table[row]
        table[row + 2] = 0.5 * (table[loss] + table[far_loss])
    for owner, (modulus, exponent) in needs.semis.items():
        # K (jw)^n = jwL (jw/w0)^-(1 - n)
        row = needs.semi_row(owner)
        table[row] = table[modulus] * OMEGA_REFERENCE ** (table[exponent] - 1.0)
        table[row + 1] = 1.0 - table[exponent]
        if not table[exponent].all():
            raise CircuitError(f'The exponent of "{owner}" is 0: expected above 0, at most 1.')
    return table


def _draws(needs: Inventory, found: list[float | Reals | None]) -> int:
    draws = 1
    for k, value in enumerate(found):
        if isinstance(value, np.ndarray) and value.size != 1:
            if value.ndim != 1 or draws not in (1, value.size):
                owner, quantity = needs.ids[k]
                raise CallError(
                    f'The {quantity} of "{owner}" has the shape {value.shape}: expected one '
                    f"number, or one for each draw, as many as the others have."
                )
            draws = value.size
    return draws


def _check(needs: Inventory, table: Reals) -> None:
    lowest = table.min(axis=1, initial=np.inf)
    # A NaN makes both comparisons false.
    highest = table.max(axis=1, initial=-np.inf)
    good = (highest < np.inf) & (lowest > -np.inf) & (highest <= needs.largest)
    good &= (lowest >= 0.0) | needs.signed
    if not good.all():
        row = int(np.argmin(good))
        owner, quantity = needs.ids[row]
        fine = np.isfinite(table[row]) & (table[row] <= needs.largest[row])
        bad = table[row][~(fine & (needs.signed[row] | (table[row] >= 0.0)))]
        wanted = "a number" if needs.signed[row] else "0 or more"
        if needs.largest[row] == 1.0:
            wanted = "0 to 1" if quantity == "coupling" else "above 0, at most 1"
        raise CircuitError(f'The {quantity} of "{owner}" is {bad[0]:g}: expected {wanted}.')


def _check_core(core: Core, coupling: Reals) -> None:
    """No currents may give a field an energy below zero: L is positive semidefinite with K."""
    wrong = _below_zero(coupling)
    if not wrong.any():
        return
    matrix, kept = coupling[int(np.argmax(wrong))], list(range(len(core.coils)))
    for k in range(len(core.coils)):
        fewer = [one for one in kept if one != k]
        if _below_zero(matrix[None][:, fewer][:, :, fewer])[0]:
            kept = fewer
    names = ", ".join(f'"{core.coils[k]}"' for k in kept)
    said = ", ".join(
        f'{matrix[i, j]:.6g} of "{core.coils[i]}" and "{core.coils[j]}"'
        for i, j in combinations(kept, 2)
    )
    raise CircuitError(
        f"The couplings between {names} contradict each other: {said} (0 where none is given). "
        "Coils that are each close to a third are close to each other: expected couplings that "
        "leave the energy of their field 0 or more, whatever the currents."
    )


def _below_zero(coupling: Reals) -> NDArray[np.bool_]:
    """Where the least eigenvalue is, shape (draws,)."""
    return np.asarray(np.linalg.eigvalsh(coupling)[:, 0] < -_SLACK)
