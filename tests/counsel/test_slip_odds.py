"""Odds of slips: on mistakes drawn as often as is believed, what is told comes true as often."""

from __future__ import annotations

from math import sqrt

import numpy as np

from tests.counsel.test_slips import AT, Written, right, slip, told


def test_the_odds_are_roughly_right() -> None:
    """Of cells made wrong as often as is believed (a tenth, rms for pp, or anything smaller down to
    a hundredth), what is told with some probability is so about as often."""
    rng = np.random.default_rng(3)
    claimed, right_ones = [], []
    for _ in range(10):
        readings = right()
        usual = bool(rng.random() < 0.73)  # (1/300 + 0.7/200) of that and 1/400 together
        any_factor = np.exp(rng.uniform(np.log(0.01), np.log(0.95)))
        factor = float(rng.choice([0.1, 0.5 / sqrt(2)])) if usual else float(any_factor)
        noisy = AT * (1.0 + rng.uniform(-0.005, 0.005))
        readings[2] = Written("4300 Hz", f"{noisy * factor:.4f} Vpp")
        named = slip(told(readings)).explanations[:-2]
        claimed.append(sum(one.probability or 0.0 for one in named))
        right_ones.append(usual)
    assert abs(np.mean(claimed) - np.mean(right_ones)) < 0.2
    sure = [is_so for chance, is_so in zip(claimed, right_ones, strict=True) if chance > 0.9]
    assert np.mean(sure) > 0.8
