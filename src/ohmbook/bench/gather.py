"""Gathering many rows' causes and circuits at once: what the models' bundles are made of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.layout import ZERO, Index, Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id

Terms = Sequence[tuple[Id, float]]


def padded(rows: Sequence[Terms], layout: Layout) -> list[tuple[Index, np.ndarray]]:
    """Rows of (cause, weight) as columns of one length, filled up with the constant 0."""
    depth = max((len(row) for row in rows), default=0)
    full = [[*row, *[(ZERO, 0.0)] * (depth - len(row))] for row in rows]
    return [
        (layout.columns([row[k][0] for row in full]), np.array([row[k][1] for row in full]))
        for k in range(depth)
    ]


def weighted(rows: Sequence[Terms], layout: Layout) -> Predictor:
    """Sums of values times fixed weights: one matrix, which is its own slope."""
    weights = np.zeros((len(rows), layout.size))
    for k, row in enumerate(rows):
        for one, weight in row:
            weights[k, layout.index[one]] += weight
    slope = weights[None, :, : layout.count]
    used = np.flatnonzero(weights.any(axis=0))
    inner = weights[:, used].T

    def predict(state: State) -> Jet:
        return Jet(state.z[:, used] @ inner, slope if state.with_slopes else None)

    return predict


class Product:
    """Multiplies m values by what stands in some columns, each with a number added, in one pass.

    Args:
        factors: one or more; for each the column of each of the m values, and what is added to it.
        layout: where they stand.
    """

    def __init__(self, factors: Sequence[tuple[Index, float]], layout: Layout) -> None:
        self.columns = np.stack([columns for columns, _ in factors])
        self.plus = np.array([plus for _, plus in factors])[:, None]
        self.moved = [np.flatnonzero(row < layout.count) for row in self.columns]
        self.rows = np.concatenate(self.moved)
        self.which = np.repeat(np.arange(len(factors)), [rows.size for rows in self.moved])
        self.where = self.columns[self.which, self.rows]
        self.once = len(set(zip(self.rows.tolist(), self.where.tolist(), strict=True)))
        self.once = self.once == self.rows.size

    def __call__(self, jet: Jet, state: State) -> Jet:
        """The products; the slope of what is handed in is overwritten."""
        each = state.z[:, self.columns] + self.plus
        total = np.multiply.reduce(each, axis=1)
        value = jet.value * total
        if jet.slope is None:
            return Jet(value)
        slope = jet.slope
        slope *= total[:, :, None]
        own = each[:, self.which, self.rows]
        if self.once and own.all():
            slope[:, self.rows, self.where] += value[:, self.rows] / own
            return Jet(value, slope)
        for k, rows in enumerate(self.moved):
            rest = np.multiply.reduce(np.delete(each, k, axis=1)[:, :, rows], axis=1)
            slope[:, rows, self.columns[k, rows]] += jet.value[:, rows] * rest
        return Jet(value, slope)


class Sum:
    """Adds to m values the sums of values times fixed weights.

    Args:
        rows: for each value its (cause, weight).
        layout: where they stand.
    """

    def __init__(self, rows: Sequence[Terms], layout: Layout) -> None:
        self.used = np.array(
            sorted({layout.index[one] for row in rows for one, _ in row}), dtype=np.intp
        )
        place = {column: k for k, column in enumerate(self.used.tolist())}
        self.weights = np.zeros((len(rows), self.used.size))
        for k, row in enumerate(rows):
            for one, weight in row:
                self.weights[k, place[layout.index[one]]] += weight
        self.moved = np.flatnonzero(self.used < layout.count)

    def __call__(self, jet: Jet, state: State) -> Jet:
        """The sums; the slope of what is handed in is overwritten."""
        if not self.used.size:
            return jet
        value = jet.value + state.z[:, self.used] @ self.weights.T
        if jet.slope is not None and self.moved.size:
            jet.slope[:, :, self.used[self.moved]] += self.weights[:, self.moved]
        return Jet(value, jet.slope)


class Gather:
    """Picks each row's own probe out of the solved circuits; rows without a look are 1."""

    def __init__(self, looks: Sequence[Look | None], probes: Sequence[int], layout: Layout) -> None:
        places = [None if look is None else layout.place[look] for look in looks]
        groups = dict.fromkeys(None if place is None else place[0] for place in places)
        self.pieces: list[tuple[int | None, Index, Index]] = []
        self.runs: list[Index | slice] = []
        order: list[int] = []
        for group in groups:
            rows = [k for k, one in enumerate(places) if (one[0] if one else None) == group]
            inside = [place[1] if (place := places[k]) else 0 for k in rows]
            at = [probes[k] for k in rows]
            self.pieces.append(
                (group, np.array(at, dtype=np.intp), np.array(inside, dtype=np.intp))
            )
            order += rows
            self.runs.append(_run(np.array(rows, dtype=np.intp)))
        self.back = np.argsort(np.array(order, dtype=np.intp))
        self.nothing = layout.columns([ZERO])

    def __call__(self, state: State) -> Jet:
        """Every row's own complex value, in order."""
        found = []
        for group, probes, looks in self.pieces:
            if group is None:
                found.append((state.take(self.nothing) + 1.0).pick(looks))
            else:
                found.append(state.transfer(group, probes, looks))
        return concatenate(found).pick(self.back)

    def magnitudes(self, state: State) -> Jet:
        """Every row's own absolute value, in order; the slope is a new array."""
        draws, rows = state.z.shape[0], self.back.size
        value = np.ones((draws, rows))
        slope = None
        if state.with_slopes:
            # in memory by unknown, as the circuits' slopes come
            slope = np.zeros((state.layout.count, draws, rows)).transpose(1, 2, 0)
        for (group, probes, looks), places in zip(self.pieces, self.runs, strict=True):
            if group is not None:
                one = state.magnitude(group, probes, looks)
                value[:, places] = one.value
                if slope is not None and one.slope is not None:
                    slope[:, places] = one.slope
        return Jet(value, slope)


def _run(rows: Index) -> Index | slice:
    """Rows as a slice where they follow one another."""
    if rows.size and np.array_equal(rows, np.arange(rows[0], rows[0] + rows.size)):
        return slice(int(rows[0]), int(rows[0]) + rows.size)
    return rows
