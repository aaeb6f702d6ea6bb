"""Worked examples of the GUM family."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy.special import stdtrit

from ohmbook.evidence import (
    Array,
    Posterior,
    Prior,
    Unknown,
    budget,
    curvature,
    refits,
    settle,
)

from .toys import Formula, influence, linear, value

# JCGM 100:2008, Table H.2: five simultaneous readings.
VOLTAGE_V = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
CURRENT_A = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASE_RAD = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
RESISTANCE, REACTANCE = ("part", "R"), ("part", "X")


def _impedance(means: Array, covariance: Array) -> Posterior:
    """R and X from V, I, phi: V = I sqrt(R^2 + X^2), phi = atan(X/R); I is an influence."""
    parts = [Unknown(("part", k), "log", Prior(5.0, 300.0)) for k in "RX"]
    current = Unknown(("meter", "I"), "log", Prior(-4.0, 300.0), nuisance=True)
    unknowns = [*parts, current]

    def readings(x: Array) -> Array:
        r, reactance, i = x[..., 0], x[..., 1], x[..., 2]
        return np.stack([i * np.hypot(r, reactance), i, np.arctan2(reactance, r)], axis=-1)

    return settle(unknowns, [Formula.of(unknowns, readings, means, covariance=covariance)])


def _magnitude(posterior: Posterior) -> tuple[float, Array]:
    """|Z| and its gain row (ohm), from those of ln R and ln X."""
    r, x = posterior.value(RESISTANCE), posterior.value(REACTANCE)
    z = float(np.hypot(r, x))
    return z, (r * r * posterior.gain[0] + x * x * posterior.gain[1]) / z


def _raw() -> tuple[Array, Array]:
    data = np.stack([VOLTAGE_V, CURRENT_A, PHASE_RAD])
    return data.mean(axis=1), np.cov(data) / 5.0


def test_gum_h2_correlated_impedance() -> None:
    """JCGM 100:2008, H.2, Tables H.3 and H.4. Full digits recomputed from the raw data; printed
    (from memory): 127.732(71), 219.847(295), 254.260(236), r = -0.588, -0.485, 0.993."""
    posterior = _impedance(*_raw())
    r, x = posterior.value(RESISTANCE), posterior.value(REACTANCE)
    z, z_row = _magnitude(posterior)
    u_r, u_x = r * posterior.u(RESISTANCE), x * posterior.u(REACTANCE)
    u_z = float(np.sqrt(z_row @ z_row))
    assert [r, x, z] == pytest.approx([127.732170, 219.846512, 254.259702], abs=1e-6)
    assert [u_r, u_x, u_z] == pytest.approx([0.0710714, 0.295582, 0.236336], rel=1e-5)
    assert [r, x, z] == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)
    assert [u_r, u_z] == pytest.approx([0.071, 0.236], abs=5e-4)
    # Printed 0.295 for X; the data give 0.2956 directly and 0.2955 row by row.
    assert u_x == pytest.approx(0.2955, abs=0.0006)
    rows = [posterior.gain[0] * r, posterior.gain[1] * x, z_row]
    correlations = np.array([[a @ b / sqrt((a @ a) * (b @ b)) for b in rows] for a in rows])
    found = correlations[[0, 0, 1], [1, 2, 2]]
    assert found == pytest.approx([-0.5884, -0.4853, 0.9925], abs=5e-5)
    assert found == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)


def test_gum_h2_with_correlations_ignored_is_wrong_by_known_amounts() -> None:
    """The trap: u = 0.1945, 0.2009, 0.2041 ohm without the correlations (recomputed)."""
    means, covariance = _raw()
    posterior = _impedance(means, np.diag(np.diag(covariance)))
    _, z_row = _magnitude(posterior)
    found = [
        posterior.value(RESISTANCE) * posterior.u(RESISTANCE),
        posterior.value(REACTANCE) * posterior.u(REACTANCE),
        float(np.sqrt(z_row @ z_row)),
    ]
    assert found == pytest.approx([0.1945, 0.2009, 0.2041], abs=5e-5)


def test_gum_h2_with_rounded_inputs_is_off_in_the_second_digit() -> None:
    """The other trap: Table H.2's rounded summary gives u(R) = 0.06998 ohm (recomputed)."""
    u = np.array([0.0032, 0.0095e-3, 0.00075])
    r = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    posterior = _impedance(np.array([4.9990, 19.6610e-3, 1.04446]), np.outer(u, u) * r)
    u_r = posterior.value(RESISTANCE) * posterior.u(RESISTANCE)
    assert u_r == pytest.approx(0.06998, abs=5e-5)


LENGTH = ("part", "length")
STANDARD_NM = 50_000_623.0


def _end_gauge() -> tuple[list[Unknown], Formula]:
    """JCGM 100:2008, H.1, eq. (H.3): l = ls + d - ls (d_alpha theta + alpha_s d_theta), lengths
    as nm beyond the standard; the arcsine of Delta enters as a normal of u = 0.5/sqrt 2."""
    third = 1.0 / sqrt(3.0)
    unknowns = [
        value("length", 0.0, 1e6),
        influence("ls", 0.0, 25.0),
        influence("d1", 0.0, 3.9),
        influence("d2", 0.0, 6.7),
        influence("alpha_s", 11.5, 2.0 * third, "rectangle"),
        influence("d_alpha", 0.0, 1.0 * third, "rectangle"),
        influence("d_theta", 0.0, 0.05 * third, "rectangle"),
        influence("theta_bar", -0.1, 0.2),
        influence("delta", 0.0, 0.5 / sqrt(2.0)),
    ]

    def comparator(x: Array) -> Array:
        l, ls, d1, d2, alpha, d_alpha, d_theta, theta, delta = np.moveaxis(x, -1, 0)
        grown = (STANDARD_NM + ls) * 1e-6 * (d_alpha * (theta + delta) + alpha * d_theta)
        return np.asarray((l - ls + grown + d1 + d2)[..., np.newaxis])

    return unknowns, Formula.of(unknowns, comparator, [215.0], [5.8])


def effective_dof(contributions: list[float], dofs: list[float]) -> float:
    """Welch-Satterthwaite, GUM eq. (G.2b)."""
    total = sum(c * c for c in contributions)
    return total**2 / sum(c**4 / v for c, v in zip(contributions, dofs, strict=True))


def test_gum_h1_end_gauge() -> None:
    """JCGM 100:2008, H.1: 50 000 838 nm, u = 32 nm; components 25, 16.6, 6.7, 5.8, 3.9, 2.9 nm."""
    unknowns, block = _end_gauge()
    posterior = settle(unknowns, [block])
    assert posterior.value(LENGTH) + STANDARD_NM == pytest.approx(50_000_838.0, abs=0.5)
    assert posterior.u(LENGTH) == pytest.approx(32.0, abs=0.5)
    shares = {share.label: abs(share.contribution) for share in budget(posterior, LENGTH)}
    expected = {
        "influence ls": 25.0,
        "influence d_theta": 16.599,
        "influence d2": 6.7,
        "r0": 5.8,
        "influence d1": 3.9,
        "influence d_alpha": 2.887,
        "influence alpha_s": 0.0,
        "influence theta_bar": 0.0,
        "influence delta": 0.0,
    }
    for label, contribution in expected.items():
        assert shares[label] == pytest.approx(contribution, abs=2e-3), label
    # The printed components with the printed degrees of freedom: 16.7 (from memory), 16.76
    # recomputed; t99(16) = 2.92 (GUM Table G.2), so U99 = 93 nm.
    parts = [round(shares[label], 1) for label in list(expected)[:6]]
    dof = effective_dof(parts, [18.0, 2.0, 8.0, 24.0, 5.0, 50.0])
    assert dof == pytest.approx(16.7, abs=0.1)
    expanded = float(stdtrit(int(dof), 0.995)) * round(posterior.u(LENGTH))
    assert expanded == pytest.approx(93.0, abs=0.6)


def test_gum_h1_second_order_by_refits() -> None:
    """JCGM 100:2008, H.1.7: with second-order terms u = 34 nm, which refits must find."""
    unknowns, block = _end_gauge()
    posterior = settle(unknowns, [block], starts=1)
    trials = refits(unknowns, [block], posterior, 2000, seed=2)
    assert trials.failed == 0
    assert trials.claim == "indicative"
    assert trials.u(LENGTH) == pytest.approx(33.8, abs=3 * 33.8 / sqrt(4000))


def _sum_of_four(shape: str) -> tuple[list[Unknown], list[Formula]]:
    addends = [influence(f"x{k}", 0.0, 1.0, shape) for k in range(4)]  # type: ignore[arg-type]
    unknowns = [value("y", 0.0, 1e4), *addends]
    matrix = np.array([[1.0, -1.0, -1.0, -1.0, -1.0]])
    block = linear(unknowns, matrix, np.zeros(1), np.array([[1e-6]]))
    return unknowns, [block]  # type: ignore[list-item]


@pytest.mark.parametrize(
    ("shape", "bound", "number", "claim"),
    [("normal", 3.9199, 2000, "indicative"), ("rectangle", 3.87941, 10_000, "validated")],
)
def test_jcgm_101_sums_of_four(shape: str, bound: float, number: int, claim: str) -> None:
    """JCGM 101:2008, 9.2.2 (±3.92) and 9.2.3 (±3.88), from memory; in full recomputed. The
    interval is exact; the refits agree within their own sampling error (3 sigma)."""
    unknowns, blocks = _sum_of_four(shape)
    posterior = settle(unknowns, blocks, starts=1)
    y = ("part", "y")
    assert posterior.u(y) == pytest.approx(2.0, rel=1e-5)
    assert posterior.interval(y) == pytest.approx((-bound, bound), abs=3e-5)
    trials = refits(unknowns, blocks, posterior, number, seed=1)
    assert trials.claim == claim
    density = 0.029
    sampling = 3.0 * sqrt(0.025 * 0.975 / number) / density
    assert trials.interval(y) == pytest.approx((-bound, bound), abs=sampling)
    assert trials.u(y) == pytest.approx(2.0, abs=3.0 * 2.0 / sqrt(2.0 * number))


SQUARE = ("part", "Y")


def _squares(x1: float, r: float = 0.0) -> tuple[list[Unknown], list[Formula], Posterior]:
    """JCGM 101:2008, 9.4: Y = X1^2 + X2^2 in 1e-6, X in 1e-3, u = 5 each. The equation holds
    within 0.5, a hundredth of the smallest standard deviation in the example."""
    unknowns = [
        value("Y", 0.0, 1e6),
        Unknown(("part", "X1"), "linear", Prior(0.0, 1e6)),
        Unknown(("part", "X2"), "linear", Prior(0.0, 1e6)),
    ]
    covariance = np.zeros((3, 3))
    covariance[:2, :2] = 25.0 * np.array([[1.0, r], [r, 1.0]])
    covariance[2, 2] = 0.25

    def readings(x: Array) -> Array:
        y, one, two = np.moveaxis(x, -1, 0)
        return np.stack([one, two, y - one**2 - two**2], axis=-1)

    block = Formula.of(unknowns, readings, [x1, 0.0, 0.0], covariance=covariance)
    return unknowns, [block], settle(unknowns, [block], starts=1)


@pytest.mark.parametrize(
    ("x1", "mean", "sd", "low", "high"),
    [
        (0.0, 50.0, 50.0, 0.0, 149.8),
        (10.0, 150.0, 111.803, 0.0, 366.0),
        (50.0, 2550.0, 502.494, 1593.6, 3548.6),
    ],
)
def test_jcgm_101_squares_near_zero(
    x1: float, mean: float, sd: float, low: float, high: float
) -> None:
    """JCGM 101:2008, 9.4, r = 0 (u = 0.005): exact mean, sd and shortest 95 % interval, 1e-6,
    recomputed. First order gives u = 0, 100, 500; the curvature check must reject it, and the
    refits must give the exact answer within 1000 trials' sampling error (shortest intervals
    wander by about ±10 at a million trials in the published account)."""
    unknowns, blocks, posterior = _squares(x1)
    assert posterior.u(SQUARE) == pytest.approx(10.0 * x1, abs=0.6)
    (check,) = curvature(unknowns, blocks, posterior, [SQUARE])
    assert not check.holds
    trials = refits(unknowns, blocks, posterior, 1000, seed=3)
    assert trials.failed == 0
    assert trials.mean(SQUARE) == pytest.approx(mean, abs=3.0 * sd / sqrt(1000.0))
    assert trials.u(SQUARE) == pytest.approx(sd, rel=0.1)
    slack = 0.15 * sd
    assert trials.shortest(SQUARE) == pytest.approx((low, high), abs=10.0 + slack)


def test_jcgm_101_squares_correlated() -> None:
    """JCGM 101:2008, 9.4, r = 0.9, x1 = 0.010: mean 150, sd 120.520 (recomputed)."""
    unknowns, blocks, posterior = _squares(10.0, r=0.9)
    trials = refits(unknowns, blocks, posterior, 1000, seed=4)
    assert trials.mean(SQUARE) == pytest.approx(150.0, abs=3.0 * 120.52 / sqrt(1000.0))
    assert trials.u(SQUARE) == pytest.approx(120.52, rel=0.12)


def test_type_b_divisors_by_their_own_distributions() -> None:
    """GUM 4.3.7: a rectangle of half-width a has u = a/sqrt 3. A reading shaped so, in refits."""
    unknown = [value("x", 0.0, 1e4)]
    block = linear(unknown, np.ones((1, 1)), np.array([2.0]), np.array([[1.0 / 3.0]]), "rectangle")
    posterior = settle(unknown, [block], starts=1)
    trials = refits(unknown, [block], posterior, 2000, seed=1)
    values = trials.values[:, 0]
    assert values.min() > 0.999
    assert values.max() < 3.001
    assert trials.u(("part", "x")) == pytest.approx(1.0 / sqrt(3.0), rel=0.05)
    assert posterior.interval(("part", "x")) == pytest.approx((1.05, 2.95), abs=1e-6)
