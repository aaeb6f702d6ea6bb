"""Do the readings agree? Against simulated data and against leaving readings out in earnest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ohmbook.evidence import Unknown, consistency, settle, strains

from .toys import Linear, influence, linear, value


def _mixed(seed: int, beyond: float = 0.0) -> tuple[list[Unknown], Linear]:
    """9 readings, 4 values (one hardly touched, one not determined singly), 2 influences; truth
    drawn from the priors, then moved `beyond` prior standard uncertainties in the values."""
    rng = np.random.default_rng(seed)
    unknowns = [
        *(value(f"x{k}", 0.0, 50.0) for k in range(4)),
        influence("gain", 0.0, 1.0),
        influence("offset", 0.5, 2.0),
    ]
    matrix = np.random.default_rng(99).standard_normal((9, 6))
    matrix[:, 2] *= 1e-4
    matrix[:, 3] = matrix[:, 0]
    prior = np.array([unknown.prior.u for unknown in unknowns])
    centre = np.array([unknown.prior.centre for unknown in unknowns])
    deviates = rng.standard_normal(6)
    deviates[:4] += beyond
    truth = centre + prior * deviates
    covariance = 0.04 * (np.eye(9) + 0.5)
    errors = np.linalg.cholesky(covariance) @ rng.standard_normal(9)
    return unknowns, linear(unknowns, matrix, matrix @ truth + errors, covariance)


@pytest.mark.parametrize("beyond", [0.0, 3.0])
def test_chi_squared_follows_its_distribution(beyond: float) -> None:
    """Over 300 seeds the p-values are uniform (Kolmogorov-Smirnov, 1 % level), whether or not the
    values lie where their priors say. 9 readings less 2 directions spoken of: 7 degrees."""
    p_values = []
    for seed in range(300):
        unknowns, block = _mixed(seed, beyond)
        verdict = consistency(settle(unknowns, [block], starts=1, set_aside=False))
        assert verdict.degrees_of_freedom == 7
        assert verdict.p_value is not None
        p_values.append(verdict.p_value)
    steps = np.arange(1, 301) / 300.0
    distance = np.max(np.abs(np.sort(p_values) - steps + 0.5 / 300.0))
    assert distance < 1.63 / np.sqrt(300.0)


def test_degrees_of_freedom_are_readings_less_the_trace_of_the_hat_matrix() -> None:
    """With wide priors on determined values and influences read as readings of themselves."""
    unknowns, block = _mixed(1)
    keep = [0, 1, 4, 5]
    unknowns = [unknowns[k] for k in keep]
    ids = tuple(unknown.id for unknown in unknowns)
    block = replace(block, ids=ids, matrix=block.matrix[:, keep])
    posterior = settle(unknowns, [block], starts=1, set_aside=False)
    used = np.ones(13, dtype=bool)
    used[9:11] = False
    degrees = used.sum() - posterior.leverage[used].sum()
    assert consistency(posterior).degrees_of_freedom == pytest.approx(degrees, abs=1e-3)


def test_a_lone_reading_has_nothing_to_agree_with() -> None:
    unknowns = [value("x", 0.0, 100.0), influence("gain", 0.0, 0.1)]
    block = linear(unknowns, np.array([[1.0, 3.0]]), np.array([250.0]), np.eye(1))
    posterior = settle(unknowns, [block])
    verdict = consistency(posterior)
    assert (verdict.degrees_of_freedom, verdict.p_value) == (0, None)
    assert verdict.chi_squared == pytest.approx(0.0, abs=1e-3)
    (strain,) = strains(posterior)
    assert strain.unchecked


def test_what_the_prior_alone_disputes_is_no_disagreement() -> None:
    """Two readings that agree on a value eight prior standard uncertainties away."""
    unknowns = [value("x", 0.0, 1.0)]
    block = linear(unknowns, np.ones((2, 1)), np.array([8.0, 8.1]), 0.01 * np.eye(2))
    p_value = consistency(settle(unknowns, [block])).p_value
    assert p_value == pytest.approx(0.48, abs=0.01)  # (0.1)^2 / 0.02 = 0.5 with one degree


def _objective(unknowns: list[Unknown], block: Linear, keep: list[int]) -> float:
    covariance = block.covariance[np.ix_(keep, keep)]
    rest = replace(
        block,
        matrix=block.matrix[keep],
        observed=block.observed[keep],
        covariance=covariance,
        labels=tuple(block.labels[k] for k in keep),
        shapes=block.shapes[: len(keep)],
    )
    return settle(unknowns, [rest], starts=1, set_aside=False).objective


@pytest.mark.parametrize("correlated", [True, False])
def test_deleted_residuals_are_those_of_leaving_the_reading_out(correlated: bool) -> None:
    """The square is what the objective falls by without it, also where errors correlate."""
    unknowns, block = _mixed(5)
    if not correlated:
        block = replace(block, covariance=np.diag(np.linspace(0.01, 0.2, 9)))
    posterior = settle(unknowns, [block], starts=1, set_aside=False)
    for place, strain in enumerate(strains(posterior)):
        keep = [k for k in range(9) if k != place]
        fall = posterior.objective - _objective(unknowns, block, keep)
        assert strain.residual**2 == pytest.approx(fall, rel=1e-6, abs=1e-8)
        assert strain.label == f"r{place}"
        assert 0.0 <= strain.leverage < 1.0


def test_a_shift_is_the_reading_less_what_the_others_make_of_it() -> None:
    unknowns = [value("x", 0.0, 1e4)]
    block = linear(unknowns, np.ones((3, 1)), np.array([1.0, 1.2, 2.0]), np.diag([1.0, 1.0, 4.0]))
    last = strains(settle(unknowns, [block], set_aside=False))[2]
    assert last.shift == pytest.approx(2.0 - 1.1, rel=1e-6)
    assert last.residual == pytest.approx(0.9 / np.sqrt(4.0 + 0.5), rel=1e-6)
    assert last.leverage == pytest.approx(0.25 / 2.25, rel=1e-6)
