"""Features of curves of our own, whose answers are known beforehand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from ohmbook.crossover import curves, features

X = np.log(np.geomspace(20.0, 20000.0, 400))


def _rows(*rows: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array(rows)


@given(st.floats(3.2, 9.7), st.floats(0.2, 40.0), st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_cubic_is_found_where_it_is_zero(place: float, steep: float, falling: bool) -> None:
    sign = -1.0 if falling else 1.0
    offset = X - place
    curve = sign * steep * (offset + 0.05 * offset**2 + 0.01 * offset**3)
    found = curves.zeros(X, curve[None, :])
    assert found.x == pytest.approx([place], abs=1e-9)
    assert found.rising.tolist() == [not falling]


def test_every_zero_of_every_row_is_found_in_order() -> None:
    found = curves.zeros(X, _rows(np.cos(X), np.full(X.size, 1.0), np.sin(X)))
    assert found.rows.tolist() == [0, 0, 2, 2, 2]
    expected = np.pi * np.array([1.5, 2.5, 1.0, 2.0, 3.0])
    np.testing.assert_allclose(found.x, expected, atol=1e-7)


def test_rounding_is_no_crossing_and_a_flat_stretch_is_one() -> None:
    noise = 1e-13 * np.where(np.arange(X.size) % 2, 1.0, -1.0)
    assert curves.zeros(X, noise[None, :]).x.size == 0
    flat = np.clip(X - 5.0, 0.0, None) + np.clip(X - 4.0, None, 0.0)
    found = curves.zeros(X, flat[None, :])
    assert found.x.size == 1
    assert 3.9 < found.x[0] < 5.1


def test_infinite_points_beside_a_zero_do_no_harm() -> None:
    curve = X - X[200] - 0.001
    curve[:201] = -np.inf
    found = curves.zeros(X, curve[None, :])
    assert found.x.size == 1
    assert X[200] <= found.x[0] <= X[201]


def test_three_points_are_enough_for_a_line() -> None:
    found = curves.zeros(np.array([1.0, 2.0, 3.0]), np.array([[-1.0, 1.0, 3.0]]))
    assert found.x.tolist() == [1.5]


def test_lowest_point_between_the_grid() -> None:
    value, where = curves.lowest(X, _rows((X - 6.0123) ** 2 + 3.0, X, -X))
    np.testing.assert_allclose(value, [3.0, X[0], -X[-1]], atol=1e-12)
    np.testing.assert_allclose(where, [6.0123, X[0], X[-1]], atol=1e-9)


def test_two_crossings_of_one_pair_are_both_told_with_their_own_draws() -> None:
    hump = -((X - 6.0) ** 2)
    level = np.full(X.size, -1.0)
    # Draws: as the best, moved a little, no crossing at all.
    gains = {
        "a": _rows(hump, hump, -((X - 6.1) ** 2), hump - 5.0),
        "b": _rows(level, level, level, level),
    }
    first, second = features.crossings(X, gains)
    assert first.between == ("b", "a")
    assert second.between == ("a", "b")
    assert np.log(first.frequency_hz.value) == pytest.approx(5.0, abs=1e-6)
    assert np.log(second.frequency_hz.value) == pytest.approx(7.0, abs=1e-6)
    assert first.gain_db == pytest.approx(-1.0, abs=1e-9)
    for one, place in ((first, 5.0), (second, 7.0)):
        assert (one.draws, one.draws_without) == (3, 1)
        assert one.frequency_hz.high is not None
        assert place < np.log(one.frequency_hz.high) < place + 0.1


def test_crossings_of_three_outputs_come_pair_by_pair() -> None:
    gains = {"low": (-X)[None, :], "mid": np.full((1, X.size), -6.0), "high": (X - 12.0)[None, :]}
    pairs = [one.between for one in features.crossings(X, gains)]
    assert pairs == [("low", "mid"), ("low", "high"), ("mid", "high")]


def test_ripple_inside_the_band_is_not_a_corner() -> None:
    band = -10.0 * np.log10(1.0 + np.exp(12.0 * (4.0 - X)) + np.exp(12.0 * (X - 8.0)))
    dip = -10.0 * np.exp(-(((X - 5.5) / 0.1) ** 2))
    corners = features.traits(X, (band + dip)[None, :]).corners
    places = {(one.depth, one.side): np.log(one.frequency_hz.value) for one in corners}
    assert places[("minus_3_db", "below")] == pytest.approx(4.0, abs=1e-3)
    assert places[("minus_3_db", "above")] == pytest.approx(8.0, abs=1e-3)
    assert len(corners) == 4


def test_a_rising_far_side_is_called_rising() -> None:
    notch = np.where(X < 5.0, 0.0, np.where(X < 6.0, -30.0, -30.0 + 6.0 * (X - 6.0)))
    slopes = features.traits(X, notch[None, :]).slopes
    assert [one.words.split(" dB")[0] for one in slopes] == ["rises 4"]


def test_a_notch_is_not_a_corner() -> None:
    notch = -20.0 * np.exp(-(((X - 6.0) / 0.5) ** 2))
    assert features.traits(X, notch[None, :]).corners == ()


def test_intervals_hold_their_values_on_either_side() -> None:
    # Draws that all lie above the best curve, and draws that all lie below it.
    dip = 5.0 + (X - 6.0) ** 2
    for shift in (1.0, -1.0):
        lowest = features.minimum_impedance(X, _rows(dip, dip + shift, dip + 1.1 * shift)).ohm
        assert lowest.low is not None
        assert lowest.high is not None
        assert lowest.low <= lowest.value <= lowest.high
