"""The values handed in, as one table: a row for each quantity, a column for each draw."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import QUANTITIES, Id, Network, Values
from ohmbook.errors import CallError, CircuitError

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Inventory:
    """What a network needs to be given; the same object for equal networks.

    Args:
        network: whose.
        ids: as `network.ids`.
        required: for each id, whether it must be given.
        signed: for each id, whether it may be below zero.
    """

    network: Network
    ids: tuple[Id, ...]
    required: tuple[bool, ...]
    signed: NDArray[np.bool_]


@lru_cache(maxsize=512)
def inventory(network: Network) -> Inventory:
    """What a network needs to be given."""
    main = {(branch.owner, QUANTITIES[branch.element][:1]) for branch in network.branches}
    main.add((network.drive.owner or "", ("resistance",)))
    ids = network.ids
    required = tuple((owner, (quantity,)) in main for owner, quantity in ids)
    return Inventory(
        network, ids, required, np.array([one[1] == "loss" for one in ids], dtype=np.bool_)
    )


def tabulate(needs: Inventory, values: Values) -> Reals:
    """The values by row in the order of the inventory's ids, and a last row of zeros.

    Args:
        needs: which quantities.
        values: SI, floats or arrays of shape (draws,); what else is in it is not looked at.

    Returns:
        Shape (n_ids + 1, draws); draws is 1 where there are only floats.

    Raises:
        CircuitError: a part's main quantity is missing, or a value cannot be.
        CallError: arrays of different lengths.
    """
    found = [values.get(one) for one in needs.ids]
    table = np.zeros((len(found) + 1, _draws(needs, found)))
    for k, value in enumerate(found):
        if value is not None:
            table[k] = value
        elif needs.required[k]:
            owner, quantity = needs.ids[k]
            raise CircuitError(f'"{owner}" has no {quantity}: expected a value for it.')
    _check(needs, table)
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
    good = (table.max(axis=1, initial=-np.inf) < np.inf) & (lowest > -np.inf)
    good[:-1] &= (lowest[:-1] >= 0.0) | needs.signed
    if not good.all():
        row = int(np.argmin(good))
        owner, quantity = needs.ids[row]
        bad = table[row][~(np.isfinite(table[row]) & (needs.signed[row] | (table[row] >= 0.0)))]
        wanted = "a number" if needs.signed[row] else "0 or more"
        raise CircuitError(f'The {quantity} of "{owner}" is {bad[0]:g}: expected {wanted}.')
