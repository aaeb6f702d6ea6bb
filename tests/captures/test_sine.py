"""The sine fit: IEEE Std 1057's closed case, the Cramér-Rao bound, several channels."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.sine_fit import ROWS, WANTED, bound, skew, spread

from ohmbook.captures import sine
from ohmbook.errors import CaptureError


def test_three_parameters_of_a_noiseless_record() -> None:
    """IEEE Std 1057 three-parameter fit; recomputed, no printed number seen."""
    t = np.arange(480) / 48e3
    turn = 2 * np.pi * 1e3 * t
    found = sine.fit(t, [0.3 + 1.2 * np.cos(turn) - 0.5 * np.sin(turn)], f_hz=1e3)
    start = found.phasors[0] * np.exp(-2j * np.pi * 1e3 * found.middle_s)
    assert start == pytest.approx(1.2 + 0.5j, abs=1e-12)
    assert abs(start) == pytest.approx(1.3, abs=1e-12)
    assert np.angle(start) == pytest.approx(0.394791119700, abs=1e-12)
    assert found.offsets[0] == pytest.approx(0.3, abs=1e-12)
    assert found.u_f_hz == 0.0


def test_four_parameters_of_a_noiseless_record() -> None:
    t = np.arange(1000) / 1000
    f_hz = 7.318
    found = sine.fit(t, [0.1 + 0.7 * np.cos(2 * np.pi * f_hz * t + 0.4)])
    assert found.f_hz == pytest.approx(f_hz, rel=1e-12)
    assert abs(found.phasors[0]) == pytest.approx(0.7, rel=1e-12)


def test_the_bound_is_the_published_one() -> None:
    """Kay 1993 ex. 3.14; Rife & Boorstyn 1974 (formulas from memory): A 1, sigma 0.05, N 1000."""
    t = np.arange(1000, dtype=float) - 499.5
    least = bound(t, 1.0, 0.3, 2 * np.pi * 0.12345, 0.05)
    assert least[0] == pytest.approx(2.236068e-3, rel=2e-3)
    assert least[1] == pytest.approx(2.236068e-3, rel=2e-3)
    assert least[2] == pytest.approx(7.745971e-6, rel=2e-3)


@pytest.mark.parametrize("bits", [0, 8])
def test_errors_reach_the_bound_and_the_claim(bits: int) -> None:
    """2000 records over 2.3 to 500 cycles; a spread of 2000 is itself known to 1.6 %."""
    found = spread(2000, bits, seed=1)
    assert np.all(found.against_bound <= WANTED)
    assert found.against_claim == pytest.approx(1.0, abs=0.05)
    assert ROWS == 1000


def test_a_time_skew_is_recovered_with_its_uncertainty() -> None:
    drift, ratio = skew(60, seed=2)
    assert abs(drift) < 3.0
    assert ratio == pytest.approx(1.0, abs=0.2)


def test_channels_share_the_frequency_and_lend_each_other_precision() -> None:
    rng = np.random.default_rng(4)
    t = np.arange(600) / 600
    weak = 0.02 * np.cos(2 * np.pi * 5.3 * t + 1.0) + rng.normal(0, 0.02, 600)
    strong = np.cos(2 * np.pi * 5.3 * t) + rng.normal(0, 0.001, 600)
    alone, both = sine.fit(t, [weak]), sine.fit(t, [strong, weak])
    assert both.u_f_hz < 0.05 * alone.u_f_hz
    assert abs(both.f_hz - 5.3) < 4 * both.u_f_hz


def test_the_covariance_of_a_ratio_is_that_of_many_records() -> None:
    rng = np.random.default_rng(5)
    t = np.arange(400) / 400
    found = []
    for _ in range(600):
        one = np.cos(2 * np.pi * 6.2 * t) + rng.normal(0, 0.02, 400)
        other = 0.4 * np.cos(2 * np.pi * 6.2 * t + 0.8) + rng.normal(0, 0.01, 400)
        found.append(sine.fit(t, [one, other]).ratio(1, 0))
    h = np.array([one[0] for one in found])
    claimed = np.mean([one[1] for one in found], axis=0)
    seen = np.cov(np.stack([h.real, h.imag]))
    assert np.diag(seen) == pytest.approx(np.diag(claimed), rel=0.2)
    assert np.mean(h) == pytest.approx(0.4 * np.exp(0.8j), abs=3e-4)


@pytest.mark.parametrize(
    ("y", "words"),
    [
        (np.zeros(100), "flat"),
        (np.linspace(0, 1, 100)[:3], "too few"),
    ],
)
def test_what_is_no_sine_is_refused(
    y: np.ndarray[tuple[int], np.dtype[np.float64]], words: str
) -> None:
    with pytest.raises(CaptureError, match=words):
        sine.fit(np.arange(len(y), dtype=float), [y])
