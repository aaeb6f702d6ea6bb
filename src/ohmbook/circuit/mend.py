"""Doubtful points solved again, by roads that can answer for themselves.

The careful plan first, with a rounding-error analysis of each point; what it cannot vouch for is
solved exactly; what has no answer at all is told.
"""

from __future__ import annotations

import numpy as np

from ohmbook.circuit.adjoint import sweep
from ohmbook.circuit.careful import careful_plan
from ohmbook.circuit.exact import solve_exactly
from ohmbook.circuit.road import Solution, blank, rounding
from ohmbook.circuit.rounding import ONCE, growth
from ohmbook.circuit.run import Complexes, keep, ratios
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals
from ohmbook.errors import ContradictionError

_TRUSTED = 1e4
"""The careful plan is believed where rounding errors grow by less than this (12 digits left)."""

_NULL = 50.0
"""And at a null, where they stay below this many units of rounding of the EMF."""

_CHUNK = 256
"""Points worked on at a time."""


def mend(ready: Compiled, leaves: Complexes, f_hz: Reals, with_errors: bool = False) -> Solution:
    """Solve doubtful points by the careful plan, and exactly where it cannot vouch for itself.

    Args:
        ready: the network, its source not shorted.
        leaves: shape (leaves, points).
        f_hz: shape (points,), for messages.
        with_errors: whether to work out what rounding does to the answers.

    Raises:
        ContradictionError: a point without a finite answer.
    """
    parts = [
        _mended(ready, leaves[:, k : k + _CHUNK], f_hz[k : k + _CHUNK], with_errors)
        for k in range(0, leaves.shape[1], _CHUNK)
    ]
    errors = np.concatenate([one.errors for one in parts], axis=-1)
    return Solution(
        np.concatenate([one.values for one in parts], axis=-1),
        np.concatenate([one.slopes for one in parts], axis=-1),
        errors,
        errors,
    )


def _mended(ready: Compiled, leaves: Complexes, f_hz: Reals, with_errors: bool) -> Solution:
    numbers = tuple(range(len(ready.topology.probes) + 1))
    plan = careful_plan(ready.topology, numbers)
    kept = keep(plan, leaves)
    values = np.where(
        [[one is None] for one in plan.outputs],
        blank(ready, leaves.shape[1:]),
        ratios(plan, kept),
    )
    slope = sweep(plan, kept, numbers)
    slopes = slope[: plan.leaves].copy()
    errors = growth(plan, slope, kept, values) if with_errors else np.zeros(values.shape)
    with np.errstate(all="ignore"):
        limit = _TRUSTED * np.abs(values)
        limit[:-1] += _NULL
        good = (rounding(slope, kept) <= limit) & np.isfinite(values)
    good |= [[one is None] for one in plan.outputs]
    for number, point in zip(*np.nonzero(~good), strict=True):
        found = solve_exactly(ready.topology, leaves[:, point], int(number))
        if found is None:
            raise _no_answer(ready, int(number), float(f_hz[point]))
        values[number, point] = np.inf if found.value is None else found.value
        slopes[:, number, point] = found.slope
        # Nothing but its last rounding stands between an exact answer and its leaves.
        errors[number, point] = ONCE**0.5 * abs(found.value or 0.0)
    return Solution(values, slopes, errors, errors)


def _no_answer(ready: Compiled, number: int, f_hz: float) -> ContradictionError:
    probes = ready.network.probes
    what = "The input impedance"
    if number < len(probes):
        a, b = probes[number]
        what = f'The voltage from "{a}" to "{b}"'
    return ContradictionError(
        f"{what} has no finite value at {f_hz:g} Hz: the source drives a short or a lossless "
        "resonance there, and nothing limits it. Give the parts or the source some resistance."
    )
