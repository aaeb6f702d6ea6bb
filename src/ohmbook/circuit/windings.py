"""Coils that stay coupled, as branches between all of their ends.

With v = Z i for the coils and i = Y v, the coils are branches between their ends: Y_ii across each
of them, -Y_ij between two ends with dots or two without, and Y_ij between one of each. Y is the
inverse of Z by sweeps, one coil after the other (J. H. Goodnight, Am. Stat. 33 (3), 1979), all of
it over one denominator, so that nothing is divided. Two coils are written out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from ohmbook.circuit.algebra import Algebra, Factors, Ratio, lowest, times
from ohmbook.circuit.topology import Coupled

Between = tuple[int, int, Ratio]

_HIGHEST = 8
"""Degree in the leaves above which a denominator is brought near 1."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """A numerator and its negative, which is there beside the diagonal."""

    plus: Factors
    minus: Factors | None = None


_Matrix = dict[tuple[int, int], _Entry]


def branches(algebra: Algebra, core: Coupled) -> Iterator[Between]:
    """Branches that do what coupled coils do: two nodes and the impedance between them.

    Args:
        algebra: takes the operations.
        core: the coils.
    """
    entries, n = _two(algebra, core) if len(core.coils) == 2 else _swept(algebra, core)
    for (i, j), entry in entries.items():
        (a, b), (c, d) = core.ends[2 * i : 2 * i + 2], core.ends[2 * j : 2 * j + 2]
        plus = lowest(Ratio(n, entry.plus))
        if entry.minus is None:
            yield a, b, plus
        else:
            minus = lowest(Ratio(n, entry.minus))
            yield from ((a, c, plus), (b, d, plus), (a, d, minus), (b, c, minus))


def _two(algebra: Algebra, core: Coupled) -> tuple[_Matrix, Factors]:
    """The inverse of [[Z1, X], [X, Z2]], -Y_12 beside the diagonal, over its determinant."""
    one, other = core.coils
    ((_, _, positive, negative),) = core.mutuals
    square = times((one,), (other,))
    entries = {
        (0, 0): _Entry((other,)),
        (1, 1): _Entry((one,)),
        (0, 1): _Entry((positive,), (negative,)),
    }
    return entries, algebra.combine("-", square, times((positive,), (positive,)))


def _swept(algebra: Algebra, core: Coupled) -> tuple[_Matrix, Factors]:
    """Y_ii on the diagonal, -Y_ij beside it, and what all are over."""
    entries = {(k, k): _Entry((slot,)) for k, slot in enumerate(core.coils)}
    for i, j, positive, negative in core.mutuals:
        entries[min(i, j), max(i, j)] = _Entry((positive,), (negative,))
    over: Factors = ()
    for k in range(len(core.coils)):
        pivot = entries[k, k].plus
        entries = dict(_sweep(algebra, entries, k, over))
        over = times(over, pivot)
        if algebra.degree(over) > _HIGHEST:
            entries, over = _scaled(algebra, entries, over)
    return entries, over


def _sweep(
    algebra: Algebra, entries: _Matrix, k: int, over: Factors
) -> Iterator[tuple[tuple[int, int], _Entry]]:
    """The entries with the k-th coil swept, over `over` times the pivot."""
    pivot = entries[k, k].plus
    row = {i + j - k: entry for (i, j), entry in entries.items() if (i == k) != (j == k)}
    places = {*entries, *combinations(sorted(row), 2)}
    for i, j in sorted(places):
        if i == j == k:
            yield (i, j), _Entry(times(over, over))
        elif k in (i, j):
            yield (i, j), _by(entries[i, j], over)
        else:
            kept = _by(entries[i, j], pivot) if (i, j) in entries else None
            less = _product(row[i], row[j]) if i in row and j in row else None
            yield (i, j), _changed(algebra, kept, less, swept=i == j < k)


def _changed(algebra: Algebra, kept: _Entry | None, less: _Entry | None, swept: bool) -> _Entry:
    """What is kept less the other; what is swept has the negative of its place on the diagonal."""
    if less is None:
        assert kept is not None
        return kept
    assert less.minus is not None
    if kept is None:
        return _Entry(less.minus, less.plus)
    plus = algebra.combine("+" if swept else "-", kept.plus, less.plus)
    if kept.minus is None:
        return _Entry(plus)
    return _Entry(plus, algebra.combine("-", less.plus, kept.plus))


def _by(entry: _Entry, factor: Factors) -> _Entry:
    return _Entry(times(entry.plus, factor), times(entry.minus, factor) if entry.minus else None)


def _product(one: _Entry, other: _Entry) -> _Entry:
    assert other.minus is not None
    return _Entry(times(one.plus, other.plus), times(one.plus, other.minus))


def _scaled(algebra: Algebra, entries: _Matrix, over: Factors) -> tuple[_Matrix, Factors]:
    """All brought down by the power of two that brings the denominator near 1."""
    n = algebra.product(over)
    scale = algebra.operate("scale", n, n)

    def down(product: Factors) -> Factors:
        return (algebra.operate("*", algebra.product(product), scale),)

    return {
        place: _Entry(down(entry.plus), down(entry.minus) if entry.minus else None)
        for place, entry in entries.items()
    }, (algebra.operate("*", n, scale),)
