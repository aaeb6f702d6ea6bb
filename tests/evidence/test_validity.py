"""The curvature check, and the two intervals that stand in where it fails."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pytest

from ohmbook.errors import CallError, SettleError
from ohmbook.evidence import (
    Array,
    Prior,
    Unknown,
    curvature,
    determined,
    determined_ids,
    gain_of,
    profile_interval,
    refits,
    settle,
)
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.search import posterior_of

from .toys import Formula, influence, linear, value

X = ("part", "x")


def _small_resistance(read: float = 0.1) -> tuple[list[Unknown], list[Formula]]:
    """A resistance on a log scale, read 0.1 +- 0.5 ohm: an upper limit and no more."""
    unknowns = [Unknown(X, "log", Prior(log(10.0), log(6.0)))]
    return unknowns, [Formula.of(unknowns, lambda x: x, [read], [0.5])]


def test_a_linear_problem_passes_with_twos() -> None:
    unknowns = [value("x", 0.0, 5.0), value("y", 1.0, 3.0), influence("gain", 0.0, 1.0)]
    matrix = np.random.default_rng(1).standard_normal((4, 3))
    block = linear(unknowns, matrix, np.ones(4), 0.1 * np.eye(4))
    posterior = settle(unknowns, [block])
    for check in curvature(unknowns, [block], posterior, posterior.ids):
        assert check.holds
        assert (check.low, check.high) == pytest.approx((2.0, 2.0), abs=1e-6)


def test_an_upper_limit_fails_the_check_and_gets_its_profile() -> None:
    """The bounds lie where the likelihood ratio says, within a hundredth of the coverage factor;
    below, only the prior stops it."""
    unknowns, blocks = _small_resistance()
    posterior = settle(unknowns, blocks)
    (check,) = curvature(unknowns, blocks, posterior, [X])
    assert not check.holds

    def rise(t: float) -> float:
        mode = float(posterior.mode[0])
        here, there = (
            ((np.exp(at) - 0.1) / 0.5) ** 2 + ((at - log(10.0)) / log(6.0)) ** 2 for at in (t, mode)
        )
        return float(here - there)

    found = profile_interval(unknowns, blocks, posterior, X)
    assert found.low < posterior.value(X) < found.high
    roots = [sqrt(rise(log(bound))) for bound in (found.low, found.high)]
    assert roots == pytest.approx([1.959964, 1.959964], rel=0.011)
    assert (found.low_from_prior, found.high_from_prior) == (True, False)
    assert found.holds


def test_a_linear_profile_is_the_convolved_interval() -> None:
    """A dominant rectangle keeps its 0.95 a, not 1.96 u."""
    unknowns = [value("x", 0.0, 1e4), influence("gain", 0.0, 1.0, "rectangle")]
    block = linear(unknowns, np.array([[1.0, 1.0]]), np.array([10.0]), np.array([[1e-4]]))
    posterior = settle(unknowns, [block])
    found = profile_interval(unknowns, [block], posterior, X)
    assert (found.low, found.high) == pytest.approx(posterior.interval(X), rel=1e-3)
    assert found.high - 10.0 == pytest.approx(0.95 * sqrt(3.0), rel=5e-3)
    assert not found.high_from_prior


def test_a_better_answer_met_on_the_way_is_told() -> None:
    """x^2 = 1 within 0.6: the walk from the worse of two answers crosses to the better."""
    unknowns = [value("x", 0.3, 1.0)]
    block = Formula.of(unknowns, lambda x: x * x, [1.0], [0.6])
    best = settle(unknowns, [block])
    worse = posterior_of(Problem.of(unknowns, [block]), (best.modes[1],))
    assert worse.objective > best.objective + 0.5
    assert worse.value(X) < 0.0 < best.value(X)
    assert not profile_interval(unknowns, [block], worse, X).holds
    (check,) = curvature(unknowns, [block], worse, [X])
    assert not check.holds


def _coverage_cases(n: int) -> list[tuple[float, float]]:
    """Truths from the prior and a reading of each: tanh t +- 0.1, prior 0 +- 1.5."""
    rng = np.random.default_rng(12)
    truth = 1.5 * rng.standard_normal(n)
    return list(zip(truth, np.tanh(truth) + 0.1 * rng.standard_normal(n), strict=True))


def test_profile_intervals_cover_where_the_model_saturates() -> None:
    """200 truths: within three binomial standard deviations of 95 %, and the linear ones not."""
    unknowns = [value("x", 0.0, 1.5)]
    inside = straight = 0
    for truth, read in _coverage_cases(200):
        block = Formula.of(unknowns, np.tanh, [read], [0.1])
        posterior = settle(unknowns, [block], starts=3, set_aside=False)
        found = profile_interval(unknowns, [block], posterior, X)
        inside += found.low <= truth <= found.high
        low, high = posterior.interval(X)
        straight += low <= truth <= high
    slack = 3.0 * sqrt(0.95 * 0.05 * 200)
    assert abs(inside - 190) < slack
    assert straight < inside


def test_refits_cover_where_the_model_saturates() -> None:
    """80 truths, 60 refits each: quantiles about the mode keep their promise."""
    unknowns = [value("x", 0.0, 1.5)]
    inside = 0
    for seed, (truth, read) in enumerate(_coverage_cases(80)):
        block = Formula.of(unknowns, np.tanh, [read], [0.1])
        posterior = settle(unknowns, [block], starts=3, set_aside=False)
        low, high = refits(unknowns, [block], posterior, 60, seed=seed).interval(X)
        inside += low <= truth <= high
    assert abs(inside - 76) < 3.0 * sqrt(0.95 * 0.05 * 80)


def _brute(read: Array, centre: Array) -> Array:
    """The best t of tanh t = read +- 0.1 with a prior centre +- 1.5, over a fine grid."""
    t = np.linspace(-6.0, 6.0, 1201)
    misfit = ((np.tanh(t) - read[:, np.newaxis]) / 0.1) ** 2
    return np.asarray(t[np.argmin(misfit + ((t - centre[:, np.newaxis]) / 1.5) ** 2, axis=1)])


def test_refits_are_of_readings_and_priors_about_the_mode() -> None:
    """A reading out of the model's reach, 1.15 +- 0.1 of a tanh: the same experiment on the mode
    by brute force gives the refits' median; about the reading as read, or with the prior's centre
    as stated, it gives another."""
    unknowns = [value("x", 0.0, 1.5)]
    block = Formula.of(unknowns, np.tanh, [1.15], [0.1])
    posterior = settle(unknowns, [block])
    mode = float(posterior.mode[0])
    e = np.random.default_rng(5).standard_normal((2, 3000))
    about_mode = _brute(np.tanh(mode) + 0.1 * e[0], mode + 1.5 * e[1])
    about_read = _brute(1.15 + 0.1 * e[0], mode + 1.5 * e[1])
    about_centre = _brute(np.tanh(mode) + 0.1 * e[0], 1.5 * e[1])
    trials = refits(unknowns, [block], posterior, 1000, seed=1).values[:, 0]
    quartiles = (0.25, 0.5, 0.75)
    found, expected = np.quantile(trials, quartiles), np.quantile(about_mode, quartiles)
    assert found == pytest.approx(expected, abs=0.12)
    for other in (about_read, about_centre):
        assert np.max(np.abs(np.quantile(other, quartiles) - expected)) > 0.3


def test_what_only_the_prior_knows_keeps_its_spread_in_refits() -> None:
    """Two in series, their sum read: each stays as uncertain as it was, the sum does not."""
    unknowns = [value("x", 1.0, 2.0), value("y", 1.0, 2.0)]
    block = linear(unknowns, np.array([[1.0, 1.0]]), np.array([2.0]), np.array([[1e-4]]))
    posterior = settle(unknowns, [block])
    told: list[tuple[int, int]] = []
    trials = refits(unknowns, [block], posterior, 500, 1, lambda done, of: told.append((done, of)))
    assert trials.u(X) == pytest.approx(sqrt(2.0), rel=0.1)
    assert trials.values.sum(axis=1).std() == pytest.approx(0.01, rel=0.1)
    assert told[-1] == (500, 500)
    again = refits(unknowns, [block], posterior, 500, 1)
    assert again.values.tolist() == trials.values.tolist()


def test_refits_that_fail_are_counted_and_told() -> None:
    """A model that ends at 1.2: refits that would go beyond cannot come to rest."""
    unknowns = [value("x", 1.0, 10.0)]
    block = Formula.of(unknowns, lambda x: np.where(x > 1.2, np.nan, x), [1.0], [0.2])
    trials = refits(unknowns, [block], settle(unknowns, [block]), 300, seed=1)
    assert trials.failed == pytest.approx(0.16 * 300, abs=25)
    assert len(trials.values) == 300 - trials.failed
    assert trials.claim == "indicative"
    with pytest.raises(CallError):
        trials.interval(("part", "z"))
    with pytest.raises(SettleError):
        refits(unknowns, [block], settle(unknowns, [block]), 0, seed=1).u(X)


def test_determined_is_under_half_the_prior() -> None:
    unknowns = [value("x", 0.0, 1.0), value("y", 0.0, 1.0), influence("gain", 0.0, 1.0)]
    matrix = np.eye(3)
    block = linear(unknowns, matrix, np.zeros(3), np.diag([0.3, 0.4, 1e-4]))
    posterior = settle(unknowns, [block])
    assert posterior.u(X) == pytest.approx(sqrt(0.3 / 1.3))
    assert determined(posterior, X) is (sqrt(0.3 / 1.3) < 0.5)
    assert determined_ids(posterior) == (X,)


def test_a_hypothetical_reading_does_what_the_reading_will() -> None:
    """The update against settling again with the reading in."""
    unknowns = [value("x", 0.0, 3.0), value("y", 0.0, 2.0), influence("gain", 0.0, 0.5)]
    rng = np.random.default_rng(2)
    first, more = rng.standard_normal((2, 3)), rng.standard_normal((2, 3))
    block = linear(unknowns, first, np.zeros(2), 0.1 * np.eye(2))
    both = linear(unknowns, np.vstack([first, more]), np.zeros(4), 0.1 * np.eye(4))
    before = settle(unknowns, [block])
    after = settle(unknowns, [both])
    for noise in (0.1 * np.eye(2), np.sqrt([0.1, 0.1])):
        foretold = gain_of(before, more, noise, [X, ("part", "y")])
        assert foretold[X] == pytest.approx(after.u(X), rel=1e-9)
        assert foretold[("part", "y")] == pytest.approx(after.u(("part", "y")), rel=1e-9)
