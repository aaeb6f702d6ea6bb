"""Which plan answers which output, and which points of its run are not to be trusted.

A point is *doubtful* where a result is not finite, where a sum all but cancels, or where a number
comes near the ends of the range of floats.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.careful import careful_plan
from ohmbook.circuit.fast import fast_plan, is_pair
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals

Mask = NDArray[np.bool_]

CANCELLED = 1e-4
"""A sum smaller than this share of its larger term is doubtful."""

RANGE = 1e150
"""Numbers beyond this, or below its reciprocal, are doubtful: their product may leave the range."""


@dataclass(frozen=True, slots=True, eq=False)
class Road:
    """A plan and which outputs it answers.

    Args:
        plan: the plan.
        numbers: the outputs by their number in the network; the input impedance comes last.
        within: the same outputs by their number in the plan.
    """

    plan: Plan
    numbers: list[int]
    within: list[int]

    @property
    def moving(self) -> list[int]:
        """The outputs, by their number in the network, that are not a constant zero."""
        pairs = zip(self.numbers, self.within, strict=True)
        return [number for number, k in pairs if self.plan.outputs[k] is not None]


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """Points solved; the last output is the input impedance.

    Args:
        values: shape (outputs, points); infinite, never NaN.
        slopes: by every leaf, shape (leaves, outputs, points); zero where a value is infinite.
        errors: what rounding in the arithmetic does to a value in the root of the mean square, in
            units of rounding, shape (outputs, points); zero where that was not asked for.
        first: the same before anything was mended; not finite where the first road has no answer.
    """

    values: Complexes
    slopes: Complexes
    errors: Reals
    first: Reals


@lru_cache(maxsize=512)
def roads(ready: Compiled) -> tuple[Road, ...]:
    """The plans that answer a network, together every output that is not a constant."""
    topology = ready.topology
    plan = fast_plan(topology)
    made = [k for k, one in enumerate(plan.outputs) if one is not None]
    fast = Road(plan, made, made)
    pairs = tuple(k for k, probe in enumerate(topology.probes) if is_pair(probe))
    if not pairs:
        return (fast,)
    return fast, Road(careful_plan(topology, pairs), list(pairs), list(range(len(pairs))))


def blank(ready: Compiled, shape: tuple[int, ...]) -> Complexes:
    """Outputs not yet worked out: zero, the input impedance infinite where nothing connects."""
    values = np.zeros((len(ready.topology.probes) + 1, *shape), np.complex128)
    if ready.topology.source and len(values) - 1 not in roads(ready)[0].numbers:
        values[-1] = np.inf
    return values


def empty(ready: Compiled, shape: tuple[int, ...]) -> Complexes:
    """The same, without touching what will be worked out."""
    values = np.empty((len(ready.topology.probes) + 1, *shape), np.complex128)
    moving = {number for road in roads(ready) for number in road.moving}
    for number in set(range(len(values))) - moving:
        values[number] = np.inf if number == len(values) - 1 else 0.0
    return values


def doubtful(plan: Plan, kept: Complexes) -> Mask:
    """Which points of a run are doubtful, shape (points,)."""
    size = np.abs(kept.real) + np.abs(kept.imag)
    wild = ~(size < RANGE) | ((size < 1.0 / RANGE) & (size > 0.0))
    total, left, right = plan.sums
    small = size[total] < CANCELLED * np.maximum(size[left], size[right])
    return np.asarray(wild.any(axis=0) | small.any(axis=0))


def broken(values: Complexes) -> Mask:
    """Which points have a value that cannot be passed on, shape values.shape[1:]."""
    bad = ~np.isfinite(values)
    bad[-1] = np.isnan(values[-1])
    return np.asarray(bad.any(axis=0))


def rounding(slope: Complexes, kept: Complexes) -> Reals:
    """The sum over all slots of |slope * value|: what one unit of rounding in each can do."""
    with np.errstate(all="ignore"):
        share = slope * kept[:, None]
        return np.asarray((np.abs(share.real) + np.abs(share.imag)).sum(axis=0))
