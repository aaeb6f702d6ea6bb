"""What people see: prefixes, decimal rounding, intervals; and that it reads back."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest
from GTC import ureal
from hypothesis import assume, given
from hypothesis import strategies as st

from ohmbook.errors import CallError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.prefix import prefix_for
from ohmbook.units.quantity import Convention, Unit
from ohmbook.units.show import (
    NOT_KNOWN,
    ShownInterval,
    show,
    show_interval,
    show_plain,
    split,
    split_interval,
)
from ohmbook.units.spelling import KINDS


@pytest.mark.parametrize(
    ("value", "unit", "u", "text"),
    [
        (0.82e-3, "H", 12e-6, "0.820(12) mH"),
        (7.73e-6, "H", 0.21e-6, "7.73(21) µH"),
        (0.0123, "H", 0.0014, "12.3(1.4) mH"),
        (0.0123, "H", 0.001, "12.3(1.0) mH"),
        (0.4e-3, "H", 1.3e-3, "0.4(1.3) mH"),
        (8.2e-6, "F", 0.1e-6, "8.20(10) µF"),
        (4.7e-3, "F", 0.12e-3, "4700(120) µF"),
        (22e-9, "F", 0.5e-9, "22.00(50) nF"),
        (15e-12, "F", 3e-12, "15.0(3.0) pF"),
        (50.49, "ohm", 0.31, "50.49(31) Ω"),
        (4712.0, "ohm", 35.0, "4.712(35) kΩ"),
        (0.030, "ohm", 0.010, "30(10) mΩ"),
        (0.030, "ohm", 0.2, "0.03(20) Ω"),
        (0.0, "ohm", 0.02, "0(20) mΩ"),
        (5600.0, "Hz", 12.0, "5.600(12) kHz"),
        (-22.0, "deg", 1.5, "-22.0(1.5)°"),
        (0.7, "1", 0.01, "0.700(10)"),
        (-0.001, "V", 0.1, "0(100) mV"),
    ],
)
def test_value_with_its_standard_uncertainty(value: float, unit: Unit, u: float, text: str) -> None:
    assert show(value, unit, u) == text


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [(10.05762, 0.027, "10.058(27) Ω"), (100.02147, 0.00035, "100.02147(35) Ω")],
)  # fmt: skip
def test_examples_of_the_gum(value: float, u: float, text: str) -> None:
    """JCGM 100:2008 7.2.6 (10.057 62 ohm with 27 mohm is 10.058 ohm) and 7.2.2."""
    assert show(value, "ohm", u) == text


@pytest.mark.parametrize(
    ("u", "rounded"),
    [(28.05e3, 28e3), (0.0996, 0.10), (0.0994, 0.099), (0.0125, 0.012), (0.0135, 0.014),
     (0.0145, 0.014), (1.25e-7, 1.2e-7)],
)  # fmt: skip
def test_an_uncertainty_is_rounded_to_two_digits_halves_to_even(u: float, rounded: float) -> None:
    """JCGM 100:2008 7.2.6 (28.05 kHz becomes 28 kHz); ISO 80000-1:2009 B.3, rule A, for halves."""
    assert parse_quantity(show(1.0, "ohm", u), "ohm").u == rounded


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(2.675, 3, "2.68 Ω"), (2.665, 3, "2.66 Ω"), (1.005, 3, "1.00 Ω"), (1.015, 3, "1.02 Ω"),
     (0.285, 2, "0.28 Ω"), (8.2, 3, "8.20 Ω"), (99.95, 3, "100 Ω"), (-1.015, 3, "-1.02 Ω")],
)  # fmt: skip
def test_halves_are_those_of_the_written_decimal(value: float, digits: int, text: str) -> None:
    """The float 2.675 lies below 2.675: round() gives 2.67; decimally it is a half, so 2.68.

    ISO 80000-1:2009 B.3, rule A.
    """
    assert show_plain(value, "ohm", digits) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (820e-6, "H", "0.820 mH"), (0.1e-3, "H", "0.100 mH"), (99e-6, "H", "99.0 µH"),
        (15e-3, "H", "15.0 mH"), (1.5, "H", "1.50 H"), (30e-9, "H", "30.0 nH"),
        (0.1e-6, "F", "0.100 µF"), (0.0000082, "F", "8.20 µF"), (3300e-6, "F", "3300 µF"),
        (99e-9, "F", "99.0 nF"), (1e-9, "F", "1.00 nF"), (990e-12, "F", "990 pF"),
        (0.1, "ohm", "0.100 Ω"), (0.099, "ohm", "99.0 mΩ"), (999.0, "ohm", "999 Ω"),
        (1000.0, "ohm", "1.00 kΩ"), (4.7e6, "ohm", "4.70 MΩ"),
        (999.0, "Hz", "999 Hz"), (10.6e3, "Hz", "10.6 kHz"), (600e3, "Hz", "600 kHz"),
        (1.0, "V", "1.00 V"), (0.51, "V", "510 mV"), (5e-5, "V", "50.0 µV"),
        (0.02, "A", "20.0 mA"), (8.0, "W", "8.00 W"), (1.5e-3, "s", "1.50 ms"),
        (-22.0, "deg", "-22.0°"), (0.5, "1", "0.500"),
        (0.0, "H", "0 mH"), (0.0, "F", "0 µF"), (0.0, "ohm", "0 Ω"), (-0.0, "deg", "0°"),
    ],
)  # fmt: skip
def test_the_prefix_the_bench_uses(value: float, unit: Unit, text: str) -> None:
    assert show_plain(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(9.996e-5, "H", "0.100 mH"), (9.994e-5, "H", "99.9 µH"), (999.6, "ohm", "1.00 kΩ"),
     (0.9996, "V", "1.00 V"), (0.09996, "ohm", "0.100 Ω"), (9.996e-10, "F", "1.00 nF"),
     (9.996e-8, "F", "0.100 µF"), (999_600.0, "Hz", "1.00 MHz")],
)  # fmt: skip
def test_a_value_that_rounds_up_over_a_boundary_takes_the_next_prefix(
    value: float, unit: Unit, text: str
) -> None:
    assert show_plain(value, unit) == text


def test_over_a_boundary_with_its_uncertainty() -> None:
    assert show(9.996e-5, "H", 1.2e-6) == "0.1000(12) mH"
    assert show(9.996e-5, "H", 1.2e-8) == "99.960(12) µH"


@pytest.mark.parametrize("u", [None, 0.0, 1e-20])
def test_without_uncertainty_a_value_is_shown_as_it_was_written(u: float | None) -> None:
    assert show(100.2, "ohm", u) == "100.2 Ω"
    assert show(0.1 + 0.2, "ohm", u) == "0.3 Ω"
    assert show(0.82e-3, "H", u) == "0.82 mH"
    assert show(4700.0, "ohm", u) == "4.7 kΩ"


@pytest.mark.parametrize("convention", ["pp", "p", "rms"])
def test_volts_show_their_convention(convention: Convention) -> None:
    assert show(4.12, "V", 0.03, convention) == f"4.120(30) V{convention}"
    assert show_plain(0.51, "V", 3, convention) == f"510 mV{convention}"
    assert split(0.0, "V", None, convention) == ("0", f"V{convention}")
    assert show_interval(4.12, 4.0, 4.2, "V", None, convention).startswith(f"4.120 V{convention} (")


def test_columns_of_a_table() -> None:
    assert split(0.82e-3, "H", 12e-6) == ("0.820(12)", "mH")
    assert split(-22.0, "deg", 1.5) == ("-22.0(1.5)", "°")
    assert split_interval(0.82e-3, 0.797e-3, 0.844e-3, "H") == ShownInterval(
        "0.820", "0.797", "0.844", "mH"
    )


@pytest.mark.parametrize(
    ("numbers", "unit", "text"),
    [
        ((0.82e-3, 0.797e-3, 0.844e-3), "H", "0.820 mH (0.797 to 0.844)"),
        ((0.55e-3, 0.02e-3, 15e-3), "H", "0.55 mH (0.020 to 15)"),
        ((80e-6, 20e-6, 15e-3), "H", "0.080 mH (0.020 to 15)"),
        ((8.2e-6, 8.1e-6, 8.3e-6), "F", "8.200 µF (8.100 to 8.300)"),
        ((95e-6, 85e-6, 105e-6), "H", "95.0 µH (85.0 to 105.0)"),
        ((99.99e-6, 98e-6, 102e-6), "H", "0.1000 mH (0.0980 to 0.1020)"),
        ((-22.0, -24.0, -20.0), "deg", "-22.0° (-24.0 to -20.0)"),
        ((-22.0, -40.0, -0.1), "deg", "-22° (-40 to -0.10)"),
        ((0.0, -0.4, 0.4), "V", "0 mV (-400 to 400)"),
        ((0.0, 0.0, 0.4), "ohm", "0.00 Ω (0.00 to 0.40)"),
        ((0.82e-3, 0.82e-3, 0.82e-3), "H", "0.82 mH (0.82 to 0.82)"),
        ((0.0, 0.0, 0.0), "ohm", "0 Ω (0 to 0)"),
    ],
)  # fmt: skip
def test_intervals(numbers: tuple[float, float, float], unit: Unit, text: str) -> None:
    assert show_interval(*numbers, unit) == text


def test_an_interval_has_the_decimals_of_its_uncertainty() -> None:
    assert show_interval(0.82e-3, 0.75e-3, 0.9e-3, "H", 0.9e-6) == "0.82000 mH (0.75000 to 0.90000)"


@pytest.mark.parametrize("unknown", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_told_in_words(unknown: float) -> None:
    assert show(unknown, "H", 1e-3) == show(1e-3, "H", unknown) == NOT_KNOWN
    assert split(unknown, "H") == (NOT_KNOWN, "")
    assert show_plain(unknown, "H") == NOT_KNOWN
    assert show_interval(unknown, 1e-3, 2e-3, "H") == NOT_KNOWN
    assert show_interval(1e-3, unknown, 2e-3, "H") == "1.00 mH (interval not known)"
    assert show_interval(1e-3, 1e-3, 2e-3, "H", unknown) == "1.00 mH (interval not known)"


def test_calls_that_cannot_be() -> None:
    with pytest.raises(CallError, match="negative"):
        show(1.0, "ohm", -0.1)
    with pytest.raises(CallError, match="wrong way round"):
        show_interval(1.0, 2.0, 0.5, "ohm")
    with pytest.raises(CallError, match="negative"):
        show_interval(1.0, 0.5, 2.0, "ohm", -0.1)


def test_beyond_every_prefix_an_exponent_is_written() -> None:
    assert show(1e-15, "ohm", 1e-16) == "1.00(10)e-15 Ω"
    assert show_plain(3e-21, "F") == "3.00e-21 F"
    assert show_plain(1e300, "Hz") == "1.00e300 Hz"
    assert show_interval(1e-15, 9e-16, 1.1e-15, "ohm") == "1.000e-15 Ω (0.900e-15 to 1.100e-15)"


def test_a_prefix_for_an_axis() -> None:
    assert (prefix_for(5.6e-4, "H").text, prefix_for(5.6e-4, "H").scale) == ("mH", 1e-3)
    assert prefix_for(-2e4, "Hz").text == "kHz"
    assert prefix_for(0.5, "V", "pp").text == "mVpp"


finite = st.floats(allow_nan=False, allow_infinity=False)
positive = st.floats(1e-14, 1e12)
bench = st.floats(1e-10, 1e8)
units = st.sampled_from(sorted(KINDS))


@given(bench, st.floats(1e-6, 10.0), units)
def test_what_is_shown_reads_back_within_its_rounding(
    value: float, share: float, unit: Unit
) -> None:
    u = value * share
    read = parse_quantity(_not_zero(show(value, unit, u), unit), unit)
    assert read.u == pytest.approx(u, rel=0.05)
    assert abs(read.value - value) <= 0.05 * u * (1 + 1e-9) + 1e-12 * value


def _not_zero(text: str, unit: Unit) -> str:
    """Skip a frequency that is shown as 0, which is not read."""
    assume(unit != "Hz" or float(text.partition("(")[0]) != 0)
    return text


@given(positive, units, st.integers(1, 7))
def test_plain_values_read_back_to_so_many_digits(value: float, unit: Unit, digits: int) -> None:
    read = parse_quantity(show_plain(value, unit, digits), unit)
    assert read.value == pytest.approx(value, rel=0.5001 * 10 ** (1 - digits))


@given(positive, units)
def test_exact_values_read_back_to_six_digits(value: float, unit: Unit) -> None:
    assert parse_quantity(show(value, unit), unit).value == pytest.approx(value, rel=5.0001e-6)


@given(st.decimals("0.001", "999", places=3), units)
def test_what_a_person_wrote_is_shown_unchanged(number: Decimal, unit: Unit) -> None:
    value = float(number)
    assert parse_quantity(show(value, unit), unit).value == value


@given(bench, st.floats(1.0, 1e4), st.floats(1.0, 1e4), units)
def test_intervals_keep_their_order_and_both_ends(
    value: float, down: float, up: float, unit: Unit
) -> None:
    low, high = value / down, value * up
    shown = split_interval(value, low, high, unit)
    scale = Fraction(10) ** prefix_power(shown.unit, unit)
    texts = [Fraction(text) * scale for text in shown[:3]]
    assert texts[1] <= texts[0] <= texts[2]
    for told, true in zip(texts, (value, low, high), strict=True):
        assert float(told) == pytest.approx(true, rel=0.0501, abs=0.0)


def prefix_power(text: str, unit: Unit) -> int:
    """The power of ten of a unit as shown, by reading "1 mH"."""
    return round(math.log10(parse_quantity(f"1 {text}".strip(), unit).value))


@given(finite, st.floats(0, allow_infinity=False), units)
def test_nothing_that_is_finite_breaks_it_or_grows_out_of_hand(
    value: float, u: float, unit: Unit
) -> None:
    low, high = min(value, value - u), max(value, value + u)
    for text in (
        show(value, unit, u),
        show_plain(value, unit),
        show_interval(value, low, high, unit),
    ):
        assert "nan" not in text.lower()
        assert "inf" not in text.lower()
        assert len(text) < 80


@given(st.integers(-99_999, 99_999), st.integers(10, 99), st.integers(-3, 3))
def test_brackets_as_gtc_writes_them(digits: int, u_digits: int, power: int) -> None:
    """GTC, a metrology library, as the outside; for numbers without a unit, away from halves.

    Where a negative value rounds to zero it writes "-0(10)" and we write "0(10)".
    """
    assume(abs(digits) >= 10)
    value = float(Decimal(digits).scaleb(power - 1) + Decimal(1).scaleb(power - 2))
    u = float(Decimal(u_digits).scaleb(power))
    assume(abs(value) < 9e5 and u < 9e5)
    assert show(value, "1", u) == str(ureal(value, u)).strip()


@given(st.floats(1e-3, 1e6), st.floats(1e-6, 0.5))
def test_rounded_once(value: float, share: float) -> None:
    """Against exact decimals: one step from the float's own decimal to what is shown."""
    shown = show(value, "deg", value * share).partition("(")[0]
    step = Decimal(1).scaleb(-len(shown.partition(".")[2]))
    assume("." in shown)  # else the last digit shown may be a filling zero
    assert Decimal(shown) == Decimal(repr(value)).quantize(step, ROUND_HALF_EVEN)
