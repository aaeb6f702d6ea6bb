"""What would be known after readings that are not taken yet, for every guess of the truth at once.

Taking a reading, or giving one up, is a rank-one change of each guess's covariance (Woodbury's
identity). What the choice looks at is carried along instead of the whole: how each wanted value
moves with each row, and each row's own spread; so a change costs a pass over the rows and no
inverse.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.counsel.aims import Aim, Sight, at_best
from ohmbook.counsel.offers import Outlook
from ohmbook.evidence.unknown import Array

Rows = NDArray[np.intp]


class Foresight:
    """The state of knowledge in each of g guesses, of k targets, with m rows on offer.

    Args:
        outlooks: one for each guess.
        aim: what is wanted.
        taken: rows that are taken already.
    """

    def __init__(self, outlooks: Sequence[Outlook], aim: Aim, taken: Sequence[int] = ()) -> None:
        sights = [Sight.of(aim, one.ids, one.values) for one in outlooks]
        size = max(len(one.ids) for one in outlooks)
        self.exists = np.array([one.exists for one in sights])
        self.slope = np.array([_wide(one.slope, size) for one in outlooks])
        self.variance = np.array([one.variance for one in outlooks])
        self.weights = np.array(
            [_wide(np.vstack([one.weights, one.losses]), size) for one in sights]
        )
        self.covariance = np.array([_known(one, size, taken) for one in outlooks])
        self._look()

    def _look(self) -> None:
        turned = self.weights @ self.covariance
        self._seen = turned @ self.slope.transpose(0, 2, 1)
        self._spread = np.einsum("gmn,gmn->gm", self.slope @ self.covariance, self.slope)
        count = self.weights.shape[1] // 2
        value, loss = self.weights[:, :count], self.weights[:, count:]
        self._own = np.array(
            [
                np.einsum("gkn,gkn->gk", turned[:, :count], value),
                np.einsum("gkn,gkn->gk", turned[:, :count], loss),
                np.einsum("gkn,gkn->gk", turned[:, count:], loss),
            ]
        )

    def move(self, row: int, away: bool = False) -> None:
        """As if a row had been read; or, with `away`, had not."""
        own = self.variance[:, row]
        inner = self._spread[:, row] + (-own if away else own)
        column = np.einsum("gnm,gm->gn", self.covariance, self.slope[:, row])
        along = np.einsum("gmn,gn->gm", self.slope, column)
        share = self._seen[:, :, row] / inner[:, None]
        value, loss = np.split(self._seen[:, :, row], 2, axis=1)
        self._own -= np.array([value * value, value * loss, loss * loss]) / inner[:, None]
        self._seen -= share[:, :, None] * along[:, None, :]
        self._spread -= along * along / inner[:, None]
        self.covariance -= column[:, :, None] * (column / inner[:, None])[:, None, :]

    def variances(self) -> Array:
        """Of the targets now, each where it is told best, shape (g, k)."""
        return at_best(*self._own)

    def after_each(self, rows: Rows) -> Array:
        """Of the targets after one row alone, for many rows: shape (g, k, rows)."""
        inner = (self._spread[:, rows] + self.variance[:, rows])[:, None, :]
        value, loss = np.split(self._seen[:, :, rows] / np.sqrt(inner), 2, axis=1)
        now, both, lost = self._own[:, :, :, None]
        return at_best(now - value * value, both - value * loss, lost - loss * loss)

    def after_several(self, rows: Rows) -> Array:
        """Of the targets after several rows together: rows (o, r) gives shape (g, k, o)."""
        slope = self.slope[:, rows]
        inner = slope @ self.covariance[:, None] @ slope.transpose(0, 1, 3, 2)
        places = np.arange(rows.shape[1])
        inner[:, :, places, places] += self.variance[:, rows]
        seen = self._seen[:, :, rows]
        turned = np.einsum("goij,gkoj->gkoi", np.linalg.inv(inner), seen)
        (value, loss), (one, two) = np.split(seen, 2, axis=1), np.split(turned, 2, axis=1)
        now, both, lost = self._own[:, :, :, None]
        return at_best(
            now - np.einsum("gkoi,gkoi->gko", value, one),
            both - np.einsum("gkoi,gkoi->gko", value, two),
            lost - np.einsum("gkoi,gkoi->gko", loss, two),
        )


def _wide(rows: Array, size: int) -> Array:
    """With columns of zeros for unknowns that only other guesses have."""
    return np.pad(rows, ((0, 0), (0, size - rows.shape[1])))


def _known(outlook: Outlook, size: int, taken: Sequence[int]) -> Array:
    rows = np.array(taken, dtype=np.intp)
    slope = outlook.slope[rows]
    precision = outlook.precision + (slope.T / outlook.variance[rows]) @ slope
    found = np.eye(size)
    count = len(outlook.ids)
    found[:count, :count] = np.linalg.inv(precision)
    return found
