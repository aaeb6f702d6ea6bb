"""A plan made ready for many draws: what is still apart, and few buffers used again and again.

What hangs on resistances alone is the same at every frequency: it is worked out once a draw. The
rest runs over points in places, a place being free again once what it holds has been read for the
last time.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ohmbook.circuit.algebra import Code, Operation
from ohmbook.circuit.plan import Plan

Step = tuple[Code, int, int, int]


@dataclass(frozen=True, slots=True)
class Lines:
    """The plan for runs in which only the answers matter.

    Args:
        still: (code, left, right, result) by slot, over draws alone.
        held: (slot, place) of everything still that the steps or the answers read.
        leaves: (slot, place) of the varying leaves that they read.
        steps: (code, left, right, result) by place, over points.
        places: how many places.
        answers: (numerator, denominator) places of each output that is not a constant zero.
    """

    still: tuple[Step, ...]
    held: tuple[tuple[int, int], ...]
    leaves: tuple[tuple[int, int], ...]
    steps: tuple[Step, ...]
    places: int
    answers: tuple[tuple[int, int], ...]


@lru_cache(maxsize=512)
def lines(plan: Plan) -> Lines:
    """Divide a plan, and give every result a place."""
    first = plan.leaves + 1
    still = set(range(plan.varying, first))
    apart: list[Step] = []
    moving: list[tuple[Operation, int]] = []
    for k, (code, left, right) in enumerate(plan.operations):
        if left in still and right in still:
            still.add(first + k)
            apart.append((code, left, right, first + k))
        else:
            moving.append(((code, left, right), first + k))
    answers = [(one.n, one.d) for one in plan.outputs if one is not None]
    read = {slot for pair in answers for slot in pair}
    read.update(slot for operation, _ in moving for slot in operation[1:])
    held = sorted(read & still)
    leaves = sorted(slot for slot in read if slot < plan.varying)
    place = {slot: k for k, slot in enumerate([*leaves, *held])}
    # What is still is written by its real part alone, so nothing else may stand in its place.
    steps, places = _placed(moving, place, {*held, *(slot for pair in answers for slot in pair)})
    return Lines(
        tuple(apart),
        tuple((slot, place[slot]) for slot in held),
        tuple((slot, place[slot]) for slot in leaves),
        tuple(steps),
        places,
        tuple((place[n], place[d]) for n, d in answers),
    )


def _placed(
    moving: list[tuple[Operation, int]], place: dict[int, int], kept: set[int]
) -> tuple[list[Step], int]:
    """The steps by place, and how many places; `place` is added to."""
    last_use = dict.fromkeys(kept, len(moving))
    for k in reversed(range(len(moving))):
        for slot in moving[k][0][1:]:
            last_use.setdefault(slot, k)
    free: list[int] = []
    places = len(place)
    steps = []
    for k, ((code, left, right), result) in enumerate(moving):
        # A place read for the last time may hold the result, but not that of "scale".
        ending = {slot for slot in (left, right) if last_use[slot] == k}
        if code != "scale":
            free.extend(place[slot] for slot in ending)
        if not free:
            free.append(places)
            places += 1
        place[result] = free.pop()
        if code == "scale":
            free.extend(place[slot] for slot in ending)
        steps.append((code, place[left], place[right], place[result]))
    return steps, places
