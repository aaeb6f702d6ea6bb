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


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The operations of one topology; only those that an output needs are kept.

    Args:
        leaves: how many leaf slots.
        operations: (code, left slot, right slot), in order.
        outputs: what is worked out; None is a constant zero.
        sums: the slots of sums and differences, where digits can be lost, and of their terms,
            shape (3, sums).
        varying: the first so many leaves vary with frequency; the others are still.
    """

    leaves: int
    operations: tuple[Operation, ...]
    outputs: tuple[Output | None, ...]
    varying: int
    sums: NDArray[np.intp] = field(init=False)

    def __post_init__(self) -> None:
        first = self.leaves + 1
        sums = [(first + k, *one[1:]) for k, one in enumerate(self.operations) if one[0] in "+-"]
        object.__setattr__(self, "sums", np.array(sums, dtype=np.intp).reshape(-1, 3).T)

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
        algebra.varying,
    )
