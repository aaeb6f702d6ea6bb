"""Where a curve's width at one frequency comes from, part by part.

From the draws, since parts that the readings leave open (a capacitor's series resistance) bend
the answer more than its slopes can tell. Each part's own effect is what the level does when that
part alone takes its draws; its share of the variance is its effect's covariance with the whole,
the structural and correlative contributions in one (Li, Rabitz et al., J. Phys. Chem. A 114 (19),
2010, covariance decomposition; from memory). What parts do only together is told apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import respond
from ohmbook.circuit.network import Id
from ohmbook.crossover.features import HIGH, LOW
from ohmbook.errors import CallError
from ohmbook.job.moved import DRAWS, Bench
from ohmbook.job.packed import INPUT

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Width:
    """One curve at one frequency.

    Args:
        whose: the output, or `INPUT` for the input impedance.
        f_hz: hertz.
        value, low, high: settled, with its 95 % band.
        unit: dB of gain, or ohm.
        parts: each part's share of the variance, the largest first; below 0 where a part moves
            against the others.
        together: what parts do to it only together; with it the shares add to 1.
    """

    whose: str
    f_hz: float
    value: float
    low: float
    high: float
    unit: Literal["dB", "ohm"]
    parts: tuple[tuple[str, float], ...]
    together: float


def width_at(bench: Bench, f_hz: float) -> tuple[Width, ...]:
    """Where every settled curve's width at a frequency comes from.

    Args:
        bench: the settled crossover.
        f_hz: hertz, above 0.

    Returns:
        The outputs in order, then the input impedance; one that is silent there, or that nothing
        uncertain moves, is left out.
    """
    if not 0.0 < f_hz < inf:
        raise CallError(f"A frequency of {f_hz:g} Hz was asked for; expected more than 0.")
    owners = tuple(dict.fromkeys(owner for owner, _ in bench.drawn))
    if not owners:
        return ()
    found = respond(bench.network, _one_by_one(bench, owners), [f_hz])
    sizes = np.abs(np.concatenate([found.transfer, found.input_impedance[None]]))[..., 0]
    widths = []
    for whose, size in zip((*bench.outputs, INPUT), sizes, strict=True):
        with np.errstate(divide="ignore"):
            level = size if whose == INPUT else 20.0 * np.log10(size)
        if np.isfinite(level).all() and np.ptp(level[1 : 1 + DRAWS]) > 0.0:
            widths.append(_width(whose, f_hz, level, owners))
    return tuple(widths)


def _one_by_one(bench: Bench, owners: tuple[str, ...]) -> dict[Id, float | Floats]:
    """Values for cases side by side: the best; every draw; for each part, its draws alone."""
    count = 1 + DRAWS * (1 + len(owners))
    values: dict[Id, float | Floats] = dict(bench.best)
    for one, row in bench.drawn.items():
        column = np.full(count, bench.best[one])
        column[1 : 1 + DRAWS] = row
        start = 1 + DRAWS * (1 + owners.index(one[0]))
        column[start : start + DRAWS] = row
        values[one] = column
    return values


def _width(whose: str, f_hz: float, level: Floats, owners: tuple[str, ...]) -> Width:
    best, every = float(level[0]), level[1 : 1 + DRAWS]
    effects = level[1 + DRAWS :].reshape(len(owners), DRAWS)
    whole = every - every.mean()
    shares = (effects - effects.mean(axis=1)[:, None]) @ whole / float(whole @ whole)
    order = np.argsort(-np.abs(shares))
    parts = tuple((owners[k], float(shares[k])) for k in order)
    low, high = np.quantile(every, (LOW, HIGH))
    unit: Literal["dB", "ohm"] = "ohm" if whose == INPUT else "dB"
    return Width(whose, f_hz, best, float(low), float(high), unit, parts, 1.0 - float(shares.sum()))
