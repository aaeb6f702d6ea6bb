"""Elements whose impedance is handed in, frequency by frequency: measured, or a formula's.

Where there is one, every point is worked out as a draw of its own, at which the element is a
resistance and an inductance that have its impedance there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from ohmbook.circuit.element import omega_of
from ohmbook.circuit.network import Id, Network, Values
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.values import Reals, inventory
from ohmbook.errors import CallError, CircuitError


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """A network without given elements, of which each point is a draw.

    Args:
        network: with an element "point" for each "given".
        values: one for each point, shape (draws * m,).
        f_hz: shape (draws * m,).
        shape: (draws, m).
    """

    network: Network
    values: dict[Id, float | Reals]
    f_hz: Reals
    shape: tuple[int, int]


@lru_cache(maxsize=512)
def _pointwise(network: Network) -> Network:
    branches = tuple(
        replace(branch, element="point") if branch.element == "given" else branch
        for branch in network.branches
    )
    return replace(network, branches=branches)


def by_point(network: Network, values: Values, f_hz: Reals, by_frequency: bool = False) -> Points:
    """Make each point a draw.

    Args:
        network: with given elements.
        values: as for `respond`; the `impedance` of a given element is complex, ohm, its real part
            0 or more, of shape (m,) or (draws, m), or a function from frequencies in hertz.
        f_hz: shape (m,) or (draws, m).
        by_frequency: whether arrays hold one value for each frequency, not for each draw.

    Raises:
        CircuitError: an impedance is missing or cannot be.
        CallError: shapes that do not go together.
    """
    plain, owners = _pointwise(network), inventory(network).given
    grid = np.atleast_2d(f_hz)
    held = [one for one in map(values.get, plain.ids) if isinstance(one, np.ndarray)]
    tables = {owner: impedance_of(values, owner, grid) for owner in owners}
    try:
        sides = [one[None] if by_frequency else one.reshape(-1, 1) for one in held]
        shape = np.broadcast_shapes(grid.shape, *(one.shape for one in (*sides, *tables.values())))
    except ValueError:
        raise CallError("Draws, frequencies and given impedances do not go together.") from None
    flat = np.broadcast_to(grid, shape).ravel()
    found: dict[Id, float | Reals] = {}
    for one in plain.ids:
        value = values.get(one)
        if isinstance(value, np.ndarray):
            side = value[None] if by_frequency else value.reshape(-1, 1)
            found[one] = np.broadcast_to(side, shape).ravel()
        elif value is not None:
            found[one] = value
    for owner, table in tables.items():
        impedance = np.broadcast_to(table, shape).ravel()
        omega = np.where(flat > 0.0, omega_of(flat), 1.0)
        found[(owner, "resistance")] = impedance.real.copy()
        found[(owner, "inductance")] = impedance.imag / omega
    return Points(plain, found, flat, (shape[0], shape[1]))


def impedance_of(values: Values, owner: str, grid: Reals) -> Complexes:
    """What is handed in for a given element, checked: shape (1 or draws, m).

    Args:
        values: as for `by_point`.
        owner: of the element.
        grid: hertz, shape (1 or draws, m).

    Raises:
        CircuitError: an impedance is missing or cannot be.
        CallError: not one for each frequency.
    """
    handed: Any = values.get((owner, "impedance"))
    if handed is None:
        raise CircuitError(f'"{owner}" has no impedance: expected a value for it.')
    if isinstance(handed, Callable):  # type: ignore[arg-type]
        handed = handed(grid)
    plain = np.asarray(handed, dtype=np.complex128)
    table = np.atleast_2d(plain)
    if table.ndim != 2 or table.shape[1] != grid.shape[1]:
        raise CallError(
            f'The impedance of "{owner}" has the shape {plain.shape}: expected one number for each '
            f"of {grid.shape[1]} frequencies."
        )
    bad = ~np.isfinite(table) | (table.real < 0.0)
    if bad.any():
        raise CircuitError(
            f'The impedance of "{owner}" is {table[bad][0]:g}: expected numbers whose real part is '
            "0 or more."
        )
    still = np.broadcast_to(grid == 0.0, np.broadcast_shapes(grid.shape, table.shape))
    if np.any(still & (np.broadcast_to(table, still.shape).imag != 0.0)):
        raise CircuitError(f'The impedance of "{owner}" at 0 Hz is complex: expected a resistance.')
    return table
