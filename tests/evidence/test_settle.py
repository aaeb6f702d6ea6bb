"""Settle: against closed-form least squares, and at its edges."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmbook.errors import CallError, SettleError
from ohmbook.evidence import (
    Array,
    Posterior,
    Prior,
    Unknown,
    budget,
    by_owner,
    consistency,
    log_evidence,
    settle,
)

from .toys import (
    Board,
    Formula,
    Linear,
    board_truth,
    board_unknowns,
    influence,
    linear,
    value,
)


def _random_linear(seed: int, n: int, m: int) -> tuple[list[Unknown], Linear]:
    rng = np.random.default_rng(seed)
    unknowns = [value(f"x{k}", rng.normal(), float(np.exp(rng.normal()))) for k in range(n)]
    matrix = rng.standard_normal((m, n))
    root = rng.standard_normal((m, m)) * 0.3 + np.eye(m)
    return unknowns, linear(unknowns, matrix, rng.standard_normal(m), root @ root.T)


def _least_squares(unknowns: list[Unknown], block: Linear) -> tuple[Array, Array, float]:
    """Generalised least squares with the priors as observations, and ln of the density of y."""
    centre = np.array([unknown.prior.centre for unknown in unknowns])
    prior = np.diag([unknown.prior.u**2 for unknown in unknowns])
    spread = block.covariance + block.matrix @ prior @ block.matrix.T
    carry = prior @ block.matrix.T @ np.linalg.inv(spread)
    off = block.observed - block.matrix @ centre
    log_density = -0.5 * (
        off @ np.linalg.solve(spread, off)
        + np.linalg.slogdet(spread)[1]
        + len(off) * log(2.0 * np.pi)
    )
    return centre + carry @ off, prior - carry @ block.matrix @ prior, float(log_density)


@given(st.integers(0, 10_000), st.integers(1, 9), st.integers(1, 14))
@settings(max_examples=40, deadline=None)
def test_linear_problems_are_generalised_least_squares(seed: int, n: int, m: int) -> None:
    """Estimate and covariance as Rao 1973, Linear Statistical Inference, 4a; exact evidence."""
    unknowns, block = _random_linear(seed, n, m)
    posterior = settle(unknowns, [block], starts=1, set_aside=False)
    mode, covariance, log_density = _least_squares(unknowns, block)
    assert posterior.mode == pytest.approx(mode, rel=1e-10, abs=1e-10)
    assert posterior.covariance == pytest.approx(covariance, rel=1e-10, abs=1e-10)
    assert log_evidence(posterior) == pytest.approx(log_density, rel=1e-9, abs=1e-9)
    assert posterior.converged


def test_the_gain_is_how_the_answer_follows_each_input() -> None:
    """Raising one input by its standard uncertainty moves the answer by the gain's column."""
    unknowns, block = _random_linear(3, 4, 6)
    block = replace(block, covariance=np.diag(np.linspace(0.5, 2.0, 6)))
    posterior = settle(unknowns, [block], starts=1, set_aside=False)
    raised = block.observed.copy()
    raised[2] += np.sqrt(block.covariance[2, 2])
    moved = settle(unknowns, [replace(block, observed=raised)], starts=1, set_aside=False)
    assert moved.mode - posterior.mode == pytest.approx(posterior.gain[:, 2], abs=1e-10)
    prior = unknowns[1].prior
    lifted = list(unknowns)
    lifted[1] = replace(unknowns[1], prior=replace(prior, centre=prior.centre + prior.u))
    moved = settle(lifted, [block], starts=1, set_aside=False)
    assert moved.mode - posterior.mode == pytest.approx(posterior.gain[:, 7], abs=1e-10)


def test_residuals_and_leverage_are_those_of_the_hat_matrix() -> None:
    """Residuals are (I - H) e; the leverages add up to the number of unknowns."""
    unknowns, block = _random_linear(8, 5, 7)
    posterior = settle(unknowns, [block], starts=1, set_aside=False)
    assert posterior.leverage.sum() == pytest.approx(5.0, abs=1e-9)
    system = np.vstack([posterior.sensitivity, np.diag([1.0 / u.prior.u for u in unknowns])])
    assert system.T @ posterior.residuals == pytest.approx(np.zeros(5), abs=1e-9)


def test_an_unknown_that_no_reading_touches_keeps_its_prior() -> None:
    touched = value("touched", 0.0, 1.0)
    flat = Unknown(("part", "flat"), "log", Prior(log(3.3), 0.7, "rectangle"))
    block = linear([touched], np.ones((1, 1)), np.array([0.4]), np.eye(1))
    posterior = settle([flat, touched], [block])
    assert posterior.mode[0] == flat.prior.centre
    assert posterior.covariance[0].tolist() == [0.7**2, 0.0]
    low, high = posterior.interval(flat.id)
    reach = 0.95 * 0.7 * np.sqrt(3.0)
    assert (low, high) == pytest.approx((3.3 * np.exp(-reach), 3.3 * np.exp(reach)), rel=1e-12)


def test_no_reading_at_all_leaves_every_prior() -> None:
    unknowns = [value("a", 1.0, 2.0), value("b", -1.0, 0.5)]
    posterior = settle(unknowns, [])
    assert posterior.mode.tolist() == [1.0, -1.0]
    assert posterior.covariance.tolist() == [[4.0, 0.0], [0.0, 0.25]]
    assert consistency(posterior).p_value is None


def test_nearly_wholly_correlated_repeats_are_one_reading() -> None:
    """rho = 0.999999: two repeats say hardly more than one, and nothing breaks."""
    unknown = [value("x", 0.0, 100.0)]
    rho = 0.999999
    covariance = np.array([[1.0, rho], [rho, 1.0]])
    repeats = linear(unknown, np.ones((2, 1)), np.array([5.0, 5.001]), covariance)
    posterior = settle(unknown, [repeats], set_aside=False)
    exact = 1.0 / (1e-4 + 2.0 / (1.0 + rho))
    assert posterior.covariance[0, 0] == pytest.approx(exact, rel=1e-9)
    assert posterior.mode[0] == pytest.approx(5.0005 * exact * 2.0 / (1.0 + rho), rel=1e-9)
    assert consistency(posterior).degrees_of_freedom == 1


def test_a_reading_without_room_for_error_is_named() -> None:
    unknown = [value("x", 0.0, 1.0)]
    block = linear(unknown, np.ones((2, 1)), np.zeros(2), np.diag([1.0, 0.0]))
    with pytest.raises(SettleError, match=r'"r1" leaves no room for error'):
        settle(unknown, [block])


def test_wholly_correlated_errors_are_named() -> None:
    unknown = [value("x", 0.0, 1.0)]
    block = linear(unknown, np.ones((2, 1)), np.zeros(2), np.ones((2, 2)))
    with pytest.raises(SettleError, match=r'"r0", "r1" cannot go together'):
        settle(unknown, [block])


def test_a_reading_that_is_no_number_is_named() -> None:
    unknown = [value("x", 0.0, 1.0)]
    block = linear(unknown, np.ones((1, 1)), np.array([np.nan]), np.eye(1))
    with pytest.raises(SettleError, match=r'"r0" is nan'):
        settle(unknown, [block])


def test_what_can_never_be_predicted_is_named() -> None:
    unknown = [value("x", 0.0, 1.0)]
    block = Formula.of(unknown, lambda x: x * np.nan, [1.0], [0.1])
    with pytest.raises(SettleError, match=r'predicted for the readings "r0"'):
        settle(unknown, [block])


def test_a_start_where_nothing_is_predicted_does_no_harm() -> None:
    """ln x at a prior centre below 0 is no number; the screened starts find the way."""
    unknown = [value("x", -0.5, 2.0)]
    block = Formula.of(unknown, np.log, [0.3], [0.01])
    posterior = settle(unknown, [block])
    assert posterior.value(("part", "x")) == pytest.approx(np.exp(0.3), rel=1e-2)


def test_malformed_calls() -> None:
    unknown = [value("x", 0.0, 1.0)]
    block = linear(unknown, np.ones((1, 1)), np.zeros(1), np.eye(1))
    for broken in (
        replace(block, ids=(("part", "y"),)),
        replace(block, covariance=np.eye(2)),
        replace(block, observed=np.zeros(2)),
        replace(block, shapes=()),
        replace(block, matrix=np.ones((2, 1))),
    ):
        with pytest.raises(CallError):
            settle(unknown, [broken])
    with pytest.raises(CallError, match="twice"):
        settle([*unknown, *unknown], [block])
    with pytest.raises(CallError, match="label"):
        settle(unknown, [block, block])
    with pytest.raises(CallError, match="u above zero"):
        settle([value("x", 0.0, 0.0)], [block])
    with pytest.raises(CallError, match="no unknown"):
        settle(unknown, [block], begin={("part", "z"): 1.0})
    with pytest.raises(CallError, match="no unknown"):
        settle(unknown, [block]).value(("part", "z"))


@pytest.mark.parametrize(("scale", "x"), [("log", 0.02), ("linear", -3.0), ("logit", 0.8)])
def test_begin_and_scales(scale: str, x: float) -> None:
    """A value read directly comes back on every scale, begun elsewhere or at itself."""
    unknown = [Unknown(("part", "x"), scale, Prior(0.0, 30.0))]  # type: ignore[arg-type]
    block = Formula.of(unknown, lambda x: x, [x], [abs(x) * 1e-3])
    for begin in (None, {("part", "x"): x}):
        posterior = settle(unknown, [block], begin=begin, starts=3)
        assert posterior.value(("part", "x")) == pytest.approx(x, rel=1e-4)
        slope = {"log": x, "linear": 1.0, "logit": x * (1.0 - x)}[scale]
        assert posterior.u(("part", "x")) == pytest.approx(abs(x) * 1e-3 / slope, rel=1e-3)
    if scale != "linear":
        with pytest.raises(CallError, match="has no place"):
            settle(unknown, [block], begin={("part", "x"): -1.0})


def test_two_answers_are_both_told() -> None:
    """sin x = 1/2 within the prior's reach: x = pi/6 and 5 pi/6."""
    unknown = [value("x", 0.5 * np.pi, 1.0)]
    posterior = settle(unknown, [Formula.of(unknown, np.sin, [0.5], [0.02])])
    found = sorted(float(mode.t[0]) for mode in posterior.modes if mode.share > 0.3)
    assert found == pytest.approx([np.pi / 6.0, 5.0 * np.pi / 6.0], abs=2e-3)
    assert [mode.share for mode in posterior.modes[:2]] == pytest.approx([0.5, 0.5], abs=1e-6)


def test_shares_of_two_answers_follow_their_evidence() -> None:
    """A prior off the middle by d favours one by exp(2 d x/u^2), near answers of x = ±1."""
    unknown = [value("x", 0.1, 1.0)]
    posterior = settle(unknown, [Formula.of(unknown, lambda x: x * x, [1.0], [1e-3])])
    first, second = posterior.modes[:2]
    assert float(first.t[0]) > 0.0 > float(second.t[0])
    assert first.share / second.share == pytest.approx(np.exp(0.2), rel=1e-3)


def test_the_same_seed_gives_the_same_answer_to_the_last_digit() -> None:
    block = Board(board_truth(1), seed=1)
    one, two = (settle(board_unknowns(), [block], seed=4) for _ in range(2))
    assert one.mode.tolist() == two.mode.tolist()
    assert one.gain.tolist() == two.gain.tolist()
    assert one.draws(5, seed=2).tolist() == two.draws(5, seed=2).tolist()


def test_draws_have_the_covariance_and_the_stated_shapes() -> None:
    """A value read against a rectangular influence that dominates stays within its limits."""
    unknowns = [value("x", 0.0, 1e3), influence("gain", 0.0, 1.0, "rectangle")]
    block = linear(unknowns, np.array([[1.0, 1.0]]), np.array([10.0]), np.array([[1e-8]]))
    posterior = settle(unknowns, [block])
    draws = posterior.draws(20_000, seed=1)
    assert np.cov(draws.T) == pytest.approx(posterior.covariance, rel=0.03)
    assert np.abs(draws[:, 0] - 10.0).max() < np.sqrt(3.0) * 1.001
    low, high = posterior.interval(("part", "x"))
    assert (low, high) == pytest.approx((10 - 0.95 * np.sqrt(3), 10 + 0.95 * np.sqrt(3)), rel=1e-4)


def _ratio_problem() -> tuple[Posterior, float, float]:
    """ln of two coils with one source resistance: L_k = R a_k, so ln L_k = ln R + ln a_k."""
    coils = [Unknown(("part", k), "log", Prior(0.0, 50.0)) for k in ("L1", "L2")]
    source = Unknown(("source", "R"), "log", Prior(0.0, 0.03), nuisance=True)
    unknowns = [*coils, source]
    block = Formula.of(unknowns, lambda x: np.log(x[..., :2] / x[..., 2:]), [0.1, 0.4], [0.004] * 2)
    return settle(unknowns, [block]), 0.03, 0.004


def test_a_shared_cause_cancels_in_a_ratio() -> None:
    """GUM 5.2.2: the source's 3 % is in both coils, not in their ratio; by hand 0.4 % sqrt 2."""
    posterior, shared, own = _ratio_problem()
    l1, l2 = ("part", "L1"), ("part", "L2")
    assert posterior.u(l1) == pytest.approx(np.hypot(shared, own), rel=1e-4)
    ratio = posterior.combination({l1: 1.0, l2: -1.0})
    assert ratio.u == pytest.approx(np.sqrt(2.0) * own, rel=1e-4)
    assert ratio.value == pytest.approx(-0.3, abs=1e-4)
    assert ratio.high - ratio.low == pytest.approx(2 * 1.959964 * ratio.u, rel=1e-4)
    product = posterior.combination({l1: 1.0, l2: 1.0}, offset=2.0)
    assert product.u == pytest.approx(np.hypot(2.0 * shared, np.sqrt(2.0) * own), rel=1e-4)
    assert product.value == pytest.approx(2.5, abs=1e-4)


def test_the_budget_adds_up_and_keeps_signs() -> None:
    posterior, shared, own = _ratio_problem()
    shares = budget(posterior, ("part", "L1"))
    assert sum(share.share for share in shares) == pytest.approx(1.0, abs=1e-12)
    assert shares[0].label == "source R"
    assert shares[0].contribution == pytest.approx(shared, rel=1e-4)
    assert shares[1].label == "r0"
    assert shares[1].contribution == pytest.approx(own, rel=1e-4)
    grouped = budget(posterior, ("part", "L1"), lambda entry: entry.kind)
    assert {share.label for share in grouped} == {"reading", "prior"}
    assert sum(share.share for share in grouped) == pytest.approx(1.0, abs=1e-12)
    owned = {share.label: share for share in budget(posterior, ("part", "L1"), by_owner)}
    assert set(owned) == {"r0", "r1", "source", "part"}
    assert owned["source"].contribution == pytest.approx(shared, rel=1e-4)
