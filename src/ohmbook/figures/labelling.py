"""Where a label can stand without covering a curve or another label. Plain geometry, in pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ohmbook.figures.boxes import Box, Spot, around, near_point

Floats = NDArray[np.float64]

_PER_RANK, _PER_BOX, _OUTSIDE = 1e-6, 1e4, 1e6
_LEADER_CLEAR, _CELL = 20.0, 3.0


@dataclass(frozen=True, slots=True)
class Taken:
    """What is there already: points along the curves (n, 2), and boxes."""

    points: Floats
    boxes: tuple[Box, ...] = ()

    @staticmethod
    def of_lines(lines: Sequence[Floats]) -> Taken:
        """Taken by polylines, each of shape (n, 2)."""
        return Taken(dense_points(lines))

    def with_box(self, box: Box) -> Taken:
        """The same with one more box."""
        return Taken(self.points, (*self.boxes, box))


def free_spot(
    spots: Sequence[Spot], size: Spot, taken: Taken, frame: Box, start: Spot | None = None
) -> Spot:
    """The spot that covers least; of several that cover nothing, the nearest or the first.

    Args:
        spots: middles to try, the best first.
        size: width and height of the label with its margin.
        taken: what not to cover.
        frame: what not to leave.
        start: where a leader to the label begins, which should be short and cross nothing; or
            None, where the order of the spots decides.
    """
    raster = _Raster.of(taken.points, frame)

    def cost(rank: int) -> float:
        box = around(spots[rank], size)
        covered = float(raster.count_in(box))
        covered += _PER_BOX * sum(box.overlaps(other) for other in taken.boxes)
        covered += 0.0 if box.within(frame) else _OUTSIDE
        if start is None or covered:
            return covered + _PER_RANK * rank
        return covered + _leader_cost(start, box, taken, raster)

    return spots[min(range(len(spots)), key=cost)]


def _leader_cost(start: Spot, box: Box, taken: Taken, raster: _Raster) -> float:
    """How long a leader is, and how much it passes over, below 1."""
    end = near_point(box, start)
    length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    along = np.arange(_LEADER_CLEAR, length, _CELL) / max(length, 1.0)
    path = np.asarray(start) + along[:, None] * (np.asarray(end) - np.asarray(start))
    crossed = float(raster.count_at(path))
    crossed += sum(one.holds(p) for one in taken.boxes for p in path.tolist())
    return min(0.9, length / 2000.0 + 0.02 * crossed)


@dataclass(frozen=True, slots=True)
class _Raster:
    """Which cells of a frame hold a point of a curve, with running sums over rows and columns."""

    origin: Spot
    filled: NDArray[np.bool_]
    sums: NDArray[np.intp]

    @staticmethod
    def of(points: Floats, frame: Box) -> _Raster:
        shape = (
            int((frame.x1 - frame.x0) / _CELL) + 1,
            int((frame.y1 - frame.y0) / _CELL) + 1,
        )
        filled = np.zeros(shape, np.bool_)
        cells = np.floor((points - (frame.x0, frame.y0)) / _CELL).astype(np.intp)
        inside = np.all((cells >= 0) & (cells < shape), axis=1)
        filled[tuple(cells[inside].T)] = True
        sums = np.zeros((shape[0] + 1, shape[1] + 1), np.intp)
        sums[1:, 1:] = filled.cumsum(axis=0).cumsum(axis=1)
        return _Raster((frame.x0, frame.y0), filled, sums)

    def count_in(self, box: Box) -> int:
        x0, x1 = (self._cell(x, 0) for x in (box.x0, box.x1 + _CELL))
        y0, y1 = (self._cell(y, 1) for y in (box.y0, box.y1 + _CELL))
        s = self.sums
        return int(s[x1, y1] - s[x0, y1] - s[x1, y0] + s[x0, y0])

    def count_at(self, path: Floats) -> int:
        cells = np.floor((path - self.origin) / _CELL).astype(np.intp)
        inside = np.all((cells >= 0) & (cells < self.filled.shape), axis=1)
        return int(np.count_nonzero(self.filled[tuple(cells[inside].T)]))

    def _cell(self, coordinate: float, axis: int) -> int:
        last: int = self.filled.shape[axis]
        return min(max(int((coordinate - self.origin[axis]) // _CELL), 0), last)


def dense_points(lines: Sequence[Floats], step: float = 2.0) -> Floats:
    """Points no further apart than a step along each polyline, so that no box slips between.

    Args:
        lines: each of shape (n, 2); rows that are not finite break a line.
        step: pixels.
    """
    found = [np.empty((0, 2))]
    for line in lines:
        for a, b in pairwise(line):
            if np.all(np.isfinite(a)) and np.all(np.isfinite(b)):
                count = 2 + int(np.hypot(*(b - a)) / step)
                found.append(a + np.linspace(0.0, 1.0, count)[:, None] * (b - a))
    return np.concatenate(found)
