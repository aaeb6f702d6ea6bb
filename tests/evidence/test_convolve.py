"""Coverage of sums of rectangles and a normal, against closed forms and direct quadrature."""

from __future__ import annotations

from math import comb, factorial, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from ohmbook.evidence import Array, Shape, half_width


def _rectangles(*half_widths: float) -> Array:
    return np.array(half_widths) / sqrt(3.0)


def _flat(n: int) -> tuple[Shape, ...]:
    flat: Shape = "rectangle"
    return (flat,) * n


def test_a_lone_rectangle_covers_its_share_of_the_half_width() -> None:
    """GUM 4.3.7: all values within ±a are alike probable."""
    assert half_width(_rectangles(2.0), ("rectangle",)) == pytest.approx(1.9, rel=1e-12)


def test_two_rectangles_make_a_trapezoid() -> None:
    """GUM 4.3.9 (trapezoid); P(|S| > z) = (a + b - z)^2 / (4ab) beyond a - b."""
    a, b = 3.0, 1.3
    z = half_width(_rectangles(a, b), ("rectangle",) * 2)
    assert z == pytest.approx(a + b - sqrt(4.0 * a * b * 0.05), rel=1e-12)
    flat = half_width(_rectangles(a, 0.1), ("rectangle",) * 2, 0.5)
    assert flat == pytest.approx(0.5 * a, rel=1e-9)


def test_four_rectangles_of_unit_variance() -> None:
    """JCGM 101:2008, 9.2.3: printed ±3.88 (from memory); ±3.87941 recomputed."""
    assert half_width(np.ones(4), ("rectangle",) * 4) == pytest.approx(3.87941, abs=5e-6)


def test_normals() -> None:
    """JCGM 101:2008, 9.2.2: four standard normals, ±3.92 (from memory)."""
    assert half_width(np.ones(4), ("normal",) * 4) == pytest.approx(3.919928, abs=1e-6)


def _irwin_hall(n: int, x: float) -> float:
    """P(sum of n uniforms on [0, 1] <= x): Hall 1927, Irwin 1927, Biometrika 19."""
    terms = ((-1.0) ** k * comb(n, k) * (x - k) ** n for k in range(int(x) + 1))
    return sum(terms) / factorial(n)


@pytest.mark.parametrize("n", [3, 4, 5, 6, 8, 10, 14])
@pytest.mark.parametrize("probability", [0.5, 0.9, 0.95, 0.99])
def test_equal_rectangles_against_irwin_hall(n: int, probability: float) -> None:
    upper = brentq(lambda x: _irwin_hall(n, x) - 0.5 - probability / 2.0, n / 2.0, n - 1e-9)
    z = half_width(_rectangles(*[0.5] * n), _flat(n), probability)
    assert z == pytest.approx(upper - n / 2.0, rel=1e-5)


def _inside_by_quadrature(z: float, widths: Array, sigma: float) -> float:
    """P(|S| <= z) by Gil-Pelaez's integral itself (Biometrika 38, 1951)."""

    def integrand(w: float) -> float:
        phi = np.exp(-0.5 * (sigma * w) ** 2) * np.prod(np.sinc(widths * w / np.pi))
        return float(phi * np.sinc(w * z / np.pi) * z)

    return float(2.0 / np.pi * quad(integrand, 0.0, 12.0 / sigma, limit=400)[0])


@pytest.mark.parametrize("seed", range(12))
def test_mixtures_against_quadrature(seed: int) -> None:
    """The claim is 0.1 % of the half-width at 95 %."""
    rng = np.random.default_rng(seed)
    gains = np.exp(1.2 * rng.standard_normal(7))
    shapes: tuple[Shape, ...] = ("rectangle",) * 5 + ("normal",) * 2
    widths, sigma = sqrt(3.0) * gains[:5], float(np.hypot(*gains[5:]))
    z = half_width(gains, shapes)
    exact = brentq(lambda x: _inside_by_quadrature(x, widths, sigma) - 0.95, 0.5 * z, 1.5 * z)
    assert z == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("share", [0.01, 0.03, 0.1, 0.2, 0.24])
def test_the_short_way_for_nearly_normal_sums(share: float) -> None:
    """One rectangle with a small share of the variance: against quadrature, 0.1 % claimed."""
    gains = np.array([sqrt(share), sqrt(1.0 - share)])
    z = half_width(gains, ("rectangle", "normal"))
    widths = np.array([sqrt(3.0 * share)])
    exact = brentq(lambda x: _inside_by_quadrature(x, widths, gains[1]) - 0.95, 1.5, 2.5)
    assert z == pytest.approx(exact, rel=1e-3)


@given(
    st.lists(st.floats(1e-3, 1e3), min_size=1, max_size=12),
    st.lists(st.booleans(), min_size=12, max_size=12),
    st.sampled_from([0.9, 0.95, 0.99]),
)
def test_bounds_scale_and_order(gains: list[float], flat: list[bool], probability: float) -> None:
    """Never beyond the sum of limits, scales with the gains, grows with the probability."""
    row = np.array(gains)
    shapes: tuple[Shape, ...] = tuple(
        "rectangle" if f else "normal" for f, _ in zip(flat, gains, strict=False)
    )
    z = half_width(row, shapes, probability)
    assert z > 0.0
    if all(shape == "rectangle" for shape in shapes):
        assert z <= sqrt(3.0) * row.sum() * (1.0 + 1e-9)
    assert half_width(-7.0 * row, shapes, probability) == pytest.approx(7.0 * z, rel=1e-9)
    assert z < half_width(row, shapes, 0.995)


def test_nothing_gives_nothing() -> None:
    assert half_width(np.zeros(3), ("rectangle",) * 3) == 0.0
