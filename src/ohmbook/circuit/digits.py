"""How many digits of an answer rounding costs, and where: a prediction, not only a bound.

Digits lost are lg(error / 2^-53), with the root mean square of the relative error: what becomes of
one draw of luck is within a factor of a few. Two errors are told apart:

- *by the plan*: what the floating-point plan that is tried first makes of its leaves, against
  exact arithmetic on the same leaves;
- *in the answer*: what `respond` hands out, doubtful points mended, against exact arithmetic on
  the values as they were meant: each value and each frequency is rounded once to a float, and the
  leaves are rounded. Where a point was solved exactly this is what the circuit itself makes of
  the last digit of its values, and no arithmetic can do better.

Both come from slopes and one theory of rounding (`rounding`), with nothing fitted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ohmbook.circuit.element import log_reference, omega_of
from ohmbook.circuit.given import by_point
from ohmbook.circuit.network import Id, Network, Values
from ohmbook.circuit.points import solve_points
from ohmbook.circuit.response import check_shorts, frequencies, ready_for
from ohmbook.circuit.road import Solution, roads
from ohmbook.circuit.rounding import ONCE, UNIT, amplification
from ohmbook.circuit.run import Complexes, keep, leaves_at
from ohmbook.circuit.sensitivity import by_row, fold
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals, inventory, tabulate
from ohmbook.errors import CallError

ALL_DIGITS = -float(np.log10(UNIT))
"""Digits of a float, 15.95: no more can be lost."""

_SPARE = 3.0
"""The roundings behind an answer are taken to add up to fewer than 10 to the power of this."""

_TWO_PI = 0.35**2
"""The square of how far the float nearest to 2 pi is from it, in units of rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Losses:
    """Digits lost at every point; the last output is the input impedance.

    Args:
        by_plan: by the plan tried first, shape (outputs, m).
        in_answer: in what is handed out, shape (outputs, m).
        ids: the quantities of the network without given elements.
        most: which of them the answer's error comes from most, shape (outputs, m); -1 for none.
    """

    by_plan: Reals
    in_answer: Reals
    ids: tuple[Id, ...]
    most: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class DigitsLost:
    """The worst place.

    Args:
        digits: of about 16 that a float has, how many the answer has lost there.
        owner: the part whose values the answer hangs on most, there; empty where it hangs on none.
        f_hz: the frequency, hertz.
        output: the number of the probe; that after the last is the input impedance.
    """

    digits: float
    owner: str
    f_hz: float
    output: int = 0


def digits_lost(network: Network, values: Values, f_hz: ArrayLike) -> DigitsLost:
    """The worst that rounding does to a network's answers.

    Args:
        network: as for `respond`.
        values: as for `respond`, of one draw.
        f_hz: hertz, 0 or above, shape (m,), not empty.

    Raises:
        CircuitError: as for `respond`.
        CallError: more than one draw, or frequencies that cannot be.
    """
    found, grid = losses(network, values, f_hz), frequencies(f_hz)
    if not grid.size:
        raise CallError("Digits lost are looked for at one frequency at least.")
    output, point = np.unravel_index(int(np.argmax(found.in_answer)), found.in_answer.shape)
    most = int(found.most[output, point])
    owner = found.ids[most][0] if most >= 0 else ""
    lost = float(found.in_answer[output, point])
    return DigitsLost(lost, owner, float(grid[point]), int(output))


def losses(network: Network, values: Values, f_hz: ArrayLike, above: float = 0.0) -> Losses:
    """The digits that rounding costs each answer, at each frequency.

    Args:
        network: as for `respond`.
        values: as for `respond`, of one draw.
        f_hz: hertz, 0 or above, shape (m,).
        above: points where a quick look shows that no more digits than this are lost need not be
            worked out: their losses are given as 0.

    Raises:
        CircuitError: as for `respond`.
        CallError: more than one draw, or frequencies that cannot be.
    """
    grid, draws = frequencies(f_hz), 1
    if network_has_given := bool(inventory(network).given):
        points = by_point(network, values, grid)
        network, values, draws = points.network, points.values, points.shape[0]
    needs = inventory(network)
    table = tabulate(needs, values)
    if grid.ndim != 1 or draws != 1 or not (table.shape[1] == 1 or network_has_given):
        raise CallError("Digits lost are of one set of values and a list of frequencies.")
    shape = (len(network.probes) + 1, grid.size)
    by_plan, in_answer, most = np.zeros(shape), np.zeros(shape), np.full(shape, -1)
    for at_dc in (False, True):
        here = np.flatnonzero((grid == 0.0) == at_dc)
        if here.size:
            part = table if table.shape[1] == 1 else table[:, here]
            ready = ready_for(needs, part, at_dc)
            by_plan[:, here], in_answer[:, here], most[:, here] = _found(
                ready, part, grid[here], above
            )
    return Losses(by_plan, in_answer, needs.ids, most)


_Found = tuple[Reals, Reals, NDArray[np.intp]]


def _found(ready: Compiled, table: Reals, f_hz: Reals, above: float) -> _Found:
    shape = (len(ready.topology.probes) + 1, f_hz.size)
    by_plan, in_answer, most = np.zeros(shape), np.zeros(shape), np.full(shape, -1)
    if not ready.topology.source:
        return by_plan, in_answer, most
    leaves, reactances = leaves_at(ready, table, omega_of(f_hz))
    here = _suspects(ready, leaves, above)
    if here.size:
        part = table if table.shape[1] == 1 else table[:, here]
        point = (leaves[:, here], reactances[:, here], f_hz[here])
        by_plan[:, here], in_answer[:, here], most[:, here] = _solved(ready, part, point)
    return by_plan, in_answer, most


def _suspects(ready: Compiled, leaves: Complexes, above: float) -> NDArray[np.intp]:
    """The points where so many digits may be lost."""
    limit = 10.0 ** (above - _SPARE)
    if limit < 1.0:
        return np.arange(leaves.shape[1])
    found = np.zeros(leaves.shape[1], np.bool_)
    for road in roads(ready):
        found |= amplification(road.plan, keep(road.plan, leaves)) > limit
    return np.flatnonzero(found)


def _solved(
    ready: Compiled, table: Reals, point: tuple[Complexes, Complexes, Reals]
) -> tuple[Reals, Reals, NDArray[np.intp] | int]:
    leaves, _, f_hz = point
    solved = solve_points(ready, leaves, f_hz, with_errors=True)
    check_shorts(ready, table, solved.values[-1].reshape(table.shape[1], -1))
    squares = np.zeros((table.shape[0] + 1, *solved.values.shape))
    _add_leaves(ready, table, point, solved, squares)
    ids = squares[1 : 1 + len(ready.needs.ids)]
    most = np.where(ids.any(axis=0), np.argmax(ids, axis=0), -1) if len(ids) else -1
    total = np.sqrt(squares.sum(axis=0) + np.square(solved.errors))
    return _digits(solved.first, solved.values), _digits(total, solved.values), most


def _digits(error: Reals, values: Complexes) -> Reals:
    """From an error in units of rounding to digits."""
    with np.errstate(all="ignore"):
        lost = np.log10(error / np.abs(values))
    lost = np.where(np.isfinite(error), np.clip(lost, 0.0, ALL_DIGITS), ALL_DIGITS)
    return np.where(np.isfinite(values) & (error != 0.0), lost, 0.0)


def _add_leaves(
    ready: Compiled,
    table: Reals,
    point: tuple[Complexes, Complexes, Reals],
    solved: Solution,
    squares: Reals,
) -> None:
    """Mean squares, in units squared, of what comes in with the leaves: by ln f, then by row."""
    needs, bank = ready.needs, ready.bank
    leaves, reactances, f_hz = point
    rows = np.zeros(squares.shape, np.complex128)
    log_w = log_reference(omega_of(f_hz)) if reactances.size else f_hz
    by_row(bank, table, (leaves, solved), (reactances, log_w), rows)
    points = {one.owner for one in needs.network.branches if one.element == "point"}
    for k, (owner, quantity) in enumerate(needs.ids):
        if owner in points and quantity == "inductance":
            rows[0] -= rows[1 + k]  # It was divided by the same frequency.
    for number in range(len(needs.mutuals)):
        # M and -M are rounded alike.
        row = 1 + needs.mutual_row(number)
        rows[row] += rows[row + 1]
        rows[row + 1] = 0.0
    squares += np.square(np.abs(rows)) * _leaf_weights(ready, table)[:, None]
    fold(needs, table, rows[1:])
    ids = slice(1, 1 + len(needs.ids))
    squares[ids] += np.square(np.abs(rows[ids])) * _value_weights(ready, table)[:, None]
    count = bank.reactances
    series = slice(count, count + bank.lossy_capacitor.size)
    numerators = np.square(np.abs(solved.slopes[series] * leaves[series][:, None]))
    for row, one in zip(bank.lossy_capacitor.tolist(), numerators, strict=True):
        squares[1 + row] += 2.0 * ONCE * one


def _leaf_weights(ready: Compiled, table: Reals) -> Reals:
    """Mean squares of what is rounded between values and leaves, by ln f and by row."""
    needs, bank = ready.needs, ready.bank
    weights = np.zeros((table.shape[0] + 1, table.shape[1]))
    weights[0] = 2.0 * ONCE + _TWO_PI if bank.reactances else 0.0
    rows = weights[1:]
    rows[bank.main] = ONCE
    # exp, sine or cosine, and their product; the exponent is rounded twice or three times.
    rows[bank.main[bank.lossy]] += 3.0 * ONCE
    for row in set(bank.loss[bank.lossy].tolist()):
        rows[row] = 3.0 * ONCE * np.square(table[row])
    for number in range(len(needs.mutuals)):
        rows[needs.mutual_row(number)] += 4.0 * ONCE
    for owner in needs.semis:
        rows[needs.semi_row(owner)] += 3.0 * ONCE
    return weights


def _value_weights(ready: Compiled, table: Reals) -> Reals:
    """Mean squares of the rounding of the values themselves, by id."""
    weights = np.full((len(ready.needs.ids), table.shape[1]), ONCE)
    for k, (_, quantity) in enumerate(ready.needs.ids):
        if quantity == "loss":
            # Its slope is by itself, not by its logarithm.
            weights[k] *= np.square(table[k])
    return weights
