"""Choose readings one after the other, then better the choice.

Each step takes the option that lowers the expected loss most for what it costs; the joint
covariance after it follows by a low-rank update in every outlook (greedy design; then exchange:
Fedorov 1972, Theory of optimal experiments). Frequencies come from a coarse grid first and are
then drawn out between its points, and rounded to what a person would dial.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.kind import Tunable
from ohmbook.counsel.aims import COVERAGE, Aim, Sight, at_best
from ohmbook.counsel.offers import Option, Outlook, Survey, Surveyor
from ohmbook.evidence.unknown import Array

NEW_FREQUENCY = 0.1
"""What turning the dial costs, in units of one more number at the same clips and frequency."""
COARSE = 16
"""Frequencies of the coarse grid, over the whole span."""
STEP = (25000.0 / 20.0) ** (1.0 / (COARSE - 1))
"""Between two of them, over the useful range."""
LEAST_GAIN = 0.02
"""Least fall of the summed logarithms of uncertainty worth a number."""

BETTER = 1.01
"""How much more another reading must bring to take one's place."""

Columns = NDArray[np.intp]


class State:
    """What would be known in one outlook after the readings chosen so far."""

    def __init__(self, outlook: Outlook, sight: Sight, chosen: Iterable[Option] = ()) -> None:
        self.outlook, self.sight = outlook, sight
        rows = np.array([row for one in chosen for row in one.rows], dtype=np.intp)
        slope = outlook.slope[rows]
        precision = outlook.precision + (slope.T / outlook.variance[rows]) @ slope
        self.covariance: Array = np.asarray(np.linalg.inv(precision), dtype=np.float64)
        self.seen = self.covariance @ outlook.slope.T

    def take(self, option: Option) -> None:
        """Update as if the option had been read."""
        rows = np.array(option.rows)
        seen = self.seen[:, rows]
        slope = self.outlook.slope[rows]
        inner = slope @ seen + np.diag(self.outlook.variance[rows])
        gain = np.linalg.solve(inner, seen.T)
        self.seen = self.seen - seen @ (gain @ self.outlook.slope.T)
        self.covariance = self.covariance - seen @ gain

    def variances(self) -> Array:
        """Of the targets now, shape (k,)."""
        return self.sight.variances(self.covariance)

    def after_each(self, singles: Columns) -> Array:
        """Of the targets after one row alone, for many rows: shape (k, rows)."""
        seen, slope = self.seen[:, singles], self.outlook.slope[singles]
        inner = np.einsum("mn,nm->m", slope, seen) + self.outlook.variance[singles]
        value, loss = self.sight.weights @ seen, self.sight.losses @ seen
        first, second = self.sight.weights @ self.covariance, self.sight.losses @ self.covariance
        now = np.einsum("kn,kn->k", first, self.sight.weights)[:, None]
        both = np.einsum("kn,kn->k", first, self.sight.losses)[:, None]
        lost = np.einsum("kn,kn->k", second, self.sight.losses)[:, None]
        return at_best(now - value**2 / inner, both - value * loss / inner, lost - loss**2 / inner)

    def after(self, option: Option) -> Array:
        """Of the targets after an option of several rows, shape (k,)."""
        rows = np.array(option.rows)
        seen, slope = self.seen[:, rows], self.outlook.slope[rows]
        inner = slope @ seen + np.diag(self.outlook.variance[rows])
        return self.sight.variances(self.covariance - seen @ np.linalg.solve(inner, seen.T))


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
        self.sights = [Sight.of(aim, one.ids, one.values) for one in survey.outlooks]
        self.states = [
            State(one, sight, taken)
            for one, sight in zip(survey.outlooks, self.sights, strict=True)
        ]
        single = [k for k, one in enumerate(self.options) if len(one.rows) == 1]
        self.single = np.array(single, dtype=np.intp)
        self.singles = np.array([self.options[k].rows[0] for k in single], dtype=np.intp)
        self.several = [k for k, one in enumerate(self.options) if len(one.rows) > 1]

    def loss(self, variances: Array, exists: Array) -> Array:
        """Sum over the targets (axis 0) that exist of ln sqrt(u^2 + goal^2), or as many times the
        logarithm of their root mean square."""
        squares = variances + self.aim.goal**2
        if not self.worst:
            return np.asarray(np.tensordot(exists, 0.5 * np.log(squares), axes=(0, 0)))
        count = max(float(exists.sum()), 1.0)
        return np.asarray(0.5 * count * np.log(np.tensordot(exists, squares, axes=(0, 0)) / count))

    def gains(self) -> Array:
        """Each option's expected fall of the loss, shape (options,)."""
        gain = np.zeros(len(self.options))
        for state in self.states:
            exists = state.sight.exists
            now = float(self.loss(state.variances(), exists))
            gain[self.single] += now - self.loss(state.after_each(self.singles), exists)
            for k in self.several:
                gain[k] += now - float(self.loss(state.after(self.options[k]), exists))
        return gain / len(self.states)

    def best(self, numbers: int, gains: Array | None = None) -> Option | None:
        """The most useful option for its cost that takes at most so many numbers.

        Args:
            numbers: how many.
            gains: each option's, where they are known already.
        """
        gains = self.gains() if gains is None else gains
        held = set(map(id, self.taken))
        worth = np.full(len(gains), -np.inf)
        for k, one in enumerate(self.options):
            if id(one) not in held and self.numbers(one) <= numbers and gains[k] >= LEAST_GAIN:
                worth[k] = gains[k] / self.cost(one)
        best = int(np.argmax(worth)) if len(worth) else -1
        return self.options[best] if best >= 0 and np.isfinite(worth[best]) else None

    def take(self, option: Option) -> int:
        """Choose an option; how many numbers it takes."""
        count = self.numbers(option)
        for state in self.states:
            state.take(option)
        self.taken.append(option)
        return count

    @property
    def reached(self) -> bool:
        """Whether everything is expected to be within the tolerance."""
        return bool((self.expected() * COVERAGE <= self.aim.within).all())

    def expected(self) -> Array:
        """Each target's expected u now: its root mean logarithm over the outlooks, shape (k,)."""
        logs = [0.5 * np.log(np.maximum(state.variances(), 1e-16)) for state in self.states]
        exists = np.array([state.sight.exists for state in self.states])
        share = exists.sum(axis=0)
        total = (np.array(logs) * exists).sum(axis=0)
        mean = np.divide(total, share, out=np.zeros_like(total), where=share > 0)
        return np.asarray(np.exp(mean))

    def numbers(self, option: Option) -> int:
        """How many numbers an option takes after those chosen."""
        again = any(one.kind is option.kind for one in self.taken)
        return option.again if again else option.numbers

    def cost(self, option: Option) -> float:
        """What an option costs: its numbers, and changing clips, board and frequency for it."""
        cost = option.cost * self.numbers(option)
        here = [one for one in self.taken if one.connection == option.connection]
        if not here:
            cost += option.connection.effort
        if option.tuned and not any(o.tuned and o.tuned[2] == option.tuned[2] for o in here):
            cost += NEW_FREQUENCY
        return cost


def dialled(f_hz: float) -> float:
    """A frequency as a person would dial it: two significant digits, three from 1 to 2."""
    digits = 3 if f"{f_hz:e}"[0] == "1" else 2
    return float(f"{f_hz:.{digits}g}")


def chosen(surveyor: Surveyor, aim: Aim, numbers: int, most: int | None = None) -> Choice:
    """Greedily, until the numbers are used up or nothing more is gained.

    Args:
        surveyor: of what can be read.
        aim: what is wanted.
        numbers: how many may be read.
        most: how many readings at most; any where None.
    """
    choice = Choice(_coarse(surveyor), aim)
    left = _greedily(choice, numbers, most)
    if left and (most is None or len(choice.taken) < most) and not choice.reached:
        survey = _coarse(surveyor, last_resort=True)
        choice = Choice(survey, aim, _found_again(survey, choice.taken))
        _greedily(choice, left, most)
    return choice


def refined(surveyor: Surveyor, choice: Choice, after_all: bool) -> Choice:
    """The same readings, each frequency drawn to where it tells most.

    Args:
        surveyor: as before.
        choice: with frequencies of the coarse grid.
        after_all: whether each is judged beside all others, as in a plan; else beside those before
            it.
    """
    near: dict[int, set[float]] = {}
    places: dict[int, set[str]] = {}
    for number, place, f_hz in (one.tuned for one in choice.taken if one.tuned):
        near.setdefault(number, set()).update({f_hz, *_around(f_hz)})
        places.setdefault(number, set()).add(place)

    def grid(number: int, offer: Tunable) -> tuple[Sequence[float], Sequence[str]]:
        low, high = offer.span_hz
        return sorted(f for f in near.get(number, ()) if low <= f <= high), sorted(
            places.get(number, ())
        )

    survey = surveyor.survey(grid)
    taken = _found_again(survey, choice.taken)
    for k, one in enumerate(taken):
        if one.tuned:
            others = taken[:k] + (taken[k + 1 :] if after_all else [])
            taken[k] = _best_near(Choice(survey, choice.aim, others, worst=after_all), one)
    return Choice(survey, choice.aim, taken)


def exchanged(choice: Choice, rounds: int = 3) -> Choice:
    """Every reading gives way to a better one, if there is, for the worst known (Fedorov 1972)."""
    taken = list(choice.taken)
    for k in [k for _ in range(rounds) for k in range(len(taken))]:
        others = Choice(choice.survey, choice.aim, taken[:k] + taken[k + 1 :], worst=True)
        gains, one = others.gains(), taken[k]
        best = others.best(others.numbers(one), gains)
        if best is None or best is one:
            continue
        better = gains[choice.options.index(best)] / others.cost(best)
        if better > BETTER * gains[choice.options.index(one)] / others.cost(one):
            taken[k] = best
    return Choice(choice.survey, choice.aim, taken)


def _greedily(choice: Choice, numbers: int, most: int | None) -> int:
    """Take the best, again and again; how many numbers are left."""
    while numbers > 0 and (most is None or len(choice.taken) < most):
        option = choice.best(numbers)
        if option is None:
            break
        numbers -= choice.take(option)
    return numbers


def _coarse(surveyor: Surveyor, last_resort: bool = False) -> Survey:
    """Every place of every connection at the coarse grid's frequencies."""

    def grid(number: int, offer: Tunable) -> tuple[Sequence[float], Sequence[str]]:  # noqa: ARG001
        if offer.connection.last_resort and not last_resort:
            return (), ()
        f_hz = np.geomspace(*offer.span_hz, COARSE)
        return [dialled(float(f)) for f in f_hz], offer.places

    return surveyor.survey(grid)


def _around(f_hz: float) -> set[float]:
    return {dialled(f_hz * STEP**k) for k in (-0.75, -0.5, -0.25, 0.25, 0.5, 0.75)}


def _found_again(survey: Survey, taken: Sequence[Option]) -> list[Option]:
    """The options of an earlier survey in a later one."""
    here = {one.key: one for one in survey.options}
    return [here[one.key] for one in taken]


def _best_near(choice: Choice, one: Option) -> Option:
    """The best of an option's neighbours in frequency, itself included."""
    assert one.tuned is not None
    number, place, f_hz = one.tuned
    gains = choice.gains()
    near = [
        (gains[k] / choice.cost(other), other)
        for k, other in enumerate(choice.options)
        if other.tuned
        and other.tuned[:2] == (number, place)
        and 1.0 / STEP < other.tuned[2] / f_hz < STEP
        and not any(other is held for held in choice.taken)
    ]
    return max(near, key=lambda pair: pair[0])[1]
