"""Many descents in lockstep end where each would alone."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook.evidence import Array
from ohmbook.evidence.fit import Fit, Tuning, minimise
from ohmbook.evidence.many import Walk, minimise_many, relay
from ohmbook.evidence.problem import Problem

from .toys import Formula, value


@pytest.fixture
def valley() -> Problem:
    """Two values that readings tell by their product and, less well, their sum."""
    unknowns = [value("x", 0.0, 1.0, "log"), value("y", 0.5, 1.0, "log")]

    def read(x: Array) -> Array:
        return np.stack([x[..., 0] * x[..., 1], x[..., 0] + x[..., 1]], axis=-1)

    block = Formula.of(unknowns, read, [2.0, 3.2], [0.02, 0.2])
    return Problem.of(unknowns, [block])


def test_each_start_ends_where_it_would_alone(valley: Problem) -> None:
    starts = [valley.centre + shift * valley.u for shift in (-0.5, 0.0, 0.7)]
    tuning = Tuning(iterations=60)
    for start, fit in zip(starts, minimise_many(valley, starts, tuning), strict=True):
        alone = minimise(valley, start, tuning)
        assert fit.converged
        assert fit.objective == pytest.approx(alone.objective, rel=1e-9)
        np.testing.assert_allclose(fit.t, alone.t, atol=1e-5)


def test_what_is_held_stays(valley: Problem) -> None:
    starts = [valley.centre + 0.3 * valley.u, valley.centre - 0.3 * valley.u]
    held = np.array([0, 1])
    fits = minimise_many(valley, starts, Tuning(), held)
    for start, place, fit in zip(starts, held, fits, strict=True):
        assert fit.t[place] == start[place]


def test_no_start_gives_no_fit(valley: Problem) -> None:
    assert minimise_many(valley, [], Tuning()) == []


def test_walks_side_by_side_get_where_each_gets_alone(valley: Problem) -> None:
    """Walks of different length, each start the end of the fit before, a little on."""

    def walk(place: int, stops: int) -> Walk[list[Fit]]:
        t, fits = valley.centre.copy(), []
        for _ in range(stops):
            t[place] += 0.2 * valley.u[place]
            fit = yield t.copy()
            fits.append(fit)
            t = fit.t.copy()
        return fits

    tuning, held = Tuning(iterations=60), np.array([0, 1, 0])
    together = relay(valley, [walk(0, 5), walk(1, 2), walk(0, 1)], tuning, held)
    assert [len(fits) for fits in together] == [5, 2, 1]
    for place, fits in zip(held, together, strict=True):
        t = valley.centre.copy()
        for fit in fits:
            t[place] += 0.2 * valley.u[place]
            free = np.array([1 - place])
            alone = minimise(valley, t, tuning, free)
            assert fit.converged
            assert fit.t[place] == t[place]
            assert fit.objective == pytest.approx(alone.objective, rel=1e-9)
            np.testing.assert_allclose(fit.t, alone.t, atol=1e-5)
            t = fit.t.copy()


def test_no_walks_find_nothing(valley: Problem) -> None:
    assert relay(valley, [], Tuning(), np.zeros(0, dtype=np.intp)) == []


def test_where_nothing_is_unknown_there_is_nothing_to_do() -> None:
    (fit,) = minimise_many(Problem.of([], []), [np.zeros(0)], Tuning())
    assert (fit.objective, fit.t.size) == (0.0, 0)
