"""Plans run over many draws, block by block, in buffers that stay in the processor's cache.

A block is a rectangle of draws and frequencies, either of them down and the other across. A
denominator that several outputs share is inverted once a point.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ohmbook.circuit.lines import lines
from ohmbook.circuit.lossy import LossyLeaves, lossy_leaves
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.polynomials import Fill, Polynomials
from ohmbook.circuit.run import OPERATORS, Complexes, quotient
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import Reals


class Prepared:
    """A plan with what can be worked out once a draw; blocks and threads share it.

    Args:
        plan: the plan.
        ready: the network.
        table: values by row, shape (rows, draws), SI.
        omega: every angular frequency there will be, rad/s.
    """

    def __init__(self, plan: Plan, ready: Compiled, table: Reals, omega: Reals) -> None:
        self.lines = lines(plan, lossy_leaves(ready.bank))
        self.signs = [one.sign for one in plan.outputs if one is not None]
        self.polynomials = Polynomials(ready.bank, self.lines, plan.leaves, table)
        self.lossy = LossyLeaves(ready.bank, self.lines.lossy, table, omega)

    def fills(self, draws: slice, omega: Reals, upright: bool) -> list[Fill]:
        """What the lines' "fill" fills in one block, by number."""
        return [
            *self.polynomials.fills(draws, omega, upright),
            *self.lossy.fills(draws, omega, upright),
        ]


class Workspace:
    """Buffers for blocks of up to so many points of one plan.

    Args:
        prepared: the plan.
        points: how many points a block may have.
    """

    def __init__(self, prepared: Prepared, points: int) -> None:
        self._prepared, self._lines = prepared, prepared.lines
        self._shared = [d for _, d in self._lines.answers]
        self._buffer = np.zeros(self._lines.places * points, np.complex128)
        self._inverse = np.zeros(points, np.complex128)
        self._shape = (0, 0)
        self._places = self._buffer.reshape(1, 1, -1)
        self._calls: list[tuple[Any, Any, Any, Any]] = []

    def run(self, draws: slice, omega: Reals, outs: list[Complexes], upright: bool = False) -> bool:
        """Work out one block.

        Args:
            draws: which draws.
            omega: angular frequency, rad/s; broadcasts with the block.
            outs: for each output that is not a constant zero, an array of the block's shape, to be
                filled: draws down and frequencies across, or the other way if `upright`.
            upright: whether frequencies go down.

        Returns:
            Whether every number is finite.
        """
        self._cut(outs[0].shape)
        fills = self._prepared.fills(draws, omega, upright)
        for operator, left, right, result in self._calls:
            if operator is None:
                fills[left](result)
            else:
                operator(left, right, result)
        return self._answer(outs)

    def _cut(self, shape: tuple[int, int]) -> None:
        """The places cut to the shape of a block, without gaps; the last ones may be smaller."""
        if self._shape == shape:
            return
        self._shape = shape
        count, size = self._lines.places, shape[0] * shape[1]
        self._places = self._buffer[: count * size].reshape(count, *shape)
        rows = list(self._buffer[: count * size].reshape(count, size))
        pairs = self._places.view(np.float64)
        self._calls = [
            (None, left, right, pairs[result])
            if code == "fill"
            else (OPERATORS[code], rows[left], rows[right], rows[result])
            for code, left, right, result in self._lines.steps
        ]

    def _answer(self, outs: list[Complexes]) -> bool:
        """The quotients; an inverse serves all outputs of one denominator."""
        inverse = self._inverse[: self._shape[0] * self._shape[1]].reshape(self._shape)
        inverted = -1
        for (n, d), sign, out in zip(self._lines.answers, self._prepared.signs, outs, strict=True):
            if self._shared.count(d) == 1:
                np.divide(self._places[n], self._places[d], out)
            else:
                if d != inverted:
                    np.divide(1.0, self._places[d], inverse)
                    inverted = d
                np.multiply(self._places[n], inverse, out)
            if sign < 0:
                np.negative(out, out)
        # Two by two, and one by one only where that may have found something.
        others = [*outs[1::2], outs[-1]]
        if all(_finite(*pair) for pair in zip(outs[::2], others, strict=False)):
            return True
        for (n, d), sign, out in zip(self._lines.answers, self._prepared.signs, outs, strict=True):
            if not _finite(out, out):
                quotient(self._places[n], self._places[d], sign, out)
        return False


def _finite(one: Complexes, other: Complexes) -> bool:
    """Whether all of two blocks is finite; may say no where numbers are very large."""
    if not (one.flags.c_contiguous and other.flags.c_contiguous):
        return bool(np.isfinite(one).all() and np.isfinite(other).all())
    first, second = (block.reshape(-1).view(np.float64) for block in (one, other))
    return bool(np.isfinite(first @ second))
