"""Quantiles of many draws, exact, without holding the draws' answers all at once.

All draws of a few frequencies are worked out together, sorted, and let go of again: what is held
does not grow with the number of frequencies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ohmbook.circuit.element import omega_of
from ohmbook.circuit.given import impedance_of
from ohmbook.circuit.many import Across, in_parts, points_of, prepared
from ohmbook.circuit.network import Id, Network, Values
from ohmbook.circuit.response import (
    check_shorts,
    doubtful_points,
    frequencies,
    mend_where,
    ready_for,
    respond,
)
from ohmbook.circuit.road import Mask, empty
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals, inventory, tabulate
from ohmbook.errors import CallError

Places = NDArray[np.intp]

HELD = 250_000
"""Answers that are held at a time, in each thread."""

_SMALLEST, _LARGEST = 1e-290, 1e290


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Quantiles over the draws, at each frequency by itself.

    Args:
        quantiles: which, each from 0 to 1.
        transfer: of |V(probe)| over the EMF, shape (probes, quantiles, m).
        input_impedance: of |Zin| in ohm, shape (quantiles, m); infinite where it is.
    """

    quantiles: tuple[float, ...]
    transfer: Reals
    input_impedance: Reals


def bands(
    network: Network,
    values: Values,
    f_hz: ArrayLike,
    quantiles: Sequence[float] = (0.05, 0.5, 0.95),
    threads: int = 1,
) -> Bands:
    """The quantiles of every magnitude over the draws.

    Between two draws a quantile is interpolated linearly in the magnitude, which is definition 7
    of R. J. Hyndman and Y. Fan, Am. Stat. 50 (4), 1996, and NumPy's own.

    Args:
        network: as for `respond`.
        values: as for `respond`.
        f_hz: hertz, 0 or above, shape (m,).
        quantiles: which, each from 0 to 1.
        threads: how many threads share the frequencies.

    Raises:
        CircuitError: as for `respond`.
        CallError: frequencies or quantiles that cannot be.
    """
    wanted = np.asarray(quantiles, dtype=np.float64)
    if wanted.ndim != 1 or not np.all((wanted >= 0.0) & (wanted <= 1.0)):
        raise CallError("Quantiles must be a list of numbers from 0 to 1.")
    needs, grid = inventory(network), frequencies(f_hz)
    if grid.ndim != 1:
        raise CallError(f"Bands are over frequencies of the shape (m,), not {grid.shape}.")
    if needs.given:
        return _by_respond(network, values, grid, wanted)
    table = tabulate(needs, values)
    found = np.empty((len(network.probes) + 1, wanted.size, grid.size))
    still = np.flatnonzero(grid == 0.0)
    if still.size:
        there = respond(network, values, [0.0])
        every = np.concatenate([there.transfer, there.input_impedance[None]])
        found[..., still] = _quantiles(every.swapaxes(1, 2).copy(), wanted)
    moving = np.flatnonzero(grid)
    if moving.size:
        here = _moving(ready_for(needs, table, at_dc=False), table, grid[moving], (wanted, threads))
        found[..., moving] = here
    return Bands(tuple(wanted.tolist()), found[:-1], found[-1])


def _by_respond(network: Network, values: Values, f_hz: Reals, wanted: Reals) -> Bands:
    """With given impedances: a few frequencies at a time."""
    found = np.empty((len(network.probes) + 1, wanted.size, f_hz.size))
    given = {one: impedance_of(values, one, f_hz[None]) for one in inventory(network).given}
    held = [one for one in values.values() if isinstance(one, np.ndarray) and one.ndim == 1]
    draws = max([len(one) for one in given.values()] + [one.size for one in held])
    step = max(1, HELD // (len(found) * draws))
    for k in range(0, f_hz.size, step):
        part = slice(k, k + step)
        here: dict[Id, Any] = dict(values)
        here.update({(owner, "impedance"): one[:, part] for owner, one in given.items()})
        there = respond(network, here, f_hz[part])
        every = np.concatenate([there.transfer, there.input_impedance[None]])
        found[..., part] = _quantiles(every.swapaxes(1, 2).copy(), wanted)
    return Bands(tuple(wanted.tolist()), found[:-1], found[-1])


def _moving(ready: Compiled, table: Reals, f_hz: Reals, how: tuple[Reals, int]) -> Reals:
    wanted, threads = how
    found = np.empty((len(ready.topology.probes) + 1, wanted.size, f_hz.size))
    live = bool(ready.topology.source)
    doubt = doubtful_points(ready, table, f_hz) if live else np.zeros((1, f_hz.size), bool)
    step = max(1, HELD // (len(found) * table.shape[1]))
    plans, points = prepared(ready, table, omega_of(f_hz)) if live else [], points_of(threads)

    def some(part: slice) -> None:
        across = Across(plans, points) if live else None
        held = empty(ready, (step, table.shape[1]))
        for k in range(part.start, part.stop, step):
            here = slice(k, min(k + step, part.stop))
            answers = held[:, : here.stop - k]
            if across is not None:
                _worked_out(ready, table, (f_hz[here], doubt[:, here]), across, answers)
            found[..., here] = _quantiles(answers, wanted)

    in_parts(some, f_hz.size, threads, step)
    return found


def _worked_out(
    ready: Compiled, table: Reals, at: tuple[Reals, Mask], across: Across, answers: Complexes
) -> None:
    f_hz, doubt = at
    sound = across.run(omega_of(f_hz), answers)
    turned = answers.swapaxes(1, 2)
    if not sound or doubt.any():
        mend_where(ready, table, f_hz[None], turned, doubt)
    check_shorts(ready, table, turned[-1])


def _quantiles(answers: Complexes, wanted: Reals) -> Reals:
    """Quantiles of magnitudes over the last axis, shape (outputs, quantiles, m)."""
    outputs, count, draws = answers.shape
    place = wanted * (draws - 1)
    low = np.floor(place).astype(np.intp)
    high, share = np.minimum(low + 1, draws - 1), (place - low)[:, None]
    found = np.empty((outputs, wanted.size, count))
    square, spare = np.empty((2, count, draws))
    for k, one in enumerate(answers):
        with np.errstate(all="ignore"):
            np.multiply(one.real, one.real, square)
            square += np.multiply(one.imag, one.imag, spare)
        square.sort(axis=1)
        if square[:, 0].min() < _SMALLEST or not square[:, -1].max() < _LARGEST:
            lower, upper = _by_magnitude(one, (low, high))
        else:
            lower, upper = np.sqrt(square[:, low].T), np.sqrt(square[:, high].T)
        with np.errstate(invalid="ignore"):
            between = lower + share * (upper - lower)
        found[k] = np.where(lower == upper, lower, between)
    return found


def _by_magnitude(answers: Complexes, places: tuple[Places, Places]) -> tuple[Reals, Reals]:
    """For numbers whose squares would leave the range of floats."""
    size = np.sort(np.abs(answers), axis=1)
    return size[:, places[0]].T, size[:, places[1]].T
