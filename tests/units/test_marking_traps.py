"""Markings that are easily misread, each with what it means.

What a marking on a crossover part means is common practice, no source, where nothing else is
named; tolerance letters are IEC 60062's.
"""

from __future__ import annotations

import pytest

from ohmbook.units.marking import Meaning, PartKindName, Tolerance, meanings


def first(text: str, kind: PartKindName | None = None) -> Meaning:
    return meanings(text, kind)[0]


def remainder(text: str, kind: PartKindName | None = None) -> float:
    """The probability of "something else"."""
    return 1 - sum(meaning.probability for meaning in meanings(text, kind))


def probability(text: str, value: float, kind: PartKindName | None = None) -> float:
    """The probability of all meanings with that value."""
    return sum(
        meaning.probability
        for meaning in meanings(text, kind)
        if meaning.value == pytest.approx(value)
    )


WHOLE: list[tuple[str, PartKindName, float, Tolerance | None, float | None, float | None]] = [
    # marking, kind, value, tolerance, volts, watts
    ("3.3K 100V", "capacitor", 3.3e-6, 0.10, 100, None),
    ("3.3 K 100 V", "capacitor", 3.3e-6, 0.10, 100, None),
    ("10uF 50V BP", "capacitor", 10e-6, None, 50, None),
    ("4.7J250", "capacitor", 4.7e-6, 0.05, 250, None),
    ("4.7 J 250", "capacitor", 4.7e-6, 0.05, 250, None),
    ("4,7/250", "capacitor", 4.7e-6, None, 250, None),
    ("33K250", "capacitor", 33e-6, 0.10, 250, None),
    ("2,2 µF 63V", "capacitor", 2.2e-6, None, 63, None),
    ("2,2 μF, 63 V", "capacitor", 2.2e-6, None, 63, None),
    ("AC 250V 2.2uF", "capacitor", 2.2e-6, None, 250, None),
    ("16V220uF", "capacitor", 220e-6, None, 16, None),
    ("10µF ±10% 100VDC", "capacitor", 10e-6, 0.10, 100, None),
    ("47uF -20/+80% 50V", "capacitor", 47e-6, (-0.20, 0.80), 50, None),
    ("47uF +80-20% 50V", "capacitor", 47e-6, (-0.20, 0.80), 50, None),
    ("0.47 MKP 250", "capacitor", 0.47e-6, None, 250, None),
    ("2A104J", "capacitor", 100e-9, 0.05, 100, None),
    ("102K 100V", "capacitor", 1e-9, 0.10, 100, None),
    ("4.7uFK", "capacitor", 4.7e-6, 0.10, None, None),
    ("100nJ", "capacitor", 100e-9, 0.05, None, None),
    ("8 MFD 100 WVDC", "capacitor", 8e-6, None, 100, None),
    ("5W 2R7J", "resistor", 2.7, 0.05, None, 5),
    ("5W8R2J", "resistor", 8.2, 0.05, None, 5),
    ("5WR47J", "resistor", 0.47, 0.05, None, 5),
    ("8Ω 10W", "resistor", 8.0, None, None, 10),
    ("8Ω 10W", "resistor", 8.0, None, None, 10),
    ("8 ohm 10W 5%", "resistor", 8.0, 0.05, None, 10),
    ("10 ohms 1/2 W", "resistor", 10.0, None, None, 0.5),
    ("0,25W 4,7 ohm", "resistor", 4.7, None, None, 0.25),
    ("10W 0R22 K", "resistor", 0.22, 0.10, None, 10),
    ("4.7 5W", "resistor", 4.7, None, None, 5),
    ("4.7 100V", "capacitor", 4.7e-6, None, 100, None),
    ("4Ω7", "resistor", 4.7, None, None, None),
    ("3k3", "resistor", 3300.0, None, None, None),
    ("3k3 9W", "resistor", 3300.0, None, None, 9),
    ("0.82 mH ± 5 %", "inductor", 0.82e-3, 0.05, None, None),
    ("0,82mH", "inductor", 0.82e-3, None, None, None),
    ("L=1.5", "inductor", 1.5e-3, None, None, None),
    ("coil 0.35", "inductor", 0.35e-3, None, None, None),
    ("0m82", "inductor", 0.82e-3, None, None, None),
]


@pytest.mark.parametrize(("text", "kind", "value", "tolerance", "volts", "watts"), WHOLE)
@pytest.mark.parametrize("told", [True, False], ids=["kind told", "kinds compete"])
def test_whole_markings(
    text: str,
    kind: PartKindName,
    value: float,
    tolerance: Tolerance | None,
    volts: float | None,
    watts: float | None,
    told: bool,
) -> None:
    found = first(text, kind if told else None)
    assert found.kind == kind
    assert found.value == pytest.approx(value, rel=1e-12)
    assert (found.tolerance, found.volts, found.watts) == (tolerance, volts, watts)
    assert found.probability > 0.5


def test_k_behind_a_number_is_a_tolerance_on_a_capacitor_and_kilo_on_a_resistor() -> None:
    assert (first("3.3K", "capacitor").value, first("3.3K", "capacitor").tolerance) == (3.3e-6, 0.1)
    assert (first("3.3K", "resistor").value, first("3.3K", "resistor").tolerance) == (3300.0, None)
    assert first("3k3", "resistor").value == 3300.0
    assert meanings("3k3", "capacitor") == ()


def test_k_between_digits_is_the_point_and_not_a_tolerance_with_a_voltage() -> None:
    assert (first("4K75").kind, first("4K75").value) == ("resistor", 4750.0)


@pytest.mark.parametrize(
    ("text", "value"),
    [("M47", 0.47e-6), ("0.47M", 0.47e-6), ("4.7MF", 4.7e-6), ("4.7 mF", 4.7e-6), ("8MFD", 8e-6),
     ("8 mfd", 8e-6), ("8 Mfd", 8e-6), ("10 uF", 10e-6), ("10UF", 10e-6), ("10µF", 10e-6),
     ("10μF", 10e-6)],
)  # fmt: skip
def test_what_means_micro_on_old_capacitors(text: str, value: float) -> None:
    assert probability(text, value, "capacitor") > 0.8


def test_the_case_of_m() -> None:
    """IEC 60062: M is mega on resistors, m is milli on capacitors."""
    assert first("1m5", "capacitor").value == pytest.approx(1500e-6)
    assert first("4M7", "resistor").value == 4.7e6
    assert first("4m7", "resistor").value == pytest.approx(4.7e-3)
    assert first("2.2 Mohm", "resistor").value == 2.2e6
    assert first("2.2 MΩ").value == 2.2e6
    assert first("220 mΩ").value == pytest.approx(0.22)
    assert first("0.82MH").value == pytest.approx(0.82e-3)


@pytest.mark.parametrize("text", ["10uF 50V BP", "10uF 50V NP", "10uF NP 50V", "10 uF bipolar",
                                  "10uF 50VNP", "10uF non-polar"])  # fmt: skip
def test_bipolar(text: str) -> None:
    assert first(text).bipolar
    assert first(text).value == pytest.approx(10e-6)


@pytest.mark.parametrize(
    ("text", "volts", "current"),
    [("2.2uF 250VAC", 250, "AC"), ("2.2uF 250 V AC", 250, "AC"), ("2.2uF 250V~", 250, "AC"),
     ("2.2uF 400VDC", 400, "DC"), ("2.2uF 400 V=", 400, "DC"), ("2.2uF 400V", 400, None),
     ("2.2uF 6.3V", 6.3, None), ("2.2uF 50 WV", 50, None)],
)  # fmt: skip
def test_voltage_and_its_kind(text: str, volts: float, current: str | None) -> None:
    found = first(text)
    assert (found.volts, found.volts_kind) == (volts, current)


# J, K, M, G, F, Z seen at dummies.com (electronics-capacitor-tolerance-code), T and N in a
# television maker's chart (Sanyo DP19649 service manual, page 41); the others from memory
CAPACITOR_LETTERS: dict[str, Tolerance] = {
    "F": 0.01, "G": 0.02, "H": 0.03, "J": 0.05, "K": 0.10, "M": 0.20, "N": 0.30,
    "E": 0.00005, "L": 0.0001, "W": 0.0005, "B": 0.001, "C": 0.0025, "D": 0.005,
    "Q": (-0.10, 0.30), "T": (-0.10, 0.50), "S": (-0.20, 0.50), "Z": (-0.20, 0.80),
}  # fmt: skip


@pytest.mark.parametrize("letter", CAPACITOR_LETTERS)
def test_tolerance_letters(letter: str) -> None:
    assert first(f"1u0{letter} 100V", "capacitor").tolerance == CAPACITOR_LETTERS[letter]


@pytest.mark.parametrize(
    ("letter", "picofarads"), [("B", 0.1), ("C", 0.25), ("D", 0.5), ("F", 1.0), ("G", 2.0)]
)
def test_tolerance_letters_below_ten_picofarads_are_picofarads(
    letter: str, picofarads: float
) -> None:
    """Seen at dummies.com (electronics-capacitor-tolerance-code) for B, C, D; F, G from memory."""
    found = first(f"5p6{letter}", "capacitor")
    assert found.tolerance == pytest.approx(picofarads / 5.6)


def test_p_as_a_tolerance_has_two_meanings() -> None:
    """IEC 60062: 0.02 %; the television maker's chart above: +100/-0 %."""
    found = [one for one in meanings("1u0P", "capacitor") if one.value == pytest.approx(1e-6)]
    assert {one.tolerance for one in found} == {0.0002, (0.0, 1.0)}
    assert all(any("P is" in reason for reason in one.reasons) for one in found)
    assert first("4R7P", "resistor").tolerance == 0.0002


def test_l_as_a_tolerance_is_fifteen_percent_on_a_coil() -> None:
    """Makers' practice; in IEC 60062 L is 0.01 %."""
    assert first("102L", "inductor").tolerance == 0.15
    assert first("4R7L", "resistor").tolerance == 0.0001


@pytest.mark.parametrize(
    ("text", "henries", "tolerance"),
    [("R47M", 0.47e-6, 0.20), ("332K", 3.3e-3, 0.10), ("101J", 100e-6, 0.05)],
)
def test_coil_codes_with_a_tolerance(text: str, henries: float, tolerance: float) -> None:
    """R47M is a part in a maker's data: 0.47 µH ±20 %; the others are makers' practice."""
    found = first(text, "inductor")
    assert found.value == pytest.approx(henries)
    assert found.tolerance == tolerance


@pytest.mark.parametrize(
    ("text", "millihenries"), [("0.82", 0.82), (".35", 0.35), ("1.0", 1.0), ("0,5", 0.5)]
)
def test_a_bare_decimal_on_a_coil_is_in_millihenries(text: str, millihenries: float) -> None:
    found = first(text, "inductor")
    assert found.value == pytest.approx(millihenries * 1e-3)
    assert found.probability > 0.85
    assert "on a thumb-sized air coil a bare number is in mH" in found.reasons


def test_a_bare_whole_number_on_a_coil_leaves_it_open() -> None:
    assert first("15", "inductor").value == pytest.approx(15e-3)
    assert probability("15", 15e-6, "inductor") > 0.05
    for millihenries in (0.015, 0.15, 150):
        assert probability("150", millihenries * 1e-3, "inductor") > 0.03
    assert first("150", "inductor").probability < 0.7
    assert first("100", "inductor").value == pytest.approx(10e-6)


def test_a_bare_decimal_without_a_kind_names_all_three() -> None:
    assert {one.kind for one in meanings("0.56")[:3]} == {"inductor", "capacitor", "resistor"}


@pytest.mark.parametrize("kind", ["inductor", "capacitor", "resistor"])
def test_a_lost_point_is_possible_and_improbable(kind: PartKindName) -> None:
    power = {"inductor": 1e-3, "capacitor": 1e-6, "resistor": 1.0}[kind]
    for value in (4.7, 0.47):
        assert 0.001 < probability("47", value * power, kind) < 0.1


def test_a_leading_zero_says_that_a_point_was_lost() -> None:
    assert first("047", "capacitor").value == pytest.approx(0.47e-6)
    assert first("082", "inductor").value == pytest.approx(0.82e-3)


def test_a_comma_is_decimal_where_it_can_be_nothing_else() -> None:
    assert first("0,47", "capacitor").value == pytest.approx(0.47e-6)
    both = {one.value for one in meanings("1,000 µF 63V") if one.probability > 0.1}
    assert both == {1e-3, 1e-6}


def test_microhenries_that_must_be_millihenries() -> None:
    """A coil's "0.011 µH" in series with a tweeter: far outside what crossovers use."""
    milli, micro = meanings("0.011 µH")[:2]
    assert milli.value == pytest.approx(11e-6)
    assert micro.value == pytest.approx(11e-9)
    assert "the unit is doubtful" in milli.reasons
    assert "far outside what crossovers use (0.03 to 20 mH)" in micro.reasons
    assert meanings("0.11 mH")[0].probability > 0.99


def test_a_printed_unit_is_believed_though_the_value_is_unusual() -> None:
    assert first("100 pF").value == pytest.approx(100e-12)
    assert first("4.7 kΩ").value == 4700.0
    assert first("100 nH").value == pytest.approx(100e-9)


@pytest.mark.parametrize(
    ("text", "date"),
    [("8712", "week 12 of 1987"), ("1287", "week 12 of 1987"), ("1994", "the year 1994"),
     ("03.94", "month 3 of 1994")],
)  # fmt: skip
def test_what_may_be_a_date_is_hardly_a_value(text: str, date: str) -> None:
    for kind in (None, "capacitor"):
        assert any(date in reason for one in meanings(text, kind) for reason in one.reasons)
    assert remainder(text, "capacitor") > 0.3
    assert remainder("8712", "capacitor") > 0.9


def test_a_date_alone_is_no_value_and_beside_one_it_changes_nothing() -> None:
    assert meanings("12/87") == ()
    assert meanings("12-87", "capacitor") == ()
    assert first("4.7J250 8712") == first("4.7J250")


def test_a_date_never_outweighs_a_code_of_preferred_figures_on_a_resistor() -> None:
    assert first("1271", "resistor").value == 1270.0
    assert first("1271", "resistor").probability > 0.5


def test_the_kind_decides_and_another_kind_s_unit_means_nothing() -> None:
    assert meanings("10uF", "resistor") == ()
    assert meanings("0.82 mH", "capacitor") == ()
    assert meanings("8 ohm", "inductor") == ()


def test_words_that_nobody_can_read_are_told() -> None:
    found = first("ACME 10uF 50V")
    assert found.value == pytest.approx(10e-6)
    assert '"ACME" is not read' in found.reasons


def test_an_unknown_unit_leaves_much_to_something_else() -> None:
    assert remainder("10 mm") > 0.3


def test_reasons_and_reading_say_how() -> None:
    found = first("825J", "capacitor")
    assert found.reading == "three digits: 82 x 10^5 pF; J is ±5 %"
    assert "82 is a preferred value (E12)" in found.reasons
    assert "inside what crossovers use (0.47 to 400 µF)" in found.reasons


def test_a_preferred_value_weighs_more() -> None:
    """IEC 60063: 0.68 is in E12, 0.69 in no series up to E96."""
    assert first("0.68", "capacitor").probability > first("0.69", "capacitor").probability


def test_inside_what_crossovers_use_weighs_more() -> None:
    assert first("10 uF").probability > first("10 nF").probability > first("10 pF").probability
