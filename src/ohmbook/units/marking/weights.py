"""How readily each way of reading a marking is believed: every weight, in one place.

A meaning's weight is the product of its factors; its probability is its weight over the sum of
all weights and of what "something else" weighs. 1 is "the ordinary case for this kind of part";
0.1 is "ten times less usual". Series membership is IEC 60063; everything else is common practice,
no source: it orders the meanings, and readings are to decide between them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, NamedTuple

from ohmbook.units.marking.meaning import PartKindName
from ohmbook.units.number import Written
from ohmbook.units.series import SeriesName, series

Form = Literal["unit", "letter", "bands", "code", "digits"]
BARE_FORMS: tuple[Form, ...] = ("code", "digits")


class Factor(NamedTuple):
    """A weight and, where a person should hear of it, why."""

    weight: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """What crossovers use, SI, and the same in words."""

    low: float
    high: float
    words: str


BANDS: Mapping[PartKindName, Band] = {
    "inductor": Band(0.03e-3, 20e-3, "0.03 to 20 mH"),
    "capacitor": Band(0.47e-6, 400e-6, "0.47 to 400 µF"),
    "resistor": Band(0.1, 50.0, "0.1 to 50 ohm"),
}
_HALF_WEIGHT_DECADES = 0.5  # this far outside its band a value weighs half; tails are long


class Plain(NamedTuple):
    """A bare number in some unit: its weight as a decimal and by its count of digits."""

    kind: PartKindName
    power: int
    decimal: float
    short: float  # one or two digits
    three: float
    long: float
    why: str


PLAIN = (
    Plain("inductor", -3, 1.0, 0.6, 0.15, 0.02,
          "on a thumb-sized air coil a bare number is in mH"),
    Plain("inductor", -6, 0.05, 0.2, 0.25, 0.2,
          "a bare number on a coil may be in µH"),
    Plain("capacitor", -6, 1.0, 1.0, 0.4, 0.2,
          "a bare number on a film or electrolytic capacitor is in µF"),
    Plain("capacitor", -9, 0.01, 0.02, 0.01, 0.01,
          "a bare number is seldom in nF"),
    Plain("capacitor", -12, 0.005, 0.02, 0.03, 0.2,
          "a bare number on a small or old capacitor may be in pF"),
    Plain("resistor", 0, 0.5, 0.5, 0.2, 0.1,
          "a bare number on a resistor is in ohm, though an R or Ω usually stands with it"),
)  # fmt: skip

THREE_DIGITS: Mapping[PartKindName, float] = {"capacitor": 1.0, "inductor": 0.7, "resistor": 0.5}
FOUR_DIGITS: Mapping[PartKindName, float] = {"resistor": 1.0, "capacitor": 0.1, "inductor": 0.05}
EIA_96, EIA_96_OTHER_LETTERS = 1.0, 0.1  # R and S stand in for Y and X in some tables
LOST_POINT = Factor(0.01, "a decimal point may have vanished from the ink")
LEADING_ZERO = Factor(0.5, "nobody prints a leading 0 without a decimal point behind it")
NOT_A_WHOLE = Factor(0.02, "a whole number would not be printed with a leading 0")
THOUSANDS = Factor(0.3, "the comma may group thousands")
ROUND_THOUSANDS = Factor(1.0, THOUSANDS.why)
NEEDLESS_DECIMALS = Factor(0.2, "three decimals that end in 0 are seldom printed")
UNIT_LETTER = 0.3  # 4u7F: F may be the unit, but rather is a tolerance
UNIT_DOUBTFUL = 0.01  # for a factor of 1000 in any unit as printed
MH_UH_DOUBTFUL = 0.1  # mH and µH are easily mistaken for each other

# Preferred numbers by significant figures. Codes with three figures exist for E96.
_E12, _E24 = 1.0, 0.8
_E96_IN_ITS_CODES = 1.0
_TWO_FIGURES: Mapping[PartKindName, float] = {"inductor": 0.5, "capacitor": 0.3, "resistor": 0.3}
_E96: Mapping[PartKindName, float] = {"inductor": 0.1, "capacitor": 0.03, "resistor": 0.4}
_THREE_FIGURES: Mapping[PartKindName, float] = {
    "inductor": 0.1, "capacitor": 0.02, "resistor": 0.05,
}  # fmt: skip
_MORE_FIGURES = 0.01
_SERIES: tuple[SeriesName, ...] = ("E12", "E24", "E96")

LETTER_USE: Mapping[str, float] = {
    **dict.fromkeys("JKM", 1.0), **dict.fromkeys("FG", 0.4), "Z": 0.3, "H": 0.2,
    **dict.fromkeys("BCDLNPQST", 0.02), **dict.fromkeys("EW", 0.01),
}  # fmt: skip
LETTER_ONLY_ON_CAPACITORS = Factor(0.005, "that tolerance letter is for capacitors")
KILO_ON_RESISTORS = Factor(0.01, "behind a bare number on a resistor K and M are kilo and mega")
KILO_OR_TOLERANCE = Factor(0.05, "behind a bare number K and M may as well be kilo and mega")
KILO_OR_TOLERANCE_OF_CODE = Factor(0.3, KILO_OR_TOLERANCE.why)
P_SENSES = (
    Factor(0.01, "P is 0.02 % in IEC 60062, finer than any crossover's capacitor"),
    Factor(0.05, "P is +100/-0 % on old capacitor charts"),
)
SMALL_LETTER = 0.2  # a tolerance letter in lower case

BANDS_BACKWARDS = Factor(0.3, "read from the other end")
COIL_BANDS = Factor(0.03, "on an axial coil the bands are in µH (makers' practice)")
TOLERANCE_BANDS: Mapping[str, float] = {
    "gold": 1.0, "silver": 1.0, "brown": 1.0, "red": 1.0, "none": 0.5,
}  # fmt: skip
RARE_TOLERANCE_BAND = 0.1

SUITS: Mapping[str, Mapping[PartKindName, float]] = {
    "volts": {"capacitor": 1.0, "resistor": 0.02, "inductor": 0.01},
    "watts": {"resistor": 1.0, "capacitor": 0.01, "inductor": 0.02},
    "bipolar": {"capacitor": 1.0, "resistor": 0.001, "inductor": 0.001},
}
BARE_VOLTS_AFTER_TOLERANCE = 0.8
BARE_VOLTS = 0.3
BARE_VOLTS_IN_LETTER_CODE = 0.01  # 4K75 is rather 4.75 kohm than 4 µF ±10 % 75 V
UNREAD_WORD, UNREAD_WORD_WITH_DIGITS = 0.5, 0.1
UNREAD_UNIT = 0.03  # a word right behind a bare number
WRONG_KIND = 0.01  # "coil 0.82" read as a capacitor

# "Something else" weighs what the form leaves room for: digits alone can be anything.
OTHER: Mapping[Form, float] = {
    "unit": 0.001, "letter": 0.003, "bands": 0.005, "code": 0.05, "digits": 0.05,
}  # fmt: skip
OTHER_DIGITS_WITH_MORE = 0.01  # digits with a tolerance, a voltage or a power beside them
DATE: Mapping[PartKindName | None, float] = {
    "capacitor": 0.1, "inductor": 0.02, "resistor": 0.02, None: 0.05,
}  # fmt: skip


def in_band(kind: PartKindName, value: float) -> Factor:
    """How well a value (SI) suits a crossover: 1 inside the band, long tails outside."""
    band = BANDS[kind]
    decades = math.log10(max(band.low / value, value / band.high, 1.0))
    where = "inside" if decades == 0 else "outside" if decades < 1 else "far outside"
    weight = 1 / (1 + (decades / _HALF_WEIGHT_DECADES) ** 2)
    return Factor(weight, f"{where} what crossovers use ({band.words})")


def preferred(kind: PartKindName, number: Written, figures: int) -> Factor:
    """How usual the significant figures are, by the preferred numbers of IEC 60063.

    Args:
        kind: what part.
        number: as read.
        figures: 3 for a code that is made for E96, else 2.
    """
    shown = number.digits.lstrip("0")
    shown = f"0{shown}" if shown.startswith(".") else shown
    digits = number.digits.replace(".", "").strip("0")
    name = next((name for name in _SERIES if digits.ljust(3, "0") in _digits(name)), None)
    if name is None:
        return Factor(_odd(kind, len(digits)), f"{shown} is not a preferred value")
    return Factor(_usual(kind, name, digits, figures), f"{shown} is a preferred value ({name})")


def _usual(kind: PartKindName, name: SeriesName, digits: str, figures: int) -> float:
    if name != "E96":
        return _E12 if name == "E12" else _E24
    return _E96_IN_ITS_CODES if figures == 3 else max(_E96[kind], _odd(kind, len(digits)))


def _odd(kind: PartKindName, figures: int) -> float:
    if figures <= 2:
        return _TWO_FIGURES[kind]
    return _THREE_FIGURES[kind] if figures == 3 else _MORE_FIGURES


@cache
def _digits(name: SeriesName) -> frozenset[str]:
    return frozenset(str(round(100 * number)) for number in series(name))
