"""What is known of values that are not known one by one."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import numpy as np
import pytest

from ohmbook.evidence import Array, Known, Prior, Unknown, settle, what_is_known

from .toys import Formula, value

X, Y = ("part", "x"), ("part", "y")


def _told(
    function: object, read: list[float], u: list[float], centres: tuple[float, ...]
) -> tuple[Known, ...]:
    unknowns = [
        Unknown(("part", name), "log", Prior(log(centre), log(6.0)))
        for name, centre in zip("xyz", centres, strict=False)
    ]
    block = replace(Formula.of(unknowns, function, read, u), floor=1e-12)  # type: ignore[arg-type]
    posterior = settle(unknowns, [block])
    return what_is_known(unknowns, [block], posterior, [unknown.id for unknown in unknowns])


def _one(x: Array) -> Array:
    return x[..., np.newaxis]


@pytest.mark.parametrize(
    ("kind", "function", "truth"),
    [
        ("sum", lambda x: _one(x[..., 0] + x[..., 1]), 18.0),
        ("parallel", lambda x: _one(1.0 / x[..., 0] + 1.0 / x[..., 1]), 0.3),
        ("product", lambda x: _one(x[..., 0] * x[..., 1]), 70.0),
        ("ratio", lambda x: _one(x[..., 0] / x[..., 1]), 1.7),
    ],
)
@pytest.mark.parametrize("centres", [(10.0, 10.0), (6.0, 14.0)])
def test_pairs(kind: str, function: object, truth: float, centres: tuple[float, float]) -> None:
    """One reading of 1 % of each form, also with both priors alike, where all forms are tangent."""
    (known,) = _told(function, [truth], [0.01 * truth], centres)
    assert known.kind == kind
    assert known.ids == (X, Y)
    assert known.value == pytest.approx(truth, rel=1e-3)
    assert known.u_relative == pytest.approx(0.01, rel=0.05)
    assert known.low is not None
    assert known.high is not None
    assert (known.low, known.high) == pytest.approx((truth * 0.9806, truth * 1.0198), rel=2e-3)


def test_a_difference() -> None:
    """A bridge that reads x - y = 3 within 0.02, both within a factor of six of 10."""
    (known,) = _told(lambda x: _one(x[..., 0] - x[..., 1]), [3.0], [0.02], (10.0, 10.0))
    assert known.kind == "difference"
    assert known.value == pytest.approx(3.0, abs=0.01)


def test_a_resonance_tells_the_product() -> None:
    """f0 = 1/(2 pi sqrt(LC)) of 1 mH and 10 uF."""
    f0 = 1.0 / (2.0 * pi * np.sqrt(1e-3 * 10e-6))

    def resonance(x: Array) -> Array:
        return _one(1.0 / (2.0 * pi * np.sqrt(x[..., 0] * x[..., 1])))

    (known,) = _told(resonance, [f0], [0.002 * f0], (2e-3, 5e-6))
    assert known.kind == "product"
    assert known.value == pytest.approx(1e-8, rel=1e-3)
    assert known.u_relative == pytest.approx(0.004, rel=0.02)


def test_amplitudes_alone_tell_the_ratios_of_all_three() -> None:
    """L/R from amplitudes when no resistance fixes the scale: |jwL + r|/R at two frequencies."""

    def amplitudes(x: Array) -> Array:
        l, r, source = x[..., 0], x[..., 1], x[..., 2]
        return np.stack([np.hypot(w * l, r) / source for w in (0.1, 3.0)], axis=-1)

    read = list(amplitudes(np.array([10.0, 4.0, 50.0])))
    told = _told(amplitudes, read, [0.001, 0.006], (10.0, 10.0, 50.0))
    assert {known.kind for known in told} == {"ratio"}
    values = {known.ids: known.value for known in told}
    assert values[X, ("part", "z")] == pytest.approx(0.2, rel=0.02)
    assert values[Y, ("part", "z")] == pytest.approx(0.08, rel=0.02)


def test_an_upper_limit() -> None:
    """A resistance read 0.00 +- 0.05 ohm beside a prior about 10: at most 1.645 u = 0.082."""
    (known,) = _told(lambda x: x, [0.0], [0.05], (10.0,))
    assert (known.kind, known.ids, known.low) == ("at most", (X,), None)
    assert known.value == pytest.approx(1.645 * 0.05, rel=0.02)
    assert known.u_relative is None


def test_a_lower_limit() -> None:
    """A capacitor whose 1/C reads 0.0 +- 0.01: at least 1/0.01645."""
    (known,) = _told(lambda x: 1.0 / x, [0.0], [0.01], (5.0,))
    assert (known.kind, known.high) == ("at least", None)
    assert known.value == pytest.approx(1.0 / 0.01645, rel=0.02)


def test_determined_or_wholly_unknown_values_are_passed_over() -> None:
    told = _told(lambda x: x[..., :1], [12.0], [0.1], (10.0, 10.0))
    assert told == ()


def test_pairs_are_of_positive_values_only() -> None:
    """Offsets on a linear scale are not paired; their limits are still told."""
    unknowns = [value("x", 0.0, 1.0), value("y", 0.0, 1.0)]
    block = Formula.of(unknowns, lambda x: _one(x[..., 0] + x[..., 1]), [0.0], [0.01])
    posterior = settle(unknowns, [block])
    assert what_is_known(unknowns, [block], posterior, [X, Y]) == ()
