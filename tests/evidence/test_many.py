"""Many descents in lockstep end where each would alone."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook.evidence import Array
from ohmbook.evidence.fit import Tuning, minimise
from ohmbook.evidence.many import minimise_many
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
