"""Gathering many rows' causes and circuits at once: what the models' bundles are made of."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

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


def times(jet: Jet, factors: Sequence[tuple[Index, float]], state: State) -> Jet:
    """Values times the product of (what stands in a column + a number), in one pass.

    Args:
        jet: m values; its slope is overwritten.
        factors: one or more; for each the column of each of the m values, and what is added to it.
        state: where they stand.
    """
    each = [state.z[:, columns] + plus for columns, plus in factors]
    total = reduce(np.multiply, each)
    if jet.slope is None:
        return Jet(jet.value * total)
    slope = jet.slope
    slope *= total[:, :, None]
    rows, count = np.arange(total.shape[1]), slope.shape[2]
    for k, (columns, _) in enumerate(factors):
        others = reduce(np.multiply, (one for j, one in enumerate(each) if j != k), jet.value)
        moved = columns < count
        slope[:, rows[moved], columns[moved]] += others[:, moved]
    return Jet(jet.value * total, slope)


class Gather:
    """Picks each row's own probe out of the solved circuits; rows without a look are 1."""

    def __init__(self, looks: Sequence[Look | None], probes: Sequence[int], layout: Layout) -> None:
        places = [None if look is None else layout.place[look] for look in looks]
        groups = dict.fromkeys(None if place is None else place[0] for place in places)
        self.pieces: list[tuple[int | None, Index, Index]] = []
        self.places: list[Index] = []
        order: list[int] = []
        for group in groups:
            rows = [k for k, one in enumerate(places) if (one[0] if one else None) == group]
            inside = [place[1] if (place := places[k]) else 0 for k in rows]
            at = [probes[k] for k in rows]
            self.pieces.append(
                (group, np.array(at, dtype=np.intp), np.array(inside, dtype=np.intp))
            )
            order += rows
            self.places.append(np.array(rows, dtype=np.intp))
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
        slope = np.zeros((draws, rows, state.layout.count)) if state.with_slopes else None
        for (group, probes, looks), places in zip(self.pieces, self.places, strict=True):
            if group is not None:
                one = state.magnitude(group, probes, looks)
                value[:, places] = one.value
                if slope is not None and one.slope is not None:
                    slope[:, places] = one.slope
        return Jet(value, slope)
