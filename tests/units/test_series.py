"""Preferred numbers against the standard's values and against exact arithmetic."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmbook.errors import CallError
from ohmbook.units.series import (
    SERIES_NAMES,
    USUAL_TOLERANCE,
    SeriesName,
    is_preferred,
    nearest,
    series,
)

# IEC 60063, E24 and E96 as printed in manufacturers' tables (from memory, typed in by hand).
E24 = """1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5
8.2 9.1"""
E96 = """1.00 1.02 1.05 1.07 1.10 1.13 1.15 1.18 1.21 1.24 1.27 1.30 1.33 1.37 1.40 1.43 1.47 1.50
1.54 1.58 1.62 1.65 1.69 1.74 1.78 1.82 1.87 1.91 1.96 2.00 2.05 2.10 2.15 2.21 2.26 2.32 2.37 2.43
2.49 2.55 2.61 2.67 2.74 2.80 2.87 2.94 3.01 3.09 3.16 3.24 3.32 3.40 3.48 3.57 3.65 3.74 3.83 3.92
4.02 4.12 4.22 4.32 4.42 4.53 4.64 4.75 4.87 4.99 5.11 5.23 5.36 5.49 5.62 5.76 5.90 6.04 6.19 6.34
6.49 6.65 6.81 6.98 7.15 7.32 7.50 7.68 7.87 8.06 8.25 8.45 8.66 8.87 9.09 9.31 9.53 9.76"""
names = st.sampled_from(SERIES_NAMES)


def _floats(text: str) -> tuple[float, ...]:
    return tuple(map(float, text.split()))


@pytest.mark.parametrize("name", SERIES_NAMES)
def test_a_series_has_as_many_values_as_its_name_says_and_rises_within_a_decade(
    name: SeriesName,
) -> None:
    values = series(name)
    assert len(values) == int(name[1:])
    assert values[0] == 1.0
    assert all(low < high for low, high in pairwise(values))
    assert values[-1] < 10


def test_tables_of_the_standard() -> None:
    assert series("E3") == (1.0, 2.2, 4.7)
    assert series("E6") == (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    assert series("E12") == (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
    assert series("E24") == _floats(E24)
    assert series("E96") == _floats(E96)


@pytest.mark.parametrize(
    ("coarse", "fine"), [("E3", "E6"), ("E6", "E12"), ("E12", "E24"), ("E48", "E96"),
                         ("E96", "E192")]
)  # fmt: skip
def test_each_series_contains_the_coarser_one(coarse: SeriesName, fine: SeriesName) -> None:
    assert set(series(coarse)) < set(series(fine))


def test_e24_is_not_a_subset_of_e96() -> None:
    """IEC 60063: 18 of the 24 values are missing there, 1.2, 4.7 and 8.2 among them."""
    missing = set(series("E24")) - set(series("E96"))
    assert len(missing) == 18
    assert {1.2, 4.7, 8.2} < missing


def _formula(size: int, digits: int) -> list[int]:
    with mpmath.workdps(40):
        exact = [mpmath.mpf(10) ** (digits - 1 + mpmath.mpf(i) / size) for i in range(size)]
        return [int(mpmath.nint(number)) for number in exact]


@pytest.mark.parametrize("name", ["E48", "E96", "E192"])
def test_fine_series_follow_the_formula_but_for_920(name: SeriesName) -> None:
    """IEC 60063: 100 * 10^(i/N) rounded, in 40 digits; E192 has 920 where that gives 919."""
    size = int(name[1:])
    values = [round(100 * value) for value in series(name)]
    differing = {
        (formula, value)
        for formula, value in zip(_formula(size, 3), values, strict=True)
        if formula != value
    }
    assert differing == ({(919, 920)} if name == "E192" else set())


def test_e24_differs_from_its_formula_at_the_eight_known_places() -> None:
    """IEC 60063: older practice was kept at 27 30 33 36 39 43 47 82."""
    values = [round(10 * value) for value in series("E24")]
    differing = {
        value: formula
        for formula, value in zip(_formula(24, 2), values, strict=True)
        if value != formula
    }
    assert differing == {27: 26, 30: 29, 33: 32, 36: 35, 39: 38, 43: 42, 47: 46, 82: 83}


def test_usual_tolerances() -> None:
    """IEC 60063; E3 is for anything over 20 %."""
    assert dict(USUAL_TOLERANCE) == {
        "E6": 0.20, "E12": 0.10, "E24": 0.05, "E48": 0.02, "E96": 0.01, "E192": 0.005,
    }  # fmt: skip


def test_nearest_is_by_ratio() -> None:
    """2.72: 2.2 is nearer by difference (0.52 against 0.58), 3.3 by ratio (1.21 against 1.24)."""
    assert nearest(2.72, "E6", 2) == (3.3, 2.2)


def test_nearest_reaches_over_decades_and_keeps_the_decimal_float() -> None:
    assert nearest(9.6e-4, "E12", 3) == (0.001, 0.00082, 0.0012)
    assert nearest(8.1e-6, "E12") == (8.2e-6,)
    assert nearest(4.6e3, "E3", 7)[:2] == (4700.0, 2200.0)
    assert len(set(nearest(1.0, "E3", 7))) == 7


def test_nearest_at_the_ends_of_what_a_float_holds() -> None:
    assert nearest(1.7e308, "E3") == (1e308,)
    assert nearest(5e-324, "E3")[0] > 0


@given(names, st.data(), st.integers(-15, 9))
def test_every_preferred_value_is_its_own_nearest(
    name: SeriesName, data: st.DataObject, decade: int
) -> None:
    value = float(f"{data.draw(st.sampled_from(series(name)))}e{decade}")
    assert nearest(value, name) == (value,)
    assert is_preferred(value, name)
    assert is_preferred(value * (1 + 1e-15), name)
    assert not is_preferred(value * 1.001, name)


@given(names, st.floats(1e-3, 1e3))
def test_nearest_leaves_no_nearer_one_out(name: SeriesName, value: float) -> None:
    """Against every value of ten decades, compared by exact ratios."""
    exact = Fraction(value)
    everything = [
        Fraction(round(100 * digits), 100) * Fraction(10) ** decade
        for digits in series(name)
        for decade in range(-5, 5)
    ]
    best = min(everything, key=lambda number: max(number / exact, exact / number))
    assert nearest(value, name)[0] == float(best)


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_only_positive_values_have_preferred_ones(value: float) -> None:
    with pytest.raises(CallError, match="positive"):
        nearest(value, "E12")
    with pytest.raises(CallError, match="positive"):
        is_preferred(value, "E12")


def test_an_unknown_series_is_refused() -> None:
    with pytest.raises(CallError, match="E7"):
        series("E7")  # type: ignore[arg-type]
