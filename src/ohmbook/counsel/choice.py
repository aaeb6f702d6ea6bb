"""Readings chosen so far: what they leave unknown, what each other one would add, what it costs."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.counsel.aims import COVERAGE, Aim
from ohmbook.counsel.foresight import Foresight
from ohmbook.counsel.offers import Option, Survey
from ohmbook.evidence.unknown import Array

NEW_FREQUENCY = 0.1
"""What turning the dial costs, in units of one more number at the same clips and frequency."""
LEAST_GAIN = 0.02
"""Least fall of the summed logarithms of uncertainty worth a number."""


class Choice:
    """Readings chosen from a survey for an aim.

    Args:
        survey: what there is to choose from.
        aim: what is wanted.
        taken: options chosen before.
        worst: whether the worst known target counts most, as in a plan that is to reach them all;
            else each target's halving counts alike.
    """

    def __init__(
        self, survey: Survey, aim: Aim, taken: Sequence[Option] = (), worst: bool = False
    ) -> None:
        self.survey, self.aim, self.worst = survey, aim, worst
        self.options, self.taken = survey.options, list(taken)
        self.places = {id(one): k for k, one in enumerate(self.options)}
        rows = [row for one in taken for row in one.rows]
        self.foresight = Foresight(survey.outlooks, aim, rows)
        self._costs = _Costs(self.options)
        groups: dict[int, list[int]] = {}
        for k, one in enumerate(self.options):
            groups.setdefault(len(one.rows), []).append(k)
        self._groups = {size: np.array(held, dtype=np.intp) for size, held in groups.items()}
        self._rows = {
            size: np.array([self.options[k].rows for k in held], dtype=np.intp)
            for size, held in self._groups.items()
        }

    def loss(self, variances: Array) -> Array:
        """Mean over the guesses (axis 0), sum over the targets (axis 1) that exist there, of
        ln sqrt(u^2 + goal^2), or as many times the logarithm of their mean to the fourth power."""
        squares = variances + self.aim.goal**2
        exists = self.foresight.exists
        if not self.worst:
            found = np.einsum("gk,gk...->g...", exists, 0.5 * np.log(squares))
        else:
            count = np.maximum(exists.sum(axis=1), 1.0).reshape(-1, *[1] * (squares.ndim - 2))
            fourth = np.einsum("gk,gk...->g...", exists, squares * squares) / count
            found = 0.25 * count * np.log(fourth)
        return np.asarray(found.mean(axis=0))

    def gains(self) -> Array:
        """Each option's expected fall of the loss, shape (options,)."""
        gain = np.empty(len(self.options))
        now = self.loss(self.foresight.variances())
        for size, held in self._groups.items():
            rows, look = self._rows[size], self.foresight
            after = look.after_each(rows[:, 0]) if size == 1 else look.after_several(rows)
            gain[held] = now - self.loss(after)
        return gain

    def best(self, numbers: int, gains: Array | None = None) -> Option | None:
        """The most useful option for its cost that takes at most so many numbers.

        Args:
            numbers: how many.
            gains: each option's, where they are known already.
        """
        gains = self.gains() if gains is None else gains
        costs, counts = self.costs()
        open_ = (counts <= numbers) & (gains >= LEAST_GAIN)
        open_[[self.places[id(one)] for one in self.taken]] = False
        worth = np.where(open_, gains / costs, -np.inf)
        best = int(np.argmax(worth)) if len(worth) else -1
        return self.options[best] if best >= 0 and np.isfinite(worth[best]) else None

    def take(self, option: Option) -> int:
        """Choose an option; how many numbers it takes."""
        count = self.numbers(option)
        for row in option.rows:
            self.foresight.move(row)
        self.taken.append(option)
        return count

    def leave(self, option: Option) -> None:
        """Give up one that was chosen."""
        for row in reversed(option.rows):
            self.foresight.move(row, away=True)
        self.taken = [one for one in self.taken if one is not option]

    @property
    def reached(self) -> bool:
        """Whether everything is expected to be within the tolerance."""
        return bool((self.expected() * COVERAGE <= self.aim.within).all())

    def expected(self, quantile: float = 0.5) -> Array:
        """Each target's u now, shape (k,): that which so many of the guesses stay below."""
        u = np.sqrt(np.maximum(self.foresight.variances(), 1e-16))
        return np.array(
            [
                float(np.quantile(one[there > 0], quantile)) if there.any() else 0.0
                for one, there in zip(u.T, self.foresight.exists.T, strict=True)
            ]
        )

    def costs(self) -> tuple[Array, NDArray[np.intp]]:
        """What each option costs after those chosen, and how many numbers it takes: (options,)."""
        return self._costs.of([self.places[id(one)] for one in self.taken])

    def numbers(self, option: Option) -> int:
        """How many numbers an option takes after those chosen."""
        return int(self.costs()[1][self.places[id(option)]])

    def cost(self, option: Option) -> float:
        """What an option costs: its numbers, and changing clips, board and frequency for it."""
        return float(self.costs()[0][self.places[id(option)]])


class _Costs:
    """Costs of many options at once."""

    def __init__(self, options: Sequence[Option]) -> None:
        self.each = np.array([one.cost for one in options])
        self.first = np.array([one.numbers for one in options], dtype=np.intp)
        self.again = np.array([one.again for one in options], dtype=np.intp)
        self.effort = np.array([one.connection.effort for one in options])
        self.tuned = np.array([one.tuned is not None for one in options], dtype=bool)
        self.kind = _numbered([one.kind for one in options])
        self.clip = _numbered([one.connection for one in options])
        self.dial = _numbered([(one.connection, one.tuned and one.tuned[2]) for one in options])

    def of(self, taken: Sequence[int]) -> tuple[Array, NDArray[np.intp]]:
        held = np.array(taken, dtype=np.intp)
        counts = np.where(np.isin(self.kind, self.kind[held]), self.again, self.first)
        cost = self.each * counts
        cost += np.where(np.isin(self.clip, self.clip[held]), 0.0, self.effort)
        new = self.tuned & ~np.isin(self.dial, self.dial[held])
        return cost + NEW_FREQUENCY * new, counts


def _numbered(things: Sequence[Hashable]) -> NDArray[np.intp]:
    number = {one: k for k, one in enumerate(dict.fromkeys(things))}
    return np.array([number[one] for one in things], dtype=np.intp)
