"""Tolerances as marked: letters, percentages, lopsided limits.

References: IEC 60062, tolerance letters (J, K, M, F, G, Z seen in print, the rest from memory).
Where sources disagree, both are told: P is 0.02 % in IEC 60062 and +100/-0 % on old capacitor
charts; L is 0.01 % in IEC 60062 and 15 % on coils (makers' practice).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from ohmbook.units.marking.meaning import Tolerance
from ohmbook.units.marking.values import Value
from ohmbook.units.marking.weights import (
    BARE_FORMS,
    KILO_ON_RESISTORS,
    KILO_OR_TOLERANCE,
    KILO_OR_TOLERANCE_OF_CODE,
    LETTER_ONLY_ON_CAPACITORS,
    LETTER_USE,
    P_SENSES,
    Factor,
)

_PERCENT: Mapping[str, float] = {
    "E": 0.005, "L": 0.01, "P": 0.02, "W": 0.05, "B": 0.1, "C": 0.25, "D": 0.5,
    "F": 1.0, "G": 2.0, "H": 3.0, "J": 5.0, "K": 10.0, "M": 20.0, "N": 30.0,
}  # fmt: skip
_LOPSIDED: Mapping[str, tuple[float, float]] = {
    "Q": (-0.10, 0.30), "T": (-0.10, 0.50), "S": (-0.20, 0.50), "Z": (-0.20, 0.80),
}  # fmt: skip
_OLD_P = (0.0, 1.0)
_COIL_L = 0.15
_PICOFARADS: Mapping[str, float] = {
    "B": 0.1e-12, "C": 0.25e-12, "D": 0.5e-12, "F": 1e-12, "G": 2e-12,
}  # fmt: skip
_SMALL_F = 10e-12  # below this, those letters are absolute

LETTERS = "".join(sorted({*_PERCENT, *_LOPSIDED}))

_EITHER_WAY = re.compile(r"±?\s?([0-9]{1,2}(?:[.,][0-9]{1,3})?)\s?%")
_TWO_WAYS = re.compile(r"([+-])\s?([0-9]{1,3})\s?%?\s?/?\s?([+-])\s?([0-9]{1,3})\s?%")
_LARGEST_DOWN = 100


class Marked(NamedTuple):
    """What a tolerance mark may mean."""

    tolerance: Tolerance | None
    words: str
    factor: Factor


def letter_meanings(letter: str, value: Value, alone: bool) -> tuple[Marked, ...]:
    """What a tolerance letter may mean behind a value.

    Args:
        letter: one of `LETTERS`, in either case.
        value: what it stands behind; on small capacitors some letters are in pF.
        alone: whether K and M may as well be kilo and mega: nothing says otherwise.
    """
    upper, kind = letter.upper(), value.kind
    if upper == "W" and value.form in BARE_FORMS:
        return ()  # watts, with no value to go with them
    use = _kilo_or_mega(value, alone) if upper in "KM" else Factor(LETTER_USE[upper])
    if upper in _LOPSIDED:
        use = use if kind == "capacitor" else LETTER_ONLY_ON_CAPACITORS
        return (_marked(upper, _LOPSIDED[upper], use),)
    farads = value.number.value
    absolute = _PICOFARADS.get(upper, farads) / farads
    if kind == "capacitor" and farads < _SMALL_F and absolute < 1:
        return (_marked(upper, absolute, Factor(1.0)),)
    if kind == "capacitor" and upper == "P":
        iec, old = P_SENSES
        return (_marked("P", _OLD_P, old), _marked("P", _fraction("P"), iec))
    if kind == "inductor" and upper == "L":
        return (_marked("L", _COIL_L, use),)
    return (_marked(upper, _fraction(upper), use),)


def read_percent(text: str, start: int) -> tuple[int, Tolerance] | None:
    """A tolerance in percent at a place in a text: where it ends, and what it is."""
    if both := _TWO_WAYS.match(text, start):
        found = sorted(float(f"{both[i]}{both[i + 1]}e-2") for i in (1, 3))
        legal = both[1] != both[3] and -1 < found[0] < found[1]
        return (both.end(), (found[0], found[1])) if legal else None
    if one := _EITHER_WAY.match(text, start):
        fraction = float(f"{one[1].replace(',', '.')}e-2")
        return (one.end(), fraction) if fraction > 0 else None
    return None


def in_words(tolerance: Tolerance) -> str:
    """As a person writes it: "±5 %", "-20/+80 %"."""
    if isinstance(tolerance, tuple):
        low, high = tolerance
        return f"-{abs(100 * low):g}/+{100 * high:g} %"
    return f"±{100 * tolerance:.3g} %"


def _kilo_or_mega(value: Value, alone: bool) -> Factor:
    """How readily K or M is a tolerance here, as against kilo or mega."""
    if value.kind == "resistor" and value.form in BARE_FORMS:
        return KILO_ON_RESISTORS
    if value.form not in BARE_FORMS or not alone:
        return Factor(1.0)
    return KILO_OR_TOLERANCE if value.form == "digits" else KILO_OR_TOLERANCE_OF_CODE


def _marked(letter: str, tolerance: Tolerance, factor: Factor) -> Marked:
    return Marked(tolerance, f"{letter} is {in_words(tolerance)}", factor)


def _fraction(letter: str) -> float:
    return float(f"{_PERCENT[letter]}e-2")
