"""Tails and quantiles against scipy.special (SciPy, the Cephes library's functions)."""

from __future__ import annotations

import pytest
from scipy.special import chdtrc, ndtr, ndtri

from ohmbook.evidence.tails import chi_squared_above, normal_below, normal_quantile


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 10, 33, 100, 401])
@pytest.mark.parametrize("share", [1e-6, 0.01, 0.3, 0.9, 1.0, 1.2, 2.0, 5.0])
def test_chi_squared(degrees: int, share: float) -> None:
    found = chi_squared_above(degrees, share * degrees)
    assert found == pytest.approx(chdtrc(degrees, share * degrees), rel=1e-10, abs=1e-300)


def test_chi_squared_at_and_below_nothing() -> None:
    assert chi_squared_above(3, 0.0) == 1.0
    assert chi_squared_above(3, -1.0) == 1.0


@pytest.mark.parametrize("z", [-9.0, -3.0, -1.0, 0.0, 0.5, 1.96, 4.0])
def test_normal(z: float) -> None:
    assert normal_below(z) == pytest.approx(ndtr(z), rel=1e-12)


@pytest.mark.parametrize("p", [1e-9, 0.025, 0.5, 0.8, 0.975, 1 - 1e-9])
def test_normal_quantile(p: float) -> None:
    assert normal_quantile(p) == pytest.approx(ndtri(p), rel=1e-9, abs=1e-15)
