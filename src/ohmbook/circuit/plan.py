"""A plan: the flat list of multiplications and additions that answers one topology.

Made once for a topology and run on any values. Slots: the leaves first, then the number 1, then
the result of each operation in order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.algebra import Algebra, Operation, Ratio


@dataclass(frozen=True, slots=True)
class Output:
    """One answer: sign * numerator / denominator, both slots."""

    sign: int
    n: int
    d: int


@dataclass(frozen=True, slots=True)
class Lines:
    """The plan for runs in which only the answers matter: buffers used again and again.

    Args:
        steps: (code, left, right, result) for each operation.
        places: how many slots: leaves, the number 1, buffers.
        answers: (numerator, denominator) of each output that is not a constant zero.
    """

    steps: tuple[tuple[str, int, int, int], ...]
    places: int
    answers: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The operations of one topology; only those that an output needs are kept.

    Args:
        leaves: how many leaf slots.
        operations: (code, left slot, right slot), in order.
        outputs: what is worked out; None is a constant zero.
        sums: the slots of sums and differences, where digits can be lost, and of their terms,
            shape (3, sums).
        lines: the same operations with few buffers.
    """

    leaves: int
    operations: tuple[Operation, ...]
    outputs: tuple[Output | None, ...]
    sums: NDArray[np.intp] = field(init=False)
    lines: Lines = field(init=False)

    def __post_init__(self) -> None:
        first = self.leaves + 1
        sums = [(first + k, *one[1:]) for k, one in enumerate(self.operations) if one[0] in "+-"]
        object.__setattr__(self, "sums", np.array(sums, dtype=np.intp).reshape(-1, 3).T)
        object.__setattr__(self, "lines", _lines(self))

    @property
    def slots(self) -> int:
        """How many slots in all."""
        return self.leaves + 1 + len(self.operations)


@dataclass(frozen=True, slots=True)
class Answer:
    """An output before its operations are settled: sign times a ratio."""

    ratio: Ratio
    sign: int = 1


def finished(algebra: Algebra, answers: Sequence[Answer | None]) -> Plan:
    """The plan that works out these answers, without what none of them needs."""
    pairs = [
        (one.sign, algebra.product(one.ratio.n), algebra.product(one.ratio.d)) if one else None
        for one in answers
    ]
    first = algebra.leaves + 1
    needed = {slot for pair in pairs if pair for slot in pair[1:]}
    for k in reversed(range(len(algebra.operations))):
        if first + k in needed:
            needed.update(algebra.operations[k][1:])
    kept = [k for k in range(len(algebra.operations)) if first + k in needed]
    slot = {k: k for k in range(first)} | {first + k: first + j for j, k in enumerate(kept)}
    operations = [algebra.operations[k] for k in kept]
    return Plan(
        algebra.leaves,
        tuple((code, slot[left], slot[right]) for code, left, right in operations),
        tuple(Output(pair[0], slot[pair[1]], slot[pair[2]]) if pair else None for pair in pairs),
    )


def _lines(plan: Plan) -> Lines:
    first = plan.leaves + 1
    answers = [(one.n, one.d) for one in plan.outputs if one is not None]
    last_use = {slot: len(plan.operations) for pair in answers for slot in pair}
    for k in reversed(range(len(plan.operations))):
        for slot in plan.operations[k][1:]:
            last_use.setdefault(slot, k)
    place = {slot: slot for slot in range(first)}
    free: list[int] = []
    places = first
    steps = []
    for k, (code, left, right) in enumerate(plan.operations):
        # A buffer read for the last time may hold the result, but not that of "scale".
        ending = {slot for slot in (left, right) if slot >= first and last_use[slot] == k}
        if code != "scale":
            free.extend(place[slot] for slot in ending)
        if not free:
            free.append(places)
            places += 1
        place[first + k] = free.pop()
        if code == "scale":
            free.extend(place[slot] for slot in ending)
        steps.append((code, place[left], place[right], place[first + k]))
    return Lines(tuple(steps), places, tuple((place[n], place[d]) for n, d in answers))
