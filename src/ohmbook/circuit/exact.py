"""The last resort, one point at a time: the whole circuit in rational numbers, without rounding.

A float is a rational number, so the leaves are taken at their word and the equations solved
exactly: Kirchhoff's current law at each node, n i = d v for each branch, and the source. Where an
answer exists it is found, however ill the floating-point roads are placed; where none exists (a
lossless resonance with nothing to hold it) that is certain. It takes some milliseconds a point
and is reached only where both plans fail.

Reference: the equations are those of sparse tableau analysis, G. D. Hachtel, R. K. Brayton and
F. G. Gustavson, IEEE Trans. Circuit Theory 18 (1), 1971; slopes by its transpose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Coupled, Topology


@dataclass(frozen=True, slots=True)
class Rational:
    """A complex number with rational parts."""

    re: Fraction
    im: Fraction

    def __add__(self, other: Rational) -> Rational:
        return Rational(self.re + other.re, self.im + other.im)

    def __sub__(self, other: Rational) -> Rational:
        return Rational(self.re - other.re, self.im - other.im)

    def __mul__(self, other: Rational) -> Rational:
        return Rational(
            self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re
        )

    def __truediv__(self, other: Rational) -> Rational:
        size = other.re * other.re + other.im * other.im
        turned = self * Rational(other.re, -other.im)
        return Rational(turned.re / size, turned.im / size)

    def __bool__(self) -> bool:
        return bool(self.re or self.im)

    def __complex__(self) -> complex:
        return complex(float(self.re), float(self.im))


ZERO = Rational(Fraction(0), Fraction(0))
ONE = Rational(Fraction(1), Fraction(0))
Row = dict[int, Rational]


@dataclass(frozen=True, slots=True, eq=False)
class Exact:
    """An answer at one point: its value, None for infinite, and its slope by every leaf."""

    value: complex | None
    slope: Complexes


def solve_exactly(topology: Topology, leaves: Complexes, number: int) -> Exact | None:
    """One output at one point.

    Args:
        topology: the structure.
        leaves: every leaf, shape (leaves,).
        number: which probe; the number after the last stands for the input impedance.

    Returns:
        The answer, or None where the equations contradict each other or leave it open.
    """
    tableau = _Tableau(topology, [_rational(one) for one in leaves])
    if number < len(topology.probes):
        return _voltage(tableau, topology.probes[number])
    return _impedance(tableau)


def _rational(number: complex) -> Rational:
    return Rational(Fraction(float(number.real)), Fraction(float(number.imag)))


class _Tableau:
    """The equations: unknowns are node voltages, branch currents, and the source's current."""

    def __init__(self, topology: Topology, leaves: list[Rational]) -> None:
        self.topology, self.leaves = topology, leaves
        self.current = topology.nodes
        self.windings = self.current + len(topology.links)
        self.size = self.windings + sum(len(one.coils) for one in topology.coupled) + 1

    def rows(self, behind: Rational) -> list[Row]:
        """The equations with the EMF behind a resistance; the last is the source's."""
        topology = self.topology
        law: list[Row] = [{} for _ in range(topology.nodes)]
        # The datum's own current law follows from the others: its row says that it is at zero.
        branch = []
        for k, link in enumerate(topology.links):
            i = self.current + k
            law[link.a][i], law[link.b][i] = ONE, ZERO - ONE
            n, d = self.leaf(link.n), self.leaf(link.d)
            branch.append(_clean({i: n, link.a: ZERO - d, link.b: d}))
        branch += self._coupled_rows(law)
        last = self.size - 1
        law[topology.source][last] = ZERO - ONE
        law[0] = {0: ONE}
        source = _clean({topology.source: ONE, last: behind})
        return [*law, *branch, source]

    def _coupled_rows(self, law: list[Row]) -> list[Row]:
        """v = Z i + the sum of X times the other coils' currents, for each coupled coil."""
        rows = []
        for first, core in self._cores():
            drops: list[Row] = []
            for k, slot in enumerate(core.coils):
                (a, b), i = core.ends[2 * k : 2 * k + 2], first + k
                drops.append({i: self.leaf(slot)})
                if a != b:
                    law[a][i], law[b][i] = ONE, ZERO - ONE
                    drops[k] |= {a: ZERO - ONE, b: ONE}
            for one, other, slot, _ in core.mutuals:
                drops[one][first + other] = drops[other][first + one] = self.leaf(slot)
            rows += [_clean(drop) for drop in drops]
        return rows

    def _cores(self) -> Iterator[tuple[int, Coupled]]:
        """Coils that stay coupled, and where the first one's current is among the unknowns."""
        first = self.windings
        for core in self.topology.coupled:
            yield first, core
            first += len(core.coils)

    def leaf(self, slot: int) -> Rational:
        return ONE if slot < 0 else self.leaves[slot]

    def slope(self, x: list[Rational], multiplier: list[Rational]) -> Complexes:
        """dy = -multiplier . dA x for every leaf (y = c x, A x = b, A^T multiplier = c)."""
        found = [ZERO] * len(self.leaves)
        for k, link in enumerate(self.topology.links):
            weight = multiplier[self.topology.nodes + k]
            if link.n >= 0:
                found[link.n] = found[link.n] - weight * x[self.current + k]
            if link.d >= 0:
                found[link.d] = found[link.d] + weight * (x[link.a] - x[link.b])
        for first, core in self._cores():
            for k, slot in enumerate(core.coils):
                found[slot] = found[slot] - multiplier[first + k] * x[first + k]
            for i, j, slot, _ in core.mutuals:
                one, other = first + i, first + j
                both = multiplier[one] * x[other] + multiplier[other] * x[one]
                found[slot] = found[slot] - both
        return np.array([complex(one) for one in found], np.complex128)


def _voltage(tableau: _Tableau, probe: tuple[int, int]) -> Exact | None:
    behind = tableau.topology.behind
    rows = tableau.rows(ZERO if behind < 0 else tableau.leaf(behind))
    wanted = _clean({probe[0]: ONE, probe[1]: ZERO - ONE}) if probe[0] != probe[1] else {}
    x, multiplier = _both(rows, wanted)
    if x is None or multiplier is None:
        return None
    slope = tableau.slope(x, multiplier)
    if behind >= 0:
        slope[behind] = -complex(multiplier[-1] * x[-1])
    return Exact(complex(x[probe[0]] - x[probe[1]]), slope)


def _impedance(tableau: _Tableau) -> Exact | None:
    # Behind 1 ohm any impedance, zero and infinity included, gives a finite voltage and current.
    rows = tableau.rows(ONE)
    plus, last = tableau.topology.source, tableau.size - 1
    x = _solve(rows, {len(rows) - 1: ONE})
    if x is None:
        return None
    voltage, current = x[plus], x[last]
    if not current:
        return Exact(None, np.zeros(len(tableau.leaves), np.complex128))
    value = voltage / current
    wanted = _clean({plus: ONE / current, last: ZERO - value / current})
    multiplier = _solve(_transposed(rows), wanted)
    return None if multiplier is None else Exact(complex(value), tableau.slope(x, multiplier))


def _both(rows: list[Row], wanted: Row) -> tuple[list[Rational] | None, list[Rational] | None]:
    return _solve(rows, {len(rows) - 1: ONE}), _solve(_transposed(rows), wanted)


def _clean(row: Row) -> Row:
    return {column: one for column, one in row.items() if one}


def _transposed(rows: list[Row]) -> list[Row]:
    turned: list[Row] = [{} for _ in rows]
    for k, row in enumerate(rows):
        for column, one in row.items():
            turned[column][k] = one
    return turned


def _solve(rows: Iterable[Row], right: Row) -> list[Rational] | None:
    """A solution of square equations, None where there is none; what is left open is zero."""
    todo = [(dict(row), right.get(k, ZERO)) for k, row in enumerate(rows)]
    size = len(todo)
    pivots: list[tuple[int, Row, Rational]] = []
    while todo:
        # The shortest row first: it is the one that fills the others least.
        k = min(range(len(todo)), key=lambda one: len(todo[one][0]) or size + 1)
        row, value = todo.pop(k)
        if not row:
            if value or any(other for _, other in todo):
                return None
            break
        column = min(row, key=lambda one: sum(one in other for other, _ in todo))
        todo = [_reduced(other, (row, value), column) for other in todo]
        pivots.append((column, row, value))
    x = [ZERO] * size
    for column, row, value in reversed(pivots):
        for other, one in row.items():
            if other != column:
                value = value - one * x[other]
        x[column] = value / row[column]
    return x


def _reduced(
    equation: tuple[Row, Rational], by: tuple[Row, Rational], column: int
) -> tuple[Row, Rational]:
    row, value = equation
    if column not in row:
        return equation
    share = row[column] / by[0][column]
    reduced = dict(row)
    for other, one in by[0].items():
        reduced[other] = reduced.get(other, ZERO) - share * one
    del reduced[column]
    return _clean(reduced), value - share * by[1]
