"""How a network's answer moves with each of its values and with frequency."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ohmbook.circuit.element import Bank, Rows, log_reference, omega_of
from ohmbook.circuit.given import by_point
from ohmbook.circuit.network import Id, Network, Values
from ohmbook.circuit.points import solve_each, solve_points
from ohmbook.circuit.response import Response, check_shorts, frequencies, ready_for
from ohmbook.circuit.road import Solution, blank
from ohmbook.circuit.run import Complexes, leaves_at
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import OMEGA_REFERENCE, Inventory, Reals, inventory, tabulate
from ohmbook.errors import CallError


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """A network's answer and its slopes at one set of values.

    A slope is by ln p for every quantity p but `loss`, for which it is by the loss itself; for a
    p of exactly 0 the slope by ln p is 0. All are finite, at nulls too; where the input impedance
    is infinite its slopes are given as 0.

    Args:
        response: the answer, with one draw.
        ids: the quantities, as `network.ids`.
        transfer: complex, shape (probes, n_ids, m).
        input_impedance: ohm, complex, shape (n_ids, m).
        transfer_log_f: by ln f, complex, shape (probes, m).
        input_impedance_log_f: by ln f, ohm, complex, shape (m,).
    """

    response: Response
    ids: tuple[Id, ...]
    transfer: Complexes
    input_impedance: Complexes
    transfer_log_f: Complexes
    input_impedance_log_f: Complexes


def slopes(network: Network, values: Values, f_hz: ArrayLike) -> Slopes:
    """Solve a network and find every slope by one reverse sweep per output.

    Args:
        network: as for `respond`.
        values: as for `respond`; an array holds one value for each frequency, shape (m,), so that
            several cases of one network can be solved side by side.
        f_hz: hertz, 0 or above, shape (m,).

    Returns:
        The answer and its slopes.

    Raises:
        CircuitError: as for `respond`.
        CallError: values that are neither one nor as many as the frequencies, or frequencies
            that cannot be.
    """
    needs, grid = inventory(network), frequencies(f_hz)
    grid = grid[0] if grid.ndim == 2 and grid.shape[0] == 1 else grid
    if needs.given and grid.ndim == 1:
        points = by_point(network, values, grid, by_frequency=True)
        return _with_given(network, slopes(points.network, points.values, grid))
    table = tabulate(needs, values)
    if grid.ndim != 1 or table.shape[1] not in (1, grid.size):
        raise CallError(
            "Slopes are of one set of values, or of one for each frequency: "
            f"{table.shape[1]} sets do not go with frequencies of the shape {grid.shape}."
        )
    still = grid == 0.0
    if grid.size and not still.any():
        found = _found(ready_for(needs, table, at_dc=False), table, grid)
    else:
        shape = (len(network.probes) + 1, len(needs.ids) + 2, grid.size)
        found = np.zeros(shape, np.complex128)
        for at_dc in (False, True):
            here = np.flatnonzero(still == at_dc)
            if here.size:
                part = table if table.shape[1] == 1 else table[:, here]
                found[:, :, here] = _found(ready_for(needs, part, at_dc), part, grid[here])
    return Slopes(
        Response(found[:-1, None, 0], found[-1, None, 0]),
        needs.ids,
        found[:-1, 2:],
        found[-1, 2:],
        found[:-1, 1],
        found[-1, 1],
    )


@dataclass(frozen=True, slots=True, eq=False)
class EachSlopes:
    """One output at each point, and its slopes; conventions as for `Slopes`.

    Args:
        value: complex, shape (m,).
        by_id: shape (n_ids, m), in the order of `network.ids`.
        by_log_f: by ln f, shape (m,).
    """

    value: Complexes
    by_id: Complexes
    by_log_f: Complexes


def slopes_each(
    network: Network,
    values: Values,
    f_hz: Reals,
    outputs: NDArray[np.intp],
    careful: bool = True,
) -> EachSlopes:
    """Solve many cases of one network side by side, one output and its slopes for each.

    Args:
        network: as for `respond`.
        values: as for `slopes`: floats, or arrays with one value for each point.
        f_hz: hertz, 0 or above, shape (m,).
        outputs: which probe is wanted at each point; the number of probes stands for the input
            impedance; shape (m,).
        careful: whether points that lose digits by cancellation are solved again; a search that
            will look again where it ends can do without. What is not finite always is.

    Raises:
        CircuitError: as for `respond`.
    """
    needs = inventory(network)
    if needs.given or not f_hz.all():
        every, at = slopes(network, values, f_hz), np.arange(f_hz.size)
        by_id = np.concatenate([every.transfer, every.input_impedance[None]])
        by_log_f = np.concatenate([every.transfer_log_f, every.input_impedance_log_f[None]])
        value = np.concatenate([every.response.transfer, every.response.input_impedance[None]])
        return EachSlopes(value[outputs, 0, at], by_id[outputs, :, at].T, by_log_f[outputs, at])
    table = tabulate(needs, values)
    ready = ready_for(needs, table, at_dc=False)
    if not ready.topology.source:
        none = np.zeros((len(needs.ids), f_hz.size), np.complex128)
        return EachSlopes(blank(ready, f_hz.shape)[outputs, np.arange(f_hz.size)], none, none[0])
    omega = omega_of(f_hz)
    leaves, reactances = leaves_at(ready, table, omega)
    solved, impedance = solve_each(ready, leaves, f_hz, outputs, careful)
    check_shorts(ready, table, impedance.reshape(table.shape[1], -1))
    rows = np.zeros((1 + table.shape[0], 1, f_hz.size), np.complex128)
    log_w = log_reference(omega) if reactances.size else omega
    by_row(ready.bank, table, (leaves, solved), (reactances, log_w), rows)
    fold(needs, table, rows[1:])
    return EachSlopes(solved.values[0], rows[1 : 1 + len(needs.ids), 0], rows[0, 0])


def _with_given(network: Network, solved: Slopes) -> Slopes:
    """Slopes by ln|Z| of given elements, whose impedance does not move with frequency by itself."""
    rows = {one: k for k, one in enumerate(solved.ids)}
    by_probe, by_id = solved.transfer, solved.input_impedance
    transfer = np.zeros((len(by_probe), len(network.ids), by_id.shape[1]), np.complex128)
    impedance = np.zeros((len(network.ids), by_id.shape[1]), np.complex128)
    log_f, impedance_log_f = solved.transfer_log_f.copy(), solved.input_impedance_log_f.copy()
    for k, (owner, quantity) in enumerate(network.ids):
        parts = ("resistance", "inductance") if quantity == "impedance" else (quantity,)
        for part in parts:
            row = rows[(owner, part)]
            transfer[:, k] += by_probe[:, row]
            impedance[k] += by_id[row]
        if quantity == "impedance":
            row = rows[(owner, "inductance")]
            log_f -= by_probe[:, row]
            impedance_log_f -= by_id[row]
    return Slopes(solved.response, network.ids, transfer, impedance, log_f, impedance_log_f)


def _found(ready: Compiled, table: Reals, f_hz: Reals) -> Complexes:
    """The values, the slopes by ln f and those by each quantity: shape (outputs, 2 + n_ids, m)."""
    topology, count = ready.topology, 2 + len(ready.needs.ids)
    shape = (len(topology.probes) + 1, 2 + table.shape[0], f_hz.size)
    found = np.zeros(shape, np.complex128)
    if not topology.source:
        found[:, 0] = blank(ready, f_hz.shape)
        return found[:, :count]
    omega = omega_of(f_hz)
    leaves, reactances = leaves_at(ready, table, omega)
    solved = solve_points(ready, leaves, f_hz)
    check_shorts(ready, table, solved.values[-1].reshape(table.shape[1], -1))
    found[:, 0] = solved.values
    # Row 0 is by ln f, then the rows of the table.
    log_w = log_reference(omega) if reactances.size else omega
    rows = found[:, 1:].swapaxes(0, 1)
    by_row(ready.bank, table, (leaves, solved), (reactances, log_w), rows)
    fold(ready.needs, table, rows[1:])
    return found[:, :count]


def fold(needs: Inventory, table: Reals, quantities: Complexes) -> None:
    """From M = k sqrt(L1 L2) and the mean of two losses to what they come from.

    Args:
        needs: the network's.
        table: values by row, shape (rows, ...).
        quantities: slopes by row, shape (rows, outputs, m), changed in place.
    """
    for number, (k, one, other, loss, far_loss) in enumerate(needs.mutuals):
        row = needs.mutual_row(number)
        by_mutual = quantities[row] + quantities[row + 1]
        quantities[k] += by_mutual
        for coil in (one, other):
            quantities[coil] += 0.5 * by_mutual
        for own in (loss, far_loss):
            quantities[own] += 0.5 * quantities[row + 2]
    for owner, (modulus, exponent) in needs.semis.items():
        row = needs.semi_row(owner)
        quantities[modulus] += quantities[row]
        by_exponent = quantities[row] * log(OMEGA_REFERENCE) - quantities[row + 1]
        quantities[exponent] += by_exponent * table[exponent]


def by_row(
    bank: Bank,
    table: Reals,
    point: tuple[Complexes, Solution],
    moving: tuple[Complexes, Reals],
    found: Complexes,
) -> None:
    """The chain from leaves to the rows of the table, slopes by ln f first.

    Args:
        bank: where the leaves come from.
        table: values by row, shape (rows, m) or (rows, 1).
        point: the leaves, shape (leaves, m), and the solution at them.
        moving: the reactances alone, shape (reactances, m), and ln(w/w0), shape (m,).
        found: shape (1 + rows, outputs, m), added to.
    """
    leaves, solved = point
    reactances, log_w = moving
    count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
    by_reactance = solved.slopes[:count].copy()
    by_numerator = solved.slopes[count : count + series]
    if series:
        by_reactance[count - series :] += table[bank.lossy_capacitor][:, None] * by_numerator
    by_log = by_reactance * reactances[:, None]
    found[0] = (by_log * (1.0 - table[bank.loss][:, None])).sum(axis=0)
    quantities = found[1:]
    branch = table[bank.lossy_capacitor] * reactances[count - series :]
    _add(quantities, bank.main, by_log)
    _add(quantities, bank.loss, by_log * -(log_w + 0.5j * np.pi))
    _add(quantities, bank.coil, solved.slopes[:coils] * table[bank.coil][:, None])
    _add(quantities, bank.lossy_capacitor, by_numerator * branch[:, None])
    _add(quantities, bank.resistance, solved.slopes[bank.varying :] * leaves[bank.varying :, None])


def _add(quantities: Complexes, rows: Rows, slope: Complexes) -> None:
    # One by one, because owners may share a quantity.
    for row, one in zip(rows.tolist(), slope, strict=True):
        quantities[row] += one
