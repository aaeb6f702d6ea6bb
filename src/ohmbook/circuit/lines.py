"""A plan made ready for many draws: what is worked out once a draw, and few buffers used again.

Where no loss exponent is, a leaf is a + b jw, and products and sums of a few of them are
polynomials in jw whose coefficients hang on the draw alone. Those of low degree are made once a
draw and filled at all frequencies by one matrix product, which costs less than a single
multiplication a point. The rest runs over points in places, a place being free again once what it
holds has been read for the last time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from ohmbook.circuit.algebra import Code, Operation
from ohmbook.circuit.plan import Plan

Step = tuple[Code, int, int, int]
Line = tuple[Code | Literal["fill"], int, int, int]

DEGREE = 4
"""The highest degree of a polynomial. Beyond it, little is saved, and multiplied-out factors lose
digits that the factors keep."""


@dataclass(frozen=True, slots=True)
class Lines:
    """The plan for runs in which only the answers matter.

    Args:
        apart: (code, left, right, result) by slot: the polynomials, over draws alone.
        filled: the slots of the polynomials that the steps or the answers read.
        lossy: the same of the leaves with a loss exponent.
        steps: (code, left, right, result) by place, over points; ("fill", which, 0, result) puts
            a polynomial there, or a lossy leaf, these being counted after the polynomials.
        places: how many places.
        answers: (numerator, denominator) places of each output that is not a constant zero.
    """

    apart: tuple[Step, ...]
    filled: tuple[int, ...]
    lossy: tuple[int, ...]
    steps: tuple[Line, ...]
    places: int
    answers: tuple[tuple[int, int], ...]


@lru_cache(maxsize=512)
def lines(plan: Plan, lossy: frozenset[int] = frozenset()) -> Lines:
    """Divide a plan, and give every result a place.

    Args:
        plan: the plan.
        lossy: the leaves that are no polynomials.
    """
    first, degree = plan.leaves + 1, _degrees(plan, lossy)
    pairs = [(one.n, one.d) for one in plan.outputs if one is not None]
    answers = {slot for pair in pairs for slot in pair}
    read, moving = set(answers), []
    for k in reversed(range(len(plan.operations))):
        if first + k in read and first + k not in degree:
            moving.append((plan.operations[k], first + k))
            read.update(plan.operations[k][1:])
    moving.reverse()
    filled = tuple(sorted(slot for slot in read if slot in degree))
    rest = tuple(sorted(read & lossy))
    number = {slot: k for k, slot in enumerate([*filled, *rest])}
    steps, place = _placed(_with_fills(moving, number, answers), answers)
    return Lines(
        _apart(plan, degree, filled),
        filled,
        rest,
        tuple(steps),
        1 + max(place.values(), default=0),
        tuple((place[n], place[d]) for n, d in pairs),
    )


def _with_fills(
    moving: list[tuple[Operation, int]], number: dict[int, int], answers: set[int]
) -> list[Line]:
    """The operations by slot, each after what it reads has been filled: late, so that few places
    are taken at a time."""
    steps: list[Line] = []
    left_out = dict(number)

    def fill(*slots: int) -> None:
        for slot in slots:
            if slot in left_out:
                steps.append(("fill", left_out.pop(slot), 0, slot))

    for (code, left, right), result in moving:
        fill(left, right)
        steps.append((code, left, right, result))
    fill(*sorted(answers))
    return steps


def _degrees(plan: Plan, lossy: frozenset[int]) -> dict[int, int]:
    """The degree of every slot that holds a polynomial of low degree."""
    degree = {k: 1 if k < plan.varying else 0 for k in range(plan.leaves + 1) if k not in lossy}
    for k, (code, left, right) in enumerate(plan.operations):
        if code != "scale" and left in degree and right in degree:
            pair = degree[left], degree[right]
            found = sum(pair) if code == "*" else max(pair)
            if found <= DEGREE:
                degree[plan.leaves + 1 + k] = found
    return degree


def _apart(plan: Plan, degree: dict[int, int], wanted: Iterable[int]) -> tuple[Step, ...]:
    """The operations that the wanted polynomials rest on."""
    first, needed, steps = plan.leaves + 1, set(wanted), []
    for k in reversed(range(len(plan.operations))):
        if first + k in needed and first + k in degree:
            code, left, right = plan.operations[k]
            needed.update((left, right))
            steps.append((code, left, right, first + k))
    return tuple(reversed(steps))


def _placed(steps: list[Line], kept: set[int]) -> tuple[list[Line], dict[int, int]]:
    """The steps by place, and the place of every slot."""
    last_use = dict.fromkeys(kept, len(steps))
    for k in reversed(range(len(steps))):
        for slot in _reads(steps[k]):
            last_use.setdefault(slot, k)
    free: list[int] = []
    place: dict[int, int] = {}
    found: list[Line] = []
    taken = 0
    for k, step in enumerate(steps):
        code, left, right, result = step
        # A place read for the last time may hold the result, but not that of "scale".
        ending = [place[slot] for slot in {*_reads(step)} if last_use[slot] == k]
        if code != "scale":
            free.extend(ending)
        if not free:
            free.append(taken)
            taken += 1
        place[result] = free.pop()
        if code == "scale":
            free.extend(ending)
        if code != "fill":
            left, right = place[left], place[right]
        found.append((code, left, right, place[result]))
    return found, place


def _reads(step: Line) -> tuple[int, ...]:
    return () if step[0] == "fill" else step[1:3]
