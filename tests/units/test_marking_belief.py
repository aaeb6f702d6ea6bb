"""What to believe of a part's true value, given a meaning."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from ohmbook.units.marking import Meaning, believed, meanings, standard_uncertainty_log

COIL = Meaning("inductor", 0.82e-3, 0.05, 1.0, "for a test")


def test_marked_tolerances_are_limits() -> None:
    """JCGM 100:2008, 4.3.7: half-width over sqrt 3, here on the log scale."""
    belief = believed(COIL)
    half = (math.log(0.82e-3 * 1.05) - math.log(0.82e-3 * 0.95)) / 2
    assert belief.u_log == pytest.approx(half / math.sqrt(3))
    assert belief.u_log == pytest.approx(0.05 / math.sqrt(3), rel=2e-3)
    assert (belief.shape, belief.assumed_tolerance) == ("rectangle", False)
    assert not COIL.assumed_tolerance


def test_lopsided_limits_are_centred_between_their_logarithms() -> None:
    belief = believed(Meaning("capacitor", 47e-6, (-0.20, 0.80), 1.0, "for a test"))
    low, high = math.log(47e-6 * 0.8), math.log(47e-6 * 1.8)
    assert belief.centre_log == pytest.approx((low + high) / 2)
    assert belief.u_log == pytest.approx((high - low) / math.sqrt(12))


@pytest.mark.parametrize(
    ("meaning", "assumed"),
    [
        (replace(COIL, tolerance=None), 0.10),
        (Meaning("resistor", 4.7, None, 1.0, ""), 0.10),
        (Meaning("capacitor", 4.7e-6, None, 1.0, ""), 0.10),
        (Meaning("capacitor", 47e-6, None, 1.0, ""), 0.20),
        (Meaning("capacitor", 4.7e-6, None, 1.0, "", bipolar=True), 0.20),
    ],
)
def test_where_no_tolerance_is_marked_one_is_assumed(meaning: Meaning, assumed: float) -> None:
    """10 %, and 20 % for what looks like an electrolytic: common practice, no source."""
    belief = believed(meaning)
    assert (belief.u_log, belief.shape) == (assumed, "normal")
    assert belief.centre_log == math.log(meaning.value)
    assert belief.assumed_tolerance
    assert meaning.assumed_tolerance
    assert standard_uncertainty_log(meaning) == assumed


def test_units_are_those_of_the_kind() -> None:
    assert [meanings(text)[0].unit for text in ("0.82 mH", "10 uF", "8 ohm")] == ["H", "F", "ohm"]
