"""The problem, stacked: unknowns and blocks as one whitened system in t.

Residuals are [K^-1 D^-1 (f(x(t)) - y) ; (t - centre) / u]. Raising input j (an observation, a
prior centre) by one standard uncertainty lowers residual j by one, so the inputs are independent
and of unit variance. Jacobians are taken by (t - centre) / u, which gives every column the same
footing and the prior the identity.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmbook.errors import CallError, SettleError
from ohmbook.evidence.observation import Block, Linearising
from ohmbook.evidence.scale import Scales
from ohmbook.evidence.unknown import Array, Shape, Unknown
from ohmbook.evidence.whitening import Whitening

Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Piece:
    """One block in its place: its columns among the unknowns, the rows of it that are used and
    whether those are all, the block again where it takes many draws at once, and whether its
    columns are all unknowns in order."""

    block: Block
    columns: Rows
    used: Rows
    whole: bool
    many: Linearising | None
    alone: bool

    @property
    def covariance(self) -> Array:
        """Covariance of the used observations' own errors."""
        return np.asarray(self.block.covariance, dtype=np.float64)[np.ix_(self.used, self.used)]

    def predict(self, x: Array) -> Array:
        """What should be read, shape (draws, used), from all unknowns, shape (draws, n)."""
        y = np.asarray(self.block.predict(x[:, self.columns]))
        if y.shape != (len(x), len(self.block.labels)):
            raise CallError(f"The block of {self.block.labels} predicts the shape {y.shape}.")
        return y if self.whole else y[:, self.used]

    def guess(self, x: Array) -> Array:
        """As `predict`, with no more digits than a search needs."""
        if self.many is None:
            return self.predict(x)
        y = self.many.guess(x[:, self.columns])
        return y if self.whole else y[:, self.used]

    def jacobian(self, x: Array) -> Array:
        """dy/dx of the used observations by the block's own columns."""
        jacobian = np.asarray(self.block.jacobian(x[self.columns]))
        if jacobian.shape != (len(self.block.labels), len(self.columns)):
            raise CallError(
                f"The block of {self.block.labels} has a Jacobian of shape {jacobian.shape}."
            )
        return jacobian if self.whole else jacobian[self.used]

    def linearise(self, x: Array, careful: bool = False) -> tuple[Array, Array]:
        """Predictions (draws, used) and their slopes (draws, used, columns) at many x at once."""
        if self.many is None:
            return self.predict(x), np.array([self.jacobian(one) for one in x])
        y, slope = self.many.linearise(x[:, self.columns], careful)
        return (y, slope) if self.whole else (y[:, self.used], slope[:, self.used])


@dataclass(frozen=True, slots=True)
class Problem:
    """n unknowns and m used observations as one system."""

    unknowns: tuple[Unknown, ...]
    pieces: tuple[Piece, ...]
    scales: Scales
    centre: Array
    u: Array
    observed: Array
    labels: tuple[str, ...]
    shapes: tuple[Shape, ...]
    whitening: Whitening
    touched: Rows

    @classmethod
    def of(
        cls,
        unknowns: Sequence[Unknown],
        blocks: Sequence[Block],
        aside: frozenset[str] = frozenset(),
    ) -> Problem:
        """Stack unknowns and blocks, leaving out the observations whose labels are in `aside`.

        Raises:
            SettleError: an observation has no variance, is not a number, or errors contradict.
            CallError: ids that are doubled or missing, or shapes that do not match.
        """
        places = _places(unknowns)
        pieces = tuple(_piece(block, places, aside) for block in blocks)
        pieces = tuple(piece for piece in pieces if len(piece.used))
        labels = tuple(piece.block.labels[row] for piece in pieces for row in piece.used)
        observed = [np.asarray(piece.block.observed)[piece.used] for piece in pieces]
        columns = [piece.columns for piece in pieces]
        problem = cls(
            tuple(unknowns),
            pieces,
            Scales.of([unknown.scale for unknown in unknowns]),
            np.array([unknown.prior.centre for unknown in unknowns]),
            np.array([unknown.prior.u for unknown in unknowns]),
            np.concatenate([np.zeros(0), *observed]),
            labels,
            tuple(piece.block.shapes[row] for piece in pieces for row in piece.used),
            Whitening.of([piece.covariance for piece in pieces], labels),
            np.unique(np.concatenate([np.zeros(0, dtype=np.intp), *columns])),
        )
        _check_numbers(problem)
        return problem

    def inflated(self, extra: Array) -> Problem:
        """The same with an independent error of standard uncertainty `extra` (m,) added."""
        covariances, start = [], 0
        for piece in self.pieces:
            stop = start + len(piece.used)
            covariances.append(piece.covariance + np.diag(extra[start:stop] ** 2))
            start = stop
        return replace(self, whitening=Whitening.of(covariances, self.labels))

    def perturbed(self, observed: Array, centre: Array) -> Problem:
        """The same with other readings (m,) and other prior centres (n,)."""
        return replace(self, observed=observed, centre=centre)

    def predict(self, t: Array) -> Array:
        """What should be read, shape (draws, m), from coordinates t, shape (draws, n)."""
        with np.errstate(all="ignore"):
            x = self.scales.natural(t)
            return np.concatenate(
                [np.zeros((len(t), 0)), *(piece.predict(x) for piece in self.pieces)], axis=1
            )

    def guess(self, t: Array) -> Array:
        """As `predict`, for a search."""
        with np.errstate(all="ignore"):
            x = self.scales.natural(t)
            return np.concatenate(
                [np.zeros((len(t), 0)), *(piece.guess(x) for piece in self.pieces)], axis=1
            )

    def residuals(self, t: Array) -> Array:
        """Whitened residuals of the observations at one t, shape (m,)."""
        with np.errstate(all="ignore"):
            return self.whitening.whiten(self.predict(t[np.newaxis])[0] - self.observed)

    def nearly(self, t: Array) -> Array:
        """As `residuals`, for a search."""
        with np.errstate(all="ignore"):
            return self.whitening.whiten(self.guess(t[np.newaxis])[0] - self.observed)

    def pulls(self, t: Array) -> Array:
        """Residuals of the priors at one t, shape (n,)."""
        return (t - self.centre) / self.u

    def jacobian(self, t: Array) -> Array:
        """Whitened Jacobian by (t - centre)/u, shape (m, n)."""
        matrix = np.zeros((len(self.observed), len(t)))
        start = 0
        with np.errstate(all="ignore"):
            x = self.scales.natural(t)
            for piece in self.pieces:
                stop = start + len(piece.used)
                matrix[start:stop, piece.columns] = piece.jacobian(x)
                start = stop
            return self.whitening.whiten(matrix * (self.scales.slope(x) * self.u))

    def linearised(self, t: Array, careful: bool = False) -> tuple[Array, Array]:
        """Residuals (draws, m) and Jacobians (draws, m, n), whitened, at t of shape (draws, n);
        where a search ends, `careful` of every digit."""
        with np.errstate(all="ignore"):
            x = self.scales.natural(t)
            y, slope = self._stacked(x, careful)
            rate = (self.scales.slope(x) * self.u)[:, np.newaxis, :]
            matrix = slope * rate
            return self.whitening.whiten_each(y - self.observed), self.whitening.whiten_each(
                matrix, matrix
            )

    def _stacked(self, x: Array, careful: bool) -> tuple[Array, Array]:
        """Predictions (draws, m) and dy/dx (draws, m, n)."""
        if len(self.pieces) == 1 and self.pieces[0].alone:
            return self.pieces[0].linearise(x, careful)
        draws, m, n = len(x), len(self.observed), len(self.u)
        y, matrix, start = np.zeros((draws, m)), np.zeros((draws, m, n)), 0
        for piece in self.pieces:
            stop = start + len(piece.used)
            y[:, start:stop], matrix[:, start:stop, piece.columns] = piece.linearise(x, careful)
            start = stop
        return y, matrix


def _places(unknowns: Sequence[Unknown]) -> dict[tuple[str, str], int]:
    places: dict[tuple[str, str], int] = {}
    for place, unknown in enumerate(unknowns):
        if unknown.id in places:
            raise CallError(f"The unknown {unknown.id} is listed twice.")
        if not (
            unknown.prior.u > 0.0 and np.isfinite([unknown.prior.u, unknown.prior.centre]).all()
        ):
            raise CallError(
                f"The unknown {unknown.id} has a prior of {unknown.prior.centre:g} with "
                f"u = {unknown.prior.u:g}; expected finite numbers, u above zero."
            )
        places[unknown.id] = place
    return places


def _piece(block: Block, places: dict[tuple[str, str], int], aside: frozenset[str]) -> Piece:
    missing = [id_ for id_ in block.ids if id_ not in places]
    m = len(block.labels)
    if missing or len(set(block.ids)) < len(block.ids):
        raise CallError(f"The block of {block.labels} names unknowns twice or unlisted: {missing}.")
    if np.shape(block.observed) != (m,) or len(block.shapes) != m:
        raise CallError(f"The block of {block.labels} holds another number of readings or shapes.")
    if np.shape(block.covariance) != (m, m):
        raise CallError(f"The block of {block.labels} needs a covariance of shape ({m}, {m}).")
    columns = np.array([places[id_] for id_ in block.ids], dtype=np.intp)
    used = np.array([row for row in range(m) if block.labels[row] not in aside], dtype=np.intp)
    many = block if isinstance(block, Linearising) else None
    alone = np.array_equal(columns, np.arange(len(places)))
    return Piece(block, columns, used, len(used) == m, many, alone)


def _check_numbers(problem: Problem) -> None:
    if len(set(problem.labels)) < len(problem.labels):
        doubled = sorted({label for label in problem.labels if problem.labels.count(label) > 1})
        raise CallError(f"Each reading needs a label of its own; doubled: {doubled[:5]}.")
    for label, value in zip(problem.labels, problem.observed, strict=True):
        if not np.isfinite(value):
            raise SettleError(f'The reading "{label}" is {value}; expected a finite number.')
