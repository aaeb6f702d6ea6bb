"""The axis of a picture: what is shown lies on it, its ticks are round and few."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from ohmbook.report.ruler import ruler

VALUES = st.floats(1e-9, 1e6)


def test_close_values_have_an_even_axis_with_round_ticks() -> None:
    found = ruler([(1.05e-3, 1.17e-3, 1.29e-3), (1.18e-3, 1.2e-3, 1.22e-3)], "H")
    assert not found.by_factors
    assert [text for _, text in found.ticks] == [
        "1.05 mH", "1.10 mH", "1.15 mH", "1.20 mH", "1.25 mH", "1.30 mH"
    ]  # fmt: skip
    places = [place for place, _ in found.ticks]
    steps = {round(b - a, 9) for a, b in pairwise(places)}
    assert len(steps) == 1


def test_values_decades_apart_have_an_axis_by_factors() -> None:
    found = ruler([(1.0, 2.0, 4.0), (100.0, 200.0, 400.0)], "ohm")
    assert found.by_factors
    assert abs(found.place(20.0) - (found.place(2.0) + found.place(200.0)) / 2) < 1e-9
    assert "10 Ω" in [text for _, text in found.ticks]


def test_one_hopeless_interval_does_not_squeeze_the_others() -> None:
    found = ruler([(0.1, 1.0, 10.0), (0.99, 1.0, 1.01), (0.98, 1.0, 1.02)], "ohm")
    assert found.place(1.01) - found.place(0.99) > 0.03


@given(st.lists(st.tuples(VALUES, st.floats(1.0, 10.0)), min_size=1, max_size=8))
def test_every_value_lies_on_the_axis_and_ticks_are_in_order(
    some: list[tuple[float, float]],
) -> None:
    found = ruler([(value / factor, value, value * factor) for value, factor in some], "ohm")
    for value, _ in some:
        assert -1e-9 <= found.place(value) <= 1.0 + 1e-9
    places = [place for place, _ in found.ticks]
    assert places == sorted(places)
    assert all(0.0 <= place <= 1.0 for place in places)
    assert len(places) <= 12
