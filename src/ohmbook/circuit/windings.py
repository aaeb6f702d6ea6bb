"""Coils that stay coupled, as branches between all of their ends.

With v = Z i for the coils, i = Y v, and the coils are branches between their ends: Y_ii across each
of them, -Y_ij between two ends with dots or two without, and Y_ij between one of each. Y is the
inverse of Z by sweeps, one coil after the other (J. H. Goodnight, Am. Stat. 33 (3), 1979), each
entry a ratio, so that nothing is divided. Two coils are written out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from ohmbook.circuit.algebra import Algebra, Ratio, lowest, times, without
from ohmbook.circuit.topology import Coupled

Between = tuple[int, int, Ratio]


@dataclass(frozen=True, slots=True)
class _Entry:
    """A number of the matrix, and its negative; on the diagonal that is not needed."""

    plus: Ratio
    minus: Ratio | None = None


_Matrix = dict[tuple[int, int], _Entry]


def branches(algebra: Algebra, core: Coupled) -> Iterator[Between]:
    """Branches that do what coupled coils do: two nodes and the impedance between them.

    Args:
        algebra: takes the operations.
        core: the coils.
    """
    entries = _two(algebra, core) if len(core.coils) == 2 else _swept(algebra, core)
    for (i, j), entry in entries.items():
        (a, b), (c, d) = core.ends[2 * i : 2 * i + 2], core.ends[2 * j : 2 * j + 2]
        plus = _upside_down(entry.plus)
        if entry.minus is None:
            yield a, b, plus
        else:
            minus = _upside_down(entry.minus)
            yield from ((a, c, plus), (b, d, plus), (a, d, minus), (b, c, minus))


def _upside_down(ratio: Ratio) -> Ratio:
    return Ratio(ratio.d, ratio.n)


def _two(algebra: Algebra, core: Coupled) -> _Matrix:
    """The inverse of [[Z1, X], [X, Z2]]; its determinant is kept in one piece."""
    one, other = core.coils
    ((_, _, positive, negative),) = core.mutuals
    square = times((one,), (other,))
    n = algebra.combine("-", square, times((positive,), (positive,)))
    return {
        (0, 0): _Entry(Ratio((other,), n)),
        (1, 1): _Entry(Ratio((one,), n)),
        (0, 1): _Entry(Ratio((positive,), n), Ratio((negative,), n)),
    }


def _swept(algebra: Algebra, core: Coupled) -> _Matrix:
    """Y_ii on the diagonal, -Y_ij beside it."""
    count = len(core.coils)
    entries = {(k, k): _Entry(Ratio((slot,), ())) for k, slot in enumerate(core.coils)}
    for i, j, positive, negative in core.mutuals:
        entries[min(i, j), max(i, j)] = _Entry(Ratio((positive,), ()), Ratio((negative,), ()))
    for k in range(count):
        others = [j for j in range(count) if (min(j, k), max(j, k)) in entries and j != k]
        pivot = entries[k, k].plus
        row = {j: entries[min(j, k), max(j, k)] for j in others}
        for i in others:
            # What is swept already has the negative of its place on the diagonal.
            square = _divided(_product(row[i].plus, row[i].plus), pivot)
            code: Literal["+", "-"] = "+" if i < k else "-"
            entries[i, i] = _Entry(_combined(algebra, code, entries[i, i].plus, square))
        for i, j in combinations(others, 2):
            entries[i, j] = _less(algebra, entries.get((i, j)), (row[i], row[j]), pivot)
        for j in others:
            entries[min(j, k), max(j, k)] = _over(algebra, row[j], pivot)
        entries[k, k] = _Entry(_upside_down(pivot))
    return entries


def _less(
    algebra: Algebra, entry: _Entry | None, pair: tuple[_Entry, _Entry], pivot: Ratio
) -> _Entry:
    """The entry less the product of two of the pivot's row over the pivot."""
    one, other = pair
    assert other.minus is not None
    plus, minus = (_divided(_product(one.plus, far), pivot) for far in (other.plus, other.minus))
    if entry is None:
        return _Entry(_tamed(algebra, minus), _tamed(algebra, plus))
    assert entry.minus is not None
    return _Entry(
        _combined(algebra, "-", entry.plus, plus), _combined(algebra, "-", plus, entry.plus)
    )


def _over(algebra: Algebra, entry: _Entry, pivot: Ratio) -> _Entry:
    assert entry.minus is not None
    return _Entry(
        _tamed(algebra, _divided(entry.plus, pivot)), _tamed(algebra, _divided(entry.minus, pivot))
    )


def _product(one: Ratio, other: Ratio) -> Ratio:
    return lowest(Ratio(times(one.n, other.n), times(one.d, other.d)))


def _divided(one: Ratio, other: Ratio) -> Ratio:
    return _product(one, _upside_down(other))


def _combined(algebra: Algebra, code: Literal["+", "-"], one: Ratio, other: Ratio) -> Ratio:
    """A sum or difference over the least common denominator."""
    shared = Counter(one.d) | Counter(other.d)
    d = tuple(shared.elements())
    left, right = (times(ratio.n, without(d, Counter(ratio.d))) for ratio in (one, other))
    return _tamed(algebra, lowest(Ratio(algebra.combine(code, left, right), times(d))))


def _tamed(algebra: Algebra, ratio: Ratio) -> Ratio:
    """Four of them are multiplied before they are looked at again."""
    return algebra.tamed(ratio, algebra.limit // 4)
