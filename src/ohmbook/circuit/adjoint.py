"""The reverse sweep: from one run of a plan, the slope of each output by every leaf at once.

A plan is a list of multiplications and additions, so its derivative is the same list read
backwards (reverse accumulation: S. Linnainmaa, BIT 16, 1976). The scale of a ratio changes no
output and has no slope.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.plan import Plan
from ohmbook.circuit.run import Complexes

Step = tuple[str, int, int, int]


@lru_cache(maxsize=512)
def steps_of(plan: Plan, outputs: tuple[int, ...]) -> tuple[tuple[Step, ...], NDArray[np.intp]]:
    """The sweep for some outputs: (what, target, source, factor).

    "=" and "=*" are for a target that nothing has been added to yet. Also the slots that are not
    begun with such a step.
    """
    made = [plan.outputs[k] for k in outputs]
    begun = {slot for one in made if one is not None for slot in (one.n, one.d)}
    steps: list[Step] = []

    def add(what: str, target: int, source: int, factor: int) -> None:
        if target != plan.leaves and _kind(plan, target) != "scale":
            steps.append((what if target in begun else "=" + what, target, source, factor))
            begun.add(target)

    first = plan.leaves + 1
    for k in reversed(range(len(plan.operations))):
        code, left, right = plan.operations[k]
        if first + k not in begun or code == "scale":
            continue
        if code == "*":
            add("*", left, first + k, right)
            add("*", right, first + k, left)
        else:
            add("+", left, first + k, 0)
            add(code, right, first + k, 0)
    written = {step[1] for step in steps if step[0][0] == "="}
    return tuple(steps), np.array(sorted(set(range(plan.slots)) - written), dtype=np.intp)


def merged(steps: tuple[Step, ...], slots: int) -> tuple[tuple[Step, ...], NDArray[np.intp]]:
    """A sweep without copying: what a sum hands on whole stays where it is.

    A result is not looked at again once the sweep has passed its operation, so that a term which
    nothing was added to before can take its place.

    Returns:
        The sweep by places, and the place of each slot; leaves keep theirs.
    """
    heir: dict[int, int] = {}
    kept = []
    for step in steps:
        what, target, source, _ = step
        if what == "=+" and source not in heir:
            heir[source] = target
        else:
            kept.append(step)
    place = np.arange(slots)
    for slot in range(slots):
        at = slot
        while at in heir:
            at = heir[at]
        place[slot] = at
    moved = place.tolist()
    found = tuple((what, moved[to], moved[by], factor) for what, to, by, factor in kept)
    return found, place


def _kind(plan: Plan, slot: int) -> str:
    k = slot - plan.leaves - 1
    return plan.operations[k][0] if k >= 0 else "leaf"


def sweep_each(plan: Plan, kept: Complexes, outputs: NDArray[np.intp]) -> Complexes:
    """The slope of one output at each point by every slot: one sweep for all of them.

    Args:
        plan: the plan.
        kept: its slots, shape (slots, points), from `run.keep`.
        outputs: which output at each point, by number, shape (points,); none below 0.

    Returns:
        Shape (slots, 1, points), as from `sweep`.
    """
    slope = np.empty((plan.slots, 1, kept.shape[1]), np.complex128)
    numbers = tuple(sorted(set(outputs.tolist()) - {-1}))
    steps, blank = steps_of(plan, numbers)
    slope[blank] = 0.0
    with np.errstate(all="ignore"):
        for number in numbers:
            output, at = plan.outputs[number], np.flatnonzero(outputs == number)
            if output is not None:
                seed = output.sign / kept[output.d, at]
                slope[output.n, 0, at] += seed
                slope[output.d, 0, at] -= seed * kept[output.n, at] / kept[output.d, at]
        run_steps(steps, list(slope), list(kept))
    slope[plan.leaves] = 0.0
    return slope


def sweep(plan: Plan, kept: Complexes, outputs: tuple[int, ...]) -> Complexes:
    """The slope of some outputs by every slot.

    Args:
        plan: the plan.
        kept: its slots, shape (slots, points), from `run.keep`.
        outputs: which outputs, by number.

    Returns:
        Shape (slots, outputs, points): d(output)/d(slot), zero where it does not depend on it.
        Not finite where the output's denominator is zero.
    """
    slope = np.empty((plan.slots, len(outputs), kept.shape[1]), np.complex128)
    steps, blank = steps_of(plan, outputs)
    slope[blank] = 0.0
    with np.errstate(all="ignore"):
        for row, number in enumerate(outputs):
            output = plan.outputs[number]
            if output is not None:
                seed = output.sign / kept[output.d]
                slope[output.n, row] += seed
                slope[output.d, row] -= seed * kept[output.n] / kept[output.d]
        run_steps(steps, list(slope), list(kept))
    slope[plan.leaves] = 0.0
    return slope


def run_steps(steps: tuple[Step, ...], rows: list[Complexes], values: list[Complexes]) -> None:
    """Run a sweep whose seeds are set: slopes and values by slot."""
    spare = np.empty(rows[0].shape, np.complex128)
    multiply, add = np.multiply, np.add
    for what, target, source, factor in steps:
        if what == "*":
            multiply(rows[source], values[factor], spare)
            add(rows[target], spare, rows[target])
        elif what == "=*":
            multiply(rows[source], values[factor], rows[target])
        elif what == "+":
            add(rows[target], rows[source], rows[target])
        elif what == "=+":
            rows[target][...] = rows[source]
        elif what == "=-":
            np.negative(rows[source], rows[target])
        else:
            np.subtract(rows[target], rows[source], rows[target])
