"""Every preferred value printed in every code comes back among the first three meanings.

The printers stand here, apart from the reader, and work on strings: they share nothing with it.
Sources: IEC 60063 (E24 as tabled, E96 as 100 * 10^(n/96) rounded), IEC 60062 (letter codes),
EIA-96, and the label list named at `LABELS`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
import rkm_codes

from ohmbook.units.marking import Meaning, PartKindName, meanings

# fmt: off
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
       33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
# fmt: on
E96 = tuple(round(100 * 10 ** (step / 96)) for step in range(96))
BAND = {"inductor": (0.03e-3, 20e-3), "capacitor": (0.47e-6, 400e-6), "resistor": (0.1, 50.0)}

# https://github.com/user-attachments/files/21391261/ResistorLabels.pdf; 474 from the
# NatuurkundePracticumAmsterdam/ESP repository, Appendix-components.md
LABELS = {
    "102": 1e3, "474": 470e3, "100": 10.0, "101": 100.0,
    "1001": 1e3, "1002": 10e3, "4701": 4.7e3, "1000": 100.0, "1271": 1.27e3,
    "01X": 10.0, "12X": 13.0, "01A": 100.0, "30A": 200.0, "01B": 1e3, "11B": 1.27e3,
    "18B": 1.5e3, "01C": 10e3, "01D": 100e3, "18D": 150e3, "01E": 1e6,
}  # fmt: skip
# https://en.wikipedia.org/wiki/IEC/EN_60062 (article "RKM code"); R005 and 8R2 from the
# library rkm_codes only
RESISTOR_CODES = {
    "R47": 0.47, "4R7": 4.7, "470R": 470.0, "4K7": 4700.0, "47K": 47e3, "47K3": 47.3e3,
    "470K": 470e3, "4M7": 4.7e6, "R005": 0.005, "8R2": 8.2,
}  # fmt: skip
CAPACITOR_CODES = {
    "4p7": 4.7e-12, "p10": 0.1e-12, "330p": 330e-12, "2n2": 2.2e-9, "33n": 33e-9,
    "100n": 100e-9, "3u3": 3.3e-6, "6u8": 6.8e-6, "220u": 220e-6, "1m5": 1.5e-3,
}  # fmt: skip
# Vendor data and the television maker's chart of CAPACITOR_LETTERS in test_marking_traps; the
# 8 and 9 multipliers from memory
CAPACITOR_DIGITS = {
    "104": 100e-9, "102": 1e-9, "473": 47e-9, "105": 1e-6, "225": 2.2e-6,
    "479": 4.7e-12, "229": 2.2e-12, "478": 0.47e-12,
}  # fmt: skip
# Makers' practice, no standard
INDUCTOR_CODES = {
    "R47": 0.47e-6, "4R7": 4.7e-6, "100": 10e-6, "101": 100e-6, "102": 1e-3, "332": 3.3e-3,
    "4N7": 4.7e-9, "0m82": 0.82e-3, "470u": 470e-6,
}  # fmt: skip


def place(found: tuple[Meaning, ...], kind: PartKindName, value: float) -> int:
    """From 1, where a value stands among the meanings; 99 where it doesn't."""
    for number, meaning in enumerate(found, start=1):
        if meaning.kind == kind and meaning.value == pytest.approx(value, rel=1e-12):
            return number
    return 99


def lettered(digits: int, letter: str) -> Iterator[tuple[str, int]]:
    """Three digits with a letter at each place, and the power of ten beside the letter's own."""
    text = str(digits)
    for count in range(len(text) + 1):
        yield text[:count] + letter + text[count:], count - len(text)


def decimals(digits: int, lowest: int, highest: int) -> Iterator[tuple[str, float]]:
    """Three digits as plain decimals, from 0.0102 (lowest -4) to 102 (highest 0)."""
    for power in range(lowest, highest + 1):
        places = max(-power, 0)
        value = float(f"{digits}e{power}")
        yield f"{value:.{places}f}", value


Printed = Iterator[tuple[str, float]]


def resistor_letters() -> Printed:
    """R100 to 100R, 1K00 to 100K, 1M00 to 10M0."""
    for digits in E96:
        for letter, power in (("R", 0), ("K", 3), ("M", 6)):
            for text, shift in lettered(digits, letter):
                value = float(f"{digits}e{power + shift}")
                if value < 1e8 and not (text.startswith(letter) and letter != "R"):
                    yield text, value


def resistor_digits() -> Printed:
    """1000 to 9765: three digits and a power of ten from 0 to 5."""
    for digits in E96:
        for power in range(6):
            yield f"{digits}{power}", float(f"{digits}e{power}")


def resistor_eia() -> Printed:
    """01Z to 96F; Y, Z and F, and R and S for Y and X, from memory."""
    powers = {"Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0, "B": 1, "C": 2, "D": 3, "E": 4,
              "F": 5}  # fmt: skip
    for number, digits in enumerate(E96, start=1):
        for letter, power in powers.items():
            yield f"{number:02d}{letter}", float(f"{digits}e{power}")


def capacitor_letters() -> Printed:
    """p102 to 102m, in IEC 60062's four letters, and with the u of a typewriter."""
    for digits in E96:
        for letter, power in (("p", -12), ("n", -9), ("u", -6), ("µ", -6), ("m", -3)):
            for text, shift in lettered(digits, letter):
                yield text, float(f"{digits}e{power + shift}")


def three_digits(unit: int, powers: dict[int, int]) -> Printed:
    """Two digits of E24 and a last one, which stands for a power of ten."""
    for digits in E24:
        for last, power in powers.items():
            yield f"{digits}{last}", float(f"{digits}e{power + unit}")


def capacitor_digits() -> Printed:
    """100 to 917 in pF, with 8 for x 0.01 and 9 for x 0.1 (from memory)."""
    return three_digits(-12, {**{n: n for n in range(8)}, 8: -2, 9: -1})


def resistor_three_digits() -> Printed:
    """100 to 915 in ohm."""
    return three_digits(0, {n: n for n in range(6)})


def inductor_digits() -> Printed:
    """100 to 915 in µH."""
    return three_digits(-6, {n: n for n in range(6)})


def capacitor_decimals() -> Printed:
    """0.102 to 102 µF; with and without the leading 0; with a comma."""
    for digits in E96:
        for text, value in decimals(digits, -3, 0):
            for shown in {text, text.removeprefix("0")}:
                yield shown, float(f"{value!r}e-6")
                yield shown.replace(".", ","), float(f"{value!r}e-6")


def inductor_letters() -> Printed:
    """R102 to 102R, R being the point in µH."""
    for digits in E96:
        for text, shift in lettered(digits, "R"):
            yield text, float(f"{digits}e{shift - 6}")


def inductor_decimals() -> Printed:
    """0.0102 to 10.2 mH bare, with comma, with unit."""
    for digits in E96:
        for text, value in decimals(digits, -4, -1):
            for shown in (text, text.replace(".", ","), f"{text}mH", f"{text} mH"):
                yield shown, float(f"{value!r}e-3")


PRINTED: dict[str, tuple[PartKindName, Callable[[], Printed], int]] = {
    # code: kind, printer, how many it prints
    "resistor, letters": ("resistor", resistor_letters, 96 * 9),
    "resistor, four digits": ("resistor", resistor_digits, 96 * 6),
    "resistor, three digits": ("resistor", resistor_three_digits, 24 * 6),
    "resistor, EIA-96": ("resistor", resistor_eia, 96 * 11),
    "capacitor, letters": ("capacitor", capacitor_letters, 96 * 20),
    "capacitor, three digits": ("capacitor", capacitor_digits, 24 * 10),
    "capacitor, decimals": ("capacitor", capacitor_decimals, 96 * 10),
    "inductor, letters": ("inductor", inductor_letters, 96 * 4),
    "inductor, three digits": ("inductor", inductor_digits, 24 * 6),
    "inductor, decimals": ("inductor", inductor_decimals, 96 * 16),
}


@pytest.mark.parametrize("code", PRINTED)
def test_every_printed_value_comes_back_among_the_first_three(code: str) -> None:
    kind, printer, count = PRINTED[code]
    printed = list(printer())
    assert len(printed) == count
    assert [text for text, value in printed if place(meanings(text, kind), kind, value) > 3] == []


@pytest.mark.parametrize(
    ("kind", "printer"),
    [
        ("resistor", resistor_letters),
        ("capacitor", capacitor_letters),
        ("capacitor", capacitor_decimals),
        ("inductor", inductor_letters),
        ("inductor", inductor_decimals),
    ],
)
def test_without_a_kind_too_for_what_crossovers_use(
    kind: PartKindName, printer: Callable[[], Printed]
) -> None:
    """Where all kinds compete: codes that are not bare digits, values inside the sanity bands."""
    low, high = BAND[kind]
    printed = [
        (text, value) for text, value in printer() if low <= value <= high and not text.isdecimal()
    ]
    assert len(printed) > 90
    assert [text for text, value in printed if place(meanings(text), kind, value) > 3] == []


def test_resistor_codes_come_back_without_a_kind() -> None:
    """All of them, though kilohms and megohms lie far outside what crossovers use."""
    printed = [*resistor_letters(), *resistor_digits()]
    assert [text for text, ohms in printed if place(meanings(text), "resistor", ohms) > 3] == []


@pytest.mark.parametrize(("text", "ohms"), [*LABELS.items(), *RESISTOR_CODES.items()])
def test_published_resistor_codes(text: str, ohms: float) -> None:
    assert place(meanings(text, "resistor"), "resistor", ohms) == 1


@pytest.mark.parametrize(("text", "farads"), [*CAPACITOR_CODES.items(), *CAPACITOR_DIGITS.items()])
def test_published_capacitor_codes(text: str, farads: float) -> None:
    assert place(meanings(text, "capacitor"), "capacitor", farads) <= 2


@pytest.mark.parametrize(("text", "henries"), INDUCTOR_CODES.items())
def test_inductor_codes_of_makers(text: str, henries: float) -> None:
    assert place(meanings(text, "inductor"), "inductor", henries) == 1


@pytest.mark.parametrize("text", [*RESISTOR_CODES, *CAPACITOR_CODES])
def test_letter_codes_as_an_independent_library_reads_them(text: str) -> None:
    """The library rkm_codes (general-purpose), with its map of IEC 60062."""
    rkm_codes.set_prefs(rkm_maps=rkm_codes.IEC60062_MAPS)
    other = rkm_codes.from_rkm(text)
    kind: PartKindName = "resistor" if other.units == "Ω" else "capacitor"
    assert place(meanings(text, kind), kind, float(other)) == 1


def test_every_letter_code_as_an_independent_library_reads_it() -> None:
    rkm_codes.set_prefs(rkm_maps=rkm_codes.IEC60062_MAPS)
    printed: list[tuple[PartKindName, str]] = [
        *(("resistor", text) for text, _ in resistor_letters()),
        *(("capacitor", text) for text, _ in capacitor_letters()),
    ]
    missed = [
        text
        for kind, text in printed
        if place(meanings(text, kind), kind, float(rkm_codes.from_rkm(text))) > 2
    ]
    assert missed == []
