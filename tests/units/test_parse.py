"""What is read: letter codes, units, decimal commas, spreads, ranges; and outside references.

IEC 60062 values as listed in the encyclopedia article "RKM code". JCGM 100:2008 7.2.2 is the
source of the bracketed forms. The SI Brochure (9th ed.) is the source of the prefixes.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantiphy import Quantity as OtherQuantity
from rkm_codes import from_rkm

from ohmbook.units.parse import parse_accuracy, parse_quantity
from ohmbook.units.quantity import Accuracy, Convention, Spread, Unit

IEC_60062: list[tuple[str, Unit, float]] = [
    ("R47", "ohm", 0.47), ("4R7", "ohm", 4.7), ("470R", "ohm", 470.0), ("4K7", "ohm", 4700.0),
    ("47K", "ohm", 47_000.0), ("47K3", "ohm", 47_300.0), ("470K", "ohm", 470_000.0),
    ("4M7", "ohm", 4.7e6), ("R005", "ohm", 0.005), ("8R2", "ohm", 8.2), ("4k7", "ohm", 4700.0),
    ("4p7", "F", 4.7e-12), ("p10", "F", 1e-13), ("330p", "F", 3.3e-10), ("2n2", "F", 2.2e-9),
    ("33n", "F", 3.3e-8), ("100n", "F", 1e-7), ("3u3", "F", 3.3e-6), ("6u8", "F", 6.8e-6),
    ("220u", "F", 2.2e-4), ("1m5", "F", 1.5e-3), ("2u2", "F", 2.2e-6), ("2µ2", "F", 2.2e-6),
    ("0R47", "ohm", 0.47), ("1M5", "ohm", 1.5e6), ("2G2", "ohm", 2.2e9),
]  # fmt: skip

PLAIN: list[tuple[str, Unit, float]] = [
    ("4.7 kohm", "ohm", 4700.0), ("4.7 k\u2126", "ohm", 4700.0), ("4.7k\u03a9", "ohm", 4700.0),
    ("4.7 Kohm", "ohm", 4700.0), ("4.7 KOHM", "ohm", 4700.0), ("8 Ohms", "ohm", 8.0),
    ("8 ohms", "ohm", 8.0), ("1.5 Mohm", "ohm", 1.5e6), ("30 mohm", "ohm", 0.03),
    ("0 ohm", "ohm", 0.0), ("-0 ohm", "ohm", 0.0), ("+5 ohm", "ohm", 5.0),
    ("4k7 ohm", "ohm", 4700.0), ("4k7Ω", "ohm", 4700.0),
    ("0.47 mH", "H", 0.47e-3), ("470 \u00b5H", "H", 470e-6), ("470 \u03bcH", "H", 470e-6),
    ("470uH", "H", 470e-6), ("30 nH", "H", 30e-9), ("1.2E-3 H", "H", 1.2e-3),
    ("1m5", "H", 1.5e-3), ("470u", "H", 470e-6), (".35 mH", "H", 0.35e-3),
    ("8.2 uF", "F", 8.2e-6), ("0 pF", "F", 0.0), ("3300 µF", "F", 3.3e-3), ("3 mF", "F", 3e-3),
    ("3.3 kHz", "Hz", 3300.0), ("3.3 KHz", "Hz", 3300.0), ("3.3 khz", "Hz", 3300.0),
    ("1 MHz", "Hz", 1e6), ("1 mHz", "Hz", 1e-3), ("5.6e3 Hz", "Hz", 5600.0), ("3k3", "Hz", 3300.0),
    ("50 Hz", "Hz", 50.0), ("50 hz", "Hz", 50.0),
    ("-3 V", "V", -3.0), ("0 mV", "V", 0.0), ("20 mA", "A", 0.02), ("8 W", "W", 8.0),
    ("1.5 ms", "s", 1.5e-3), ("-22 deg", "deg", -22.0), ("-22°", "deg", -22.0),
    ("-22º", "deg", -22.0),
    ("\u221222 deg", "deg", -22.0), ("- 22 degrees", "deg", -22.0),
    ("0.7", "1", 0.7), ("-0.02", "1", -0.02), ("0.5 %", "1", 0.005), ("50 ppm", "1", 5e-5),
    ("  4.7\u00a0kohm\t", "ohm", 4700.0), ("4.7\u202fkohm", "ohm", 4700.0),
]  # fmt: skip

COMMAS: list[tuple[str, Unit, float]] = [
    ("4,7 kohm", "ohm", 4700.0), ("0,438 mH", "H", 0.438e-3), (",47 mH", "H", 0.47e-3),
    ("1234,567 ohm", "ohm", 1234.567), ("4,12 Vpp", "V", 4.12), ("1,2345 ohm", "ohm", 1.2345),
    ("5,6e3 Hz", "Hz", 5600.0), ("0,5 %", "1", 0.005), ("12,5 ohm", "ohm", 12.5),
    (",123 ohm", "ohm", 0.123),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "value"), IEC_60062 + PLAIN + COMMAS)
def test_values(text: str, unit: Unit, value: float) -> None:
    quantity = parse_quantity(text, unit)
    assert quantity.value == value
    assert math.copysign(1.0, quantity.value) == math.copysign(1.0, value)
    assert (quantity.unit, quantity.text, quantity.spread) == (unit, text, None)


@pytest.mark.parametrize(
    ("text", "value", "convention"),
    [("4.12 Vpp", 4.12, "pp"), ("510 mVpp", 0.51, "pp"), ("4.12 Vp", 4.12, "p"),
     ("1.08 Vrms", 1.08, "rms"), ("1.08 V rms", 1.08, "rms"), ("4.12 V pp", 4.12, "pp"),
     ("4.12 V", 4.12, None), ("800 uVrms", 8e-4, "rms"), ("0 Vpp", 0.0, "pp")],
)  # fmt: skip
def test_volts_keep_their_convention(
    text: str, value: float, convention: Convention | None
) -> None:
    quantity = parse_quantity(text, "V")
    assert (quantity.value, quantity.convention) == (value, convention)


@pytest.mark.parametrize(
    ("text", "unit", "step"),
    [("0.50 ohm", "ohm", 0.01), ("12k", "ohm", 1000.0), ("4k7", "ohm", 100.0),
     ("4k70", "ohm", 10.0), ("R47", "ohm", 0.01), ("100 ohm", "ohm", 1.0), ("p10", "F", 1e-14),
     ("4.7 kohm", "ohm", 100.0), ("5.6e3 Hz", "Hz", 100.0), ("1.2E-3 H", "H", 1e-4),
     ("2.00 Vpp", "V", 0.01), ("510 mVpp", "V", 1e-3), ("0.5 %", "1", 1e-3),
     ("0,438 mH", "H", 1e-6), ("-22.5 deg", "deg", 0.1)],
)  # fmt: skip
def test_one_count_of_the_last_written_digit(text: str, unit: Unit, step: float) -> None:
    assert parse_quantity(text, unit).last_digit == step


LIMITS: list[tuple[str, Unit, Accuracy]] = [
    ("47.2 ohm ± 0.5 %", "ohm", Accuracy(relative=0.005)),
    ("47.2 ohm +- 0.5%", "ohm", Accuracy(relative=0.005)),
    ("47.2 ohm +/- 0.5 ohm", "ohm", Accuracy(absolute=0.5)),
    ("47,2 ohm ± 0,5 ohm", "ohm", Accuracy(absolute=0.5)),
    ("4k7 ± 5 %", "ohm", Accuracy(relative=0.05)),
    ("12 Mohm±50kohm", "ohm", Accuracy(absolute=5e4)),
    ("0.5 ohm ± 2 digits", "ohm", Accuracy(digits=2.0)),
    ("0.5 ohm ± 0.5 % + 2 digits", "ohm", Accuracy(relative=0.005, digits=2.0)),
    ("0.5 ohm ±(0.5%+2dgt)", "ohm", Accuracy(relative=0.005, digits=2.0)),
    ("1 kHz ± 50 ppm", "Hz", Accuracy(relative=5e-5)),
    ("1 kHz ± 50 ppm + 1e+0 Hz", "Hz", Accuracy(relative=5e-5, absolute=1.0)),
    ("15 pF ± 3 pF", "F", Accuracy(absolute=3e-12)),
    ("4.12 Vpp ± 20 mV", "V", Accuracy(absolute=0.02)),
    ("4.12 Vpp ± 20 mVpp", "V", Accuracy(absolute=0.02)),
    ("-22 deg ± 2 deg", "deg", Accuracy(absolute=2.0)),
    ("-22° ± 2°", "deg", Accuracy(absolute=2.0)),
    ("(100 ± 5) ohm", "ohm", Accuracy(absolute=5.0)),
    ("(-22 ± 2) deg", "deg", Accuracy(absolute=2.0)),
    ("(12 ± 1) %", "1", Accuracy(absolute=0.01)),
    ("0.7 ± 0.1", "1", Accuracy(absolute=0.1)),
    ("0.7 ± 5 %", "1", Accuracy(relative=0.05)),
    ("8.2 uF ± 0 %", "F", Accuracy()),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "accuracy"), LIMITS)
def test_limits(text: str, unit: Unit, accuracy: Accuracy) -> None:
    quantity = parse_quantity(text, unit)
    assert quantity.spread == Spread(accuracy, "limits")
    assert quantity.rectangular


def test_limits_are_a_rectangle() -> None:
    """JCGM 100:2008 4.3.7: u = a / sqrt 3; digits count the last written digit."""
    quantity = parse_quantity("0.50 ohm ± 0.8 % + 2 digits", "ohm")
    assert quantity.half_width == pytest.approx(0.004 + 0.02, rel=1e-15)
    assert quantity.u == pytest.approx(0.024 / math.sqrt(3), rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "u"),
    [("100,02147(35) ohm", "ohm", 3.5e-4),
     ("100.02147(0.00035) ohm", "ohm", 3.5e-4), ("0.4382(12) mH", "H", 1.2e-6),
     ("0.438(0.012) mH", "H", 1.2e-5), ("0,438(0,012) mH", "H", 1.2e-5),
     ("0.438 (12) mH", "H", 1.2e-5), ("12.3(1.4) uF", "F", 1.4e-6), ("4700(120) µF", "F", 1.2e-4),
     ("-22.5(5) deg", "deg", 0.5), ("0.700(10)", "1", 0.01), ("5.60(12)e3 Hz", "Hz", 120.0),
     ("4.12(3) Vpp", "V", 0.03), ("0.4(0) mH", "H", 0.0)],
)  # fmt: skip
def test_standard_uncertainty_in_brackets(text: str, unit: Unit, u: float) -> None:
    """JCGM 100:2008 7.2.2, second form (last digits) and third (unit of the result)."""
    quantity = parse_quantity(text, unit)
    assert quantity.spread == Spread(Accuracy(absolute=u), "standard")
    assert quantity.u == u
    assert not quantity.rectangular


@pytest.mark.parametrize(
    ("text", "u"),
    [("0.82 mH ± 0.3 % (k=2)", 0.82e-3 * 0.003 / 2), ("0.82 mH ± 0.02 mH (k = 2)", 1e-5),
     ("(0.82 ± 0.02) mH (k=2)", 1e-5), ("0.82 mH ± 0.03 mH (k=2,5)", 1.2e-5)],
)  # fmt: skip
def test_expanded_uncertainty(text: str, u: float) -> None:
    """JCGM 100:2008 7.2.4: U = k u."""
    quantity = parse_quantity(text, "H")
    assert quantity.spread is not None
    assert quantity.spread.statement == "expanded"
    assert quantity.u == pytest.approx(u, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "absolute"),
    [("4 Vpp ± 10 mVrms", 0.01 * 2 * math.sqrt(2)), ("4 Vpp ± 10 mVp", 0.02),
     ("4 Vrms ± 10 mVpp", 0.01 / (2 * math.sqrt(2))), ("4 Vp ± 10 mVrms", 0.01 * math.sqrt(2))],
)  # fmt: skip
def test_an_absolute_term_in_another_convention_is_converted_for_a_sine(
    text: str, absolute: float
) -> None:
    spread = parse_quantity(text, "V").spread
    assert spread is not None
    assert spread.accuracy.absolute == pytest.approx(absolute, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "per_division"),
    [("0.34 Vpp @ 50 mV/div", 0.05), ("0.34 Vpp @ 0.05 V/div", 0.05), ("1 V@2V/div", 2.0),
     ("0.34 Vpp @ 0,5 V / div", 0.5), ("0.34 Vpp @ 50 mV/DIV", 0.05)],
)  # fmt: skip
def test_range(text: str, per_division: float) -> None:
    assert parse_quantity(text, "V").per_division == per_division


def test_range_with_limits_in_divisions() -> None:
    quantity = parse_quantity("0.34 Vpp ± 3 % + 0.1 div + 1 mV @ 50 mV/div", "V")
    assert quantity.half_width == pytest.approx(0.0102 + 0.005 + 0.001, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "unit", "accuracy"),
    [("0.8 % + 2 digits", "ohm", Accuracy(relative=0.008, digits=2.0)),
     ("±(0.8 % rdg + 2 dgt)", "ohm", Accuracy(relative=0.008, digits=2.0)),
     ("0.8 % of reading + 1 count", "ohm", Accuracy(relative=0.008, digits=1.0)),
     ("0.8 % + 0.2 ohm", "ohm", Accuracy(relative=0.008, absolute=0.2)),
     ("0.5 % + 20 mV", "V", Accuracy(relative=0.005, absolute=0.02)),
     ("0.04 div", "V", Accuracy(divisions=0.04)), ("20 mV", "V", Accuracy(absolute=0.02)),
     ("± (3 % + 0.1 div + 1 mV)", "V", Accuracy(0.03, 1e-3, 0.0, 0.1)),
     ("3 %", "1", Accuracy(relative=0.03)), ("3,5 %", "1", Accuracy(relative=0.035)),
     ("50 ppm", "1", Accuracy(relative=5e-5)), ("1 % + 2 digits", "1", Accuracy(0.01, 0.0, 2.0)),
     ("0.25 % + 0.25 %", "1", Accuracy(relative=0.005)), ("0 %", "1", Accuracy())],
)  # fmt: skip
def test_accuracy(text: str, unit: Unit, accuracy: Accuracy) -> None:
    assert parse_accuracy(text, unit) == accuracy


PREFIXES: dict[Unit, dict[str, int]] = {
    "ohm": {"mohm": -3, "ohm": 0, "kΩ": 3, "Mohm": 6},
    "H": {"nH": -9, "µH": -6, "mH": -3, "H": 0},
    "F": {"pF": -12, "nF": -9, "uF": -6, "mF": -3, "F": 0},
    "Hz": {"Hz": 0, "kHz": 3, "MHz": 6},
    "V": {"uV": -6, "mVpp": -3, "Vrms": 0},
}
mantissas = st.from_regex(r"(0|[1-9][0-9]{0,3})(\.[0-9]{1,6})?", fullmatch=True)
units_and_words = st.sampled_from(
    [(unit, word, power) for unit, words in PREFIXES.items() for word, power in words.items()]
)


@given(mantissas, units_and_words, st.sampled_from(["", " "]), st.integers(-9, 9), st.booleans())
def test_every_number_is_the_nearest_float_to_what_was_written(
    mantissa: str, spelled: tuple[Unit, str, int], space: str, exponent: int, with_e: bool
) -> None:
    """Against exact decimal arithmetic."""
    unit, word, power = spelled
    exact = Decimal(mantissa).scaleb(power + (exponent if with_e else 0))
    if unit == "Hz" and not exact:
        return
    text = f"{mantissa}{f'e{exponent}' if with_e else ''}{space}{word}"
    quantity = parse_quantity(text, unit)
    assert quantity.value == float(exact)
    assert quantity.last_digit == float(Decimal((0, (1,), int(exact.as_tuple().exponent))))


@given(mantissas, mantissas, units_and_words)
def test_spreads_are_read_as_written(
    mantissa: str, size: str, spelled: tuple[Unit, str, int]
) -> None:
    unit, word, power = spelled
    if unit == "Hz" and not float(mantissa):
        return
    exact = float(Decimal(size).scaleb(power))
    share = float(Decimal(size).scaleb(-2))
    spread = parse_quantity(f"{mantissa} {word} ± {size} {word} + {size} %", unit).spread
    assert spread == Spread(Accuracy(relative=share, absolute=exact))
    if "." in size:
        in_brackets = parse_quantity(f"{mantissa}({size}) {word}", unit).spread
        assert in_brackets == Spread(Accuracy(absolute=exact), "standard")


@given(mantissas, units_and_words)
def test_a_decimal_comma_means_what_a_point_means(
    mantissa: str, spelled: tuple[Unit, str, int]
) -> None:
    unit, word, _ = spelled
    whole, _, part = mantissa.partition(".")
    ambiguous = len(part) == 3 and len(whole) <= 3 and whole[0] != "0"
    if ambiguous or (unit == "Hz" and not float(mantissa)):
        return
    comma = parse_quantity(f"{whole},{part} {word}" if part else f"{whole} {word}", unit)
    assert comma.value == parse_quantity(f"{mantissa} {word}", unit).value


@given(mantissas, units_and_words)
def test_quantiphy_reads_the_same_where_there_is_a_number_prefix_and_unit(
    mantissa: str, spelled: tuple[Unit, str, int]
) -> None:
    """A general-purpose library, as the outside; conventions (Vpp) are part of its unit name.

    It is no reference for what we refuse: it takes "1,234 ohm" for 1234, "4,7 kohm" for 47 000,
    "4k7" for 4 and "0.8 meter" for 0.0008 "eter"; and it keeps "2 %" as 2.
    """
    unit, word, _ = spelled
    if unit == "Hz" and not float(mantissa):
        return
    text = f"{mantissa} {word}"
    ours, theirs = parse_quantity(text, unit), OtherQuantity(text)
    assert ours.value == pytest.approx(float(theirs), rel=1e-14)
    assert theirs.units in {"ohm", "Ω", "H", "F", "Hz", "V", "Vpp", "Vrms"}


@given(
    st.from_regex(r"[0-9]{0,3}", fullmatch=True),
    st.sampled_from([("ohm", "R"), ("ohm", "k"), ("ohm", "K"), ("ohm", "M"), ("ohm", "G"),
                     ("F", "p"), ("F", "n"), ("F", "u"), ("F", "m")]),
    st.from_regex(r"[0-9]{1,3}", fullmatch=True),
)  # fmt: skip
def test_rkm_codes_reads_the_same_letter_codes(
    whole: str, kind: tuple[Unit, str], part: str
) -> None:
    """A decoder of IEC 60062, as the outside.

    It does not know which unit is expected, so it takes "4m7" for 0.0047 of anything where we
    refuse it as a resistance; it drops a tolerance letter ("4k7J") that we refuse; it reads "4E7"
    as 4.7e18, and "4L7" as 4.7 milliohms, which we do not read.
    """
    unit, letter = kind
    text = f"{whole}{letter}{part}"
    assert parse_quantity(text, unit).value == pytest.approx(float(from_rkm(text)), rel=1e-14)
