"""Choose readings one after the other, then better the choice.

Each step takes the option that lowers the expected loss most for what it costs (greedy design;
then exchange: Fedorov 1972, Theory of optimal experiments). Frequencies come from a coarse grid
first, are drawn out between its points, and rounded to what a person would dial.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ohmbook.bench.kind import Tunable
from ohmbook.counsel.aims import Aim
from ohmbook.counsel.choice import Choice
from ohmbook.counsel.offers import Option, Points, Survey, Surveyor

COARSE = 16
"""Frequencies of the coarse grid, over the whole span."""
STEP = (25000.0 / 20.0) ** (1.0 / (COARSE - 1))
"""Between two of them, over the useful range."""

FRESH = 24
"""New guesses of the truth by which it is told how well a plan will do: it was made to suit the
others."""
ROUNDS = 3
"""How often every reading of a plan is put to the test."""
KEPT = 600
"""Options that are put to that test: those that would add most to the whole."""
LOOKED, CHOSEN, EXCHANGED = 0.2, 0.4, 0.8
"""How much of the work is done, about, after each of its parts."""
BETTER = 1.01
"""How much more another reading must bring to take one's place."""


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
    surveyor.report(LOOKED)
    left = _greedily(surveyor, choice, numbers, most)
    if left and (most is None or len(choice.taken) < most) and not choice.reached:
        survey = _coarse(surveyor, last_resort=True)
        choice = Choice(survey, aim, _found_again(survey, choice.taken))
        _greedily(surveyor, choice, left, most)
    return choice


def refined(surveyor: Surveyor, choice: Choice, after_all: bool) -> Choice:
    """The same readings, each frequency drawn to where it tells most.

    Args:
        surveyor: as before.
        choice: with frequencies of the coarse grid.
        after_all: whether each is judged beside all others, as in a plan; else beside those before
            it.
    """
    near: dict[int, dict[str, set[float]]] = {}
    for number, place, f_hz in (one.tuned for one in choice.taken if one.tuned):
        near.setdefault(number, {}).setdefault(place, set()).update({f_hz, *_around(f_hz)})

    def grid(number: int, offer: Tunable) -> Points:
        low, high = offer.span_hz
        return [
            (sorted(f for f in held if low <= f <= high), (place,))
            for place, held in near.get(number, {}).items()
        ]

    survey = surveyor.survey(grid, choice.taken)
    wanted = _found_again(survey, choice.taken)
    found = Choice(survey, choice.aim, wanted if after_all else (), worst=after_all)
    for one in wanted:
        if after_all:
            found.leave(one)
        found.take(_best_near(found, one) if one.tuned else one)
    return found


def seen_afresh(surveyor: Surveyor, choice: Choice) -> Choice:
    """The same readings as other guesses of the truth see them than those it was made for."""
    f_hz: dict[int, dict[str, list[float]]] = {}
    for number, place, f in (one.tuned for one in choice.taken if one.tuned):
        f_hz.setdefault(number, {}).setdefault(place, []).append(f)

    def grid(number: int, offer: Tunable) -> Points:  # noqa: ARG001
        return [(held, (place,)) for place, held in f_hz.get(number, {}).items()]

    survey = surveyor.survey(grid, choice.taken, FRESH)
    return Choice(survey, choice.aim, _found_again(survey, choice.taken))


def exchanged(surveyor: Surveyor, choice: Choice, rounds: int = ROUNDS) -> Choice:
    """Every reading gives way to a better one, if there is, for the worst known (Fedorov 1972)."""
    choice = _promising(choice)
    for number in range(rounds):
        before = choice.taken
        choice = Choice(choice.survey, choice.aim, before, worst=True)
        for k, one in enumerate(before):
            choice.leave(one)
            choice.take(_better(choice, one))
            done = (number + (k + 1) / len(before)) / rounds
            surveyor.report(CHOSEN + (EXCHANGED - CHOSEN) * done)
        if set(map(id, choice.taken)) == set(map(id, before)):
            break
    return choice


def _promising(choice: Choice) -> Choice:
    """The same with only those options left that would add most to what is chosen."""
    if len(choice.options) <= KEPT:
        return choice
    gains = Choice(choice.survey, choice.aim, choice.taken, worst=True).gains()
    held = {*np.argsort(-gains)[:KEPT].tolist(), *(choice.places[id(o)] for o in choice.taken)}
    survey = choice.survey.some(sorted(held))
    return Choice(survey, choice.aim, _found_again(survey, choice.taken))


def _better(choice: Choice, one: Option) -> Option:
    """What had better be read in an option's place: itself, unless another is clearly better."""
    gains, (costs, counts) = choice.gains(), choice.costs()
    here = choice.places[id(one)]
    best = choice.best(int(counts[here]), gains)
    if best is None:
        return one
    there = choice.places[id(best)]
    better = gains[there] / costs[there] > BETTER * gains[here] / costs[here]
    return best if better else one


def _greedily(surveyor: Surveyor, choice: Choice, numbers: int, most: int | None) -> int:
    """Take the best, again and again; how many numbers are left."""
    begun, left = len(choice.taken), min(numbers, most or numbers)
    while numbers > 0 and (most is None or len(choice.taken) < most):
        option = choice.best(numbers)
        if option is None:
            break
        numbers -= choice.take(option)
        done = (len(choice.taken) - begun) / max(left, 1)
        surveyor.report(LOOKED + (CHOSEN - LOOKED) * min(done, 1.0))
    return numbers


def _coarse(surveyor: Surveyor, last_resort: bool = False) -> Survey:
    """Every place of every connection at the coarse grid's frequencies."""

    def grid(number: int, offer: Tunable) -> Points:  # noqa: ARG001
        if offer.connection.last_resort and not last_resort:
            return ()
        f_hz = np.geomspace(*offer.span_hz, COARSE)
        return [([dialled(float(f)) for f in f_hz], offer.places)]

    return surveyor.survey(grid)


def _around(f_hz: float) -> set[float]:
    return {dialled(f_hz * STEP**k) for k in (-0.75, -0.5, -0.25, 0.25, 0.5, 0.75)}


def _found_again(survey: Survey, taken: Sequence[Option]) -> list[Option]:
    """The options of an earlier survey in a later one, without those that cannot be modelled alone:
    where all is unplugged the source hangs in the air unless a probe loads the node it is on."""
    here = {one.key: one for one in survey.options}
    return [here[one.key] for one in taken if one.key in here]


def _best_near(choice: Choice, one: Option) -> Option:
    """The best of an option's neighbours in frequency, itself included."""
    assert one.tuned is not None
    number, place, f_hz = one.tuned
    gains, costs = choice.gains(), choice.costs()[0]
    near = [
        (gains[k] / costs[k], other)
        for k, other in enumerate(choice.options)
        if other.tuned
        and other.tuned[:2] == (number, place)
        and 1.0 / STEP < other.tuned[2] / f_hz < STEP
        and not any(other is held for held in choice.taken)
    ]
    return max(near, key=lambda pair: pair[0])[1]
