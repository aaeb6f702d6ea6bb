"""What is refused, and that the message says what is wrong and what would have been read."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ohmbook.errors import QuantityError
from ohmbook.units.parse import parse_accuracy, parse_quantity
from ohmbook.units.quantity import Accuracy, Quantity, Unit
from ohmbook.units.spelling import KINDS

REFUSED: list[tuple[str, Unit, str]] = [
    # ambiguous or grouped numbers
    ("1,234 ohm", "ohm", "as 1.234 or as 1234"),
    ("12,345 ohm", "ohm", "as 12.345 or as 12345"),
    ("5,600 kHz", "Hz", "as 5.600 or as 5600"),
    ("1,234e3 ohm", "ohm", "two ways"),
    ("47 ohm ± 1,234 ohm", "ohm", "two ways"),
    ("1,2,3 ohm", "ohm", "more than one point or comma"),
    ("1.2.3 ohm", "ohm", "more than one point or comma"),
    ("1.234,5 ohm", "ohm", "point and comma both"),
    ("1,234.5 ohm", "ohm", "point and comma both"),
    ("4 700 ohm", "ohm", "groups"),
    ("4\u202f700 ohm", "ohm", "groups"),
    ("4'700 ohm", "ohm", "groups"),
    ("4_700 ohm", "ohm", "groups"),
    ("4. ohm", "ohm", "no digit follows"),
    ("4,7k", "ohm", 'is "kohm" meant'),
    # no unit, or another
    ("100", "ohm", "the unit is missing"),
    ("0.82", "H", "the unit is missing"),
    ("4.7 k", "ohm", 'the unit is missing behind "k" (is "kohm" meant?)'),
    ("4.7k", "ohm", 'is "kohm" meant'),
    ("470 u", "F", 'is "uF" meant'),
    ("100 ± 5 ohm", "ohm", "no unit stands before the ±"),
    ("0.8 meter", "ohm", '"meter" is no unit of resistance'),
    ("3 mF", "ohm", '"mF" is a unit of capacitance, not of resistance'),
    ("4.12 Vpp", "ohm", '"Vpp" is a unit of voltage'),
    ("5 %", "ohm", '"%" is a share, not a unit of resistance'),
    ("4.7 k ohm", "ohm", 'is "kohm" meant'),
    ("10 MH", "H", 'is "mH" meant'),
    ("10 mh", "H", 'is "mH" meant'),
    ("0.8 millihenry", "H", 'is "mH" meant'),
    ("10 mhz", "Hz", 'is "mHz" or "MHz" meant'),
    ("2 kilohertz", "Hz", 'is "kHz" meant'),
    ("8.2 UF", "F", "uF"),
    ("8.2 MFD", "F", "old parts"),
    ("8.2 mfd", "F", "marking"),
    ("8.2 MF", "F", 'write "uF"'),
    ("470 mmF", "F", 'write "pF"'),
    ("470 µµF", "F", 'write "pF"'),
    ("4 Vp-p", "V", 'is "Vpp" meant'),
    ("4 VRMS", "V", 'is "Vrms" meant'),
    ("4 Vpk", "V", 'is "Vp" meant'),
    ("4 vpp", "V", 'is "Vpp" meant'),
    ("0.3 rad", "deg", "no unit of angle"),
    ("0.3 x", "1", "plain number"),
    # letter codes
    ("4m7", "ohm", 'is "4M7" meant'),
    ("1M5", "F", 'is "1m5" or "1u5" meant'),
    ("2U2", "F", 'is "2u2" meant'),
    ("3K3", "F", "p, n, u, m, F do"),
    ("R47", "H", "n, u, m, H do"),
    ("4k7J", "ohm", "tolerance letter"),
    ("4k7 kohm", "ohm", "already has its prefix"),
    ("4E7", "ohm", "power of ten or the point of an old code"),
    ("0E22 ohm", "ohm", "old code"),
    # signs, zeros, sizes
    ("-4.7 ohm", "ohm", "cannot be negative"),
    ("-4k7", "ohm", "cannot be negative"),
    ("-1 mH", "H", "cannot be negative"),
    ("-1 uF", "F", "cannot be negative"),
    ("-50 Hz", "Hz", "cannot be negative"),
    ("-8 W", "W", "cannot be negative"),
    ("0 Hz", "Hz", "of zero"),
    ("-3 Vpp", "V", "amplitude cannot be negative"),
    ("nan", "ohm", '"nan" is no value'),
    ("nan ohm", "ohm", '"nan" is no value'),
    ("inf Hz", "Hz", '"inf" is no value'),
    ("1e400 ohm", "ohm", "too large"),
    ("1e400000000000 ohm", "ohm", "too large"),
    ("1e-400 ohm", "ohm", "too small"),
    ("1e-320 ohm", "ohm", "too small"),
    ("1e300 ohm ± 1e300 %", "ohm", "too large"),
    ("1e300 Vpp ± 1e308 Vrms", "V", "too large"),
    ("1 ohm ± 1e308 ohm + 1e308 ohm", "ohm", "too large"),
    # spreads
    ("4.7 kohm 5 %", "ohm", 'is "± 5 %" meant'),
    ("4k7 5 %", "ohm", 'is "± 5 %" meant'),
    ("4.7 kohm +5 % -3 %", "ohm", "differ above and below"),
    ("4.7 kohm ±", "ohm", "missing"),
    ("± 5 %", "ohm", "the number is missing"),
    ("4.7 kohm ± 5", "ohm", "stands no unit"),
    ("4.7 kohm ± -5 %", "ohm", "has no sign"),
    ("4.7 kohm ± five %", "ohm", '"five %" has no number'),
    ("4.7 kohm ± 5 % + ", "ohm", "a term of the accuracy is missing"),
    ("4.7 kohm ± 5 % - 2 digits", "ohm", "joined with +"),
    ("4.7 kohm ± 5 % ± 2 %", "ohm", "joined with +"),
    ("4.7 kohm ± 5 % (95 %)", "ohm", "coverage factor"),
    ("4.7 kohm ± 5 % (k=0)", "ohm", "coverage factor of 0"),
    ("4.7 kohm ± 5 % (k=nan)", "ohm", "not a number"),
    ("4.7 kohm ± 3 % of full scale", "ohm", "share of the range"),
    ("4.7 kohm ± 3 mF", "ohm", "not of resistance"),
    ("4.7 kohm ± 0.1 div", "ohm", "divisions"),
    ("0.34 Vpp ± 0.04 div", "V", 'add "@ 50 mV/div"'),
    ("4 V ± 10 mVrms", "V", "own convention"),
    ("12 % ± 1 %", "1", "(12 ± 1) %"),
    ("12 % ± 10 ppm", "1", "(12 ± 1) %"),
    ("0.438 mH (12)", "H", "right behind the digits"),
    ("5.6e3(12) Hz", "Hz", "right behind the digits"),
    ("0.438(1x) mH", "H", '"(1x)" is not read'),
    ("0.438(-12) mH", "H", '"(-12)" is not read'),
    ("0.438(12) mH ± 5 %", "H", "cannot both stand"),
    # ranges
    ("0.34 Vpp @ 50 mV", "V", '"50 mV" is no range'),
    ("0.34 Vpp @", "V", "is no range"),
    ("0.34 Vpp @ 0 mV/div", "V", "0 V/div"),
    ("0.34 Vpp @ 50 MV/div", "V", '"MV"'),
    ("0.34 Vpp @ 50 mV/div ± 3 %", "V", "before the"),
    ("0.34 Vpp @ 50 mV/div @ 50 mV/div", "V", "is no range"),
    ("4.7 ohm @ 50 mV/div", "ohm", "has no range"),
    # nothing, strays
    ("", "ohm", "nothing is written"),
    ("   ", "ohm", "nothing is written"),
    ("ohm", "ohm", "no number"),
    ("L1", "V", "no number"),
    ("4.7 kohm!", "ohm", "no unit of resistance"),
    ("4.7 kohm ohm", "ohm", "no unit of resistance"),
    ("~4.7 kohm", "ohm", "no number"),
    ("٤٧ ohm", "ohm", "no number"),
    ("4.7\u200bkohm", "ohm", "cannot be shown"),
    ("4.7 kohm\x00", "ohm", "cannot be shown"),
    ("4.7\ud800 ohm", "ohm", "cannot be shown"),
    ("4.7 ohm" + " or so" * 50, "ohm", "too long"),
]


@pytest.mark.parametrize(("text", "unit", "why"), REFUSED)
def test_refused_with_its_reason_and_what_was_expected(text: str, unit: Unit, why: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert why in caught.value.why
    assert caught.value.expected == KINDS[unit].expected
    assert str(caught.value).endswith(f"expected {KINDS[unit].expected}.")


@pytest.mark.parametrize("unit", KINDS)
def test_every_example_in_a_message_is_itself_read(unit: Unit) -> None:
    examples = KINDS[unit].expected.split('"')[1::2]
    assert examples
    for text in examples:
        assert math.isfinite(parse_quantity(text, unit).value)


@pytest.mark.parametrize("unit", KINDS)
def test_every_example_of_an_accuracy_is_itself_read(unit: Unit) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_accuracy("", unit)
    examples = caught.value.expected.split('"')[1::2]
    assert examples
    for text in examples:
        assert math.isfinite(parse_accuracy(text, unit).of(1.0, 0.1, 0.1))


@pytest.mark.parametrize(
    ("given_value", "shown", "why"),
    [(4700, "4700", "a number alone"), (4.7, "4.7", "a number alone"), (True, "true", "true or"),
     (None, "nothing", "not text"), ([1, 2], "a list", "not text"), ({}, "a dict", "not text"),
     (float("nan"), "nan", "a number alone"),
     pytest.param(10**5000, "a number", "a number alone", id="huge"),
     (b"4k7", "a bytes", "not text")],
)  # fmt: skip
def test_anything_but_text_is_refused(given_value: object, shown: str, why: str) -> None:
    for unit in KINDS:
        with pytest.raises(QuantityError) as caught:
            parse_quantity(given_value, unit)
        assert caught.value.text == shown
        assert why in caught.value.why
        with pytest.raises(QuantityError):
            parse_accuracy(given_value, unit)


@pytest.mark.parametrize(
    ("text", "unit", "why"),
    [("0.5", "1", "write %, ppm or digits"), ("20", "V", "write its unit"),
     ("20 mVpp", "V", 'write "mV" instead of "mVpp"'), ("0.1 div", "1", "divisions"),
     ("0.1 div", "ohm", "divisions"), ("3 % (k=2)", "1", "coverage factor"),
     ("3 % @ 50 mV/div", "V", "range stands with each reading"),
     ("5 mV", "1", "neither %, ppm nor digits"), ("abc", "ohm", "has no number"),
     ("3 % FS", "V", "share of the range"), ("3 % + + 2 mV", "V", "is missing"),
     ("2 mF", "ohm", "not of resistance"), ("nan %", "1", "has no number"),
     ("1e400 %", "1", "too large"), ("1e308 V + 1e308 V", "V", "too large"),
     ("1,234 %", "1", "two ways")],
)  # fmt: skip
def test_accuracies_refused(text: str, unit: Unit, why: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_accuracy(text, unit)
    assert why in caught.value.why


def test_one_message_in_full() -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity("10 mhz", "Hz")
    assert str(caught.value) == (
        '"10 mhz": "mhz" is no unit of frequency (is "mHz" or "MHz" meant?); '
        'expected a frequency such as "3.3 kHz" or "600 Hz".'
    )


pieces = st.lists(
    st.sampled_from(
        ["4", "7", "0", "12", ".", ",", " ", "+", "-", "±", "(", ")", "k", "K", "m", "M", "u", "µ",
         "R", "ohm", "Ω", "H", "F", "Hz", "V", "Vpp", "rms", "deg", "°", "%", "ppm", "digits",
         "div", "@", "/", "e", "E", "e9", "e999", "(k=2)", "nan", "inf", "ab", "'"]
    ),
    max_size=9,
).map("".join)  # fmt: skip


@given(st.one_of(st.text(max_size=12), pieces), st.sampled_from(sorted(KINDS)))
@example("4k7(", "ohm")
@example("()", "ohm")
@example("±±", "V")
def test_any_text_is_read_as_something_finite_or_refused_in_one_printable_line(
    text: str, unit: Unit
) -> None:
    quantity = _read_or_message(parse_quantity, text, unit)
    accuracy = _read_or_message(parse_accuracy, text, unit)
    if isinstance(quantity, Quantity):
        assert math.isfinite(quantity.value)
        assert quantity.text == text
        assert 0 <= quantity.u < math.inf
    if isinstance(accuracy, Accuracy):
        assert 0 <= accuracy.of(1.0, 0.1, 0.1) < math.inf
    for message in (quantity, accuracy):
        assert not isinstance(message, str) or message.isprintable()


def _read_or_message(
    read: Callable[[object, Unit], Quantity | Accuracy], text: str, unit: Unit
) -> Quantity | Accuracy | str:
    try:
        return read(text, unit)
    except QuantityError as error:
        return str(error)
