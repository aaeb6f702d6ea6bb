"""Products and sums of leaves, kept as factors so that common ones cancel before any arithmetic.

An `Algebra` collects the operations of one plan. A product is a sorted tuple of the ids of its
factors; an id is a leaf's slot, the slot of the number 1, or that of an earlier operation. Equal
operations are made once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

Factors = tuple[int, ...]
Code = Literal["*", "+", "-", "scale"]
Operation = tuple[Code, int, int]

_LOOKED_AT = 12
"""Among how many factors of a product one looks for two that were multiplied before."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """A projective number n:d, worth n/d; as an impedance a short is 0:1. An open is None."""

    n: Factors
    d: Factors


def times(*factors: Factors) -> Factors:
    """The product of products."""
    return tuple(sorted(sum(factors, ())))


def without(product: Factors, counted: Counter[int]) -> Factors:
    """A product with these factors taken out."""
    return tuple(sorted((Counter(product) - counted).elements()))


def lowest(ratio: Ratio) -> Ratio:
    """The ratio in lowest terms."""
    shared = Counter(ratio.n) & Counter(ratio.d)
    return Ratio(without(ratio.n, shared), without(ratio.d, shared)) if shared else ratio


class Algebra:
    """The operations of one plan, while it is being made.

    Args:
        leaves: how many leaf slots; slot `leaves` holds the number 1, operations follow.
        limit: the degree in the leaves above which a ratio is rescaled by a power of two, so that
            no product overflows however many factors it has.
        varying: the first so many leaves vary with frequency; the others are still.
    """

    def __init__(self, leaves: int, limit: int, varying: int | None = None) -> None:
        self.leaves = leaves
        self.limit = limit
        self.varying = leaves if varying is None else varying
        self._still = [k >= self.varying for k in range(leaves + 1)]
        self.operations: list[Operation] = []
        self._known: dict[Operation, int] = {}
        self._degree = [1] * leaves + [0]

    def operate(self, code: Code, left: int, right: int) -> int:
        """The id of an operation, made if it is new."""
        if code != "-" and right < left:
            left, right = right, left
        operation = (code, left, right)
        if operation not in self._known:
            self._known[operation] = self.leaves + 1 + len(self.operations)
            self.operations.append(operation)
            self._still.append(self._still[left] and self._still[right])
            a, b = self._degree[left], self._degree[right]
            self._degree.append({"*": a + b, "scale": -max(a, b)}.get(code, max(a, b)))
        return self._known[operation]

    def product(self, factors: Factors) -> int:
        """The id of a product multiplied out."""
        if not factors:
            return self.leaves
        # What is still goes first: its product is worked out once a draw, not at every frequency.
        rest = sorted(factors, key=lambda one: (not self._still[one], one))
        while len(rest) > 1:
            left, right = self._known_pair(rest) or (rest[0], rest[1])
            rest.remove(left)
            rest.remove(right)
            rest.insert(0, self.operate("*", left, right))
        return rest[0]

    def _known_pair(self, factors: list[int]) -> tuple[int, int] | None:
        """Two factors whose product is there already and varies."""
        for left, right in combinations(factors[:_LOOKED_AT], 2):
            operation: Operation = ("*", min(left, right), max(left, right))
            if operation in self._known and not self._still[self._known[operation]]:
                return left, right
        return None

    def degree(self, factors: Factors) -> int:
        """The degree of a product in the leaves, as far as rescaling has not taken it down."""
        return sum(self._degree[factor] for factor in factors)

    def combine(self, code: Literal["+", "-"], left: Factors, right: Factors) -> Factors:
        """A sum or difference, common factors kept outside."""
        shared = Counter(left) & Counter(right)
        one, other = self.product(without(left, shared)), self.product(without(right, shared))
        return times(tuple(shared.elements()), (self.operate(code, one, other),))

    def total(self, terms: Iterable[Factors]) -> Factors:
        """The sum of products, of which there is at least one."""
        first, *rest = terms
        for term in rest:
            first = self.combine("+", first, term)
        return first

    def parallel(self, one: Ratio | None, other: Ratio | None) -> Ratio | None:
        """Two impedances in parallel."""
        if one is None or other is None:
            return one or other
        d = self.total([times(one.n, other.d), times(one.d, other.n)])
        return lowest(Ratio(times(one.n, other.n), d))

    def tamed(self, ratio: Ratio, limit: int | None = None) -> Ratio:
        """The ratio, both parts scaled by one power of two where its degree passes the limit."""
        limit = self.limit if limit is None else limit
        if max(self.degree(ratio.n), self.degree(ratio.d)) <= limit:
            return ratio
        n, d = self.product(ratio.n), self.product(ratio.d)
        scale = self.operate("scale", n, d)
        return Ratio((self.operate("*", n, scale),), (self.operate("*", d, scale),))
