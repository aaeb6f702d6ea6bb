"""Accuracies as instruments and people state them: a sum of %, ppm, absolute, digits, divisions.

"0.8 % + 2 digits", "±(3 % + 0.1 div + 1 mV)". A plain % is always of the reading.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ohmbook.units.number import NUMBER, Refused, Written, read_number
from ohmbook.units.quantity import Accuracy, Convention, Unit, sine_factor
from ohmbook.units.spelling import KINDS, spellings
from ohmbook.units.unitword import read_unit

_TERM = re.compile(rf"(?P<number>{NUMBER})? ?(?P<word>.*)")
# A plus between terms, not the one of an exponent.
_PLUS = re.compile(r"(?<![0-9.,][eE])\+")
_SHARE = re.compile(r"(?P<share>%|ppm)(?: (?:of )?(?:rdg|reading))?")
_DIGITS = frozenset({"digit", "digits", "dgt", "dgts", "count", "counts"})
_DIVISIONS = frozenset({"div", "divs", "division", "divisions"})
_OF_RANGE = re.compile(r"(%|ppm) ?(of )?(fs|f\.s\.|full ?scale|range|rng)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Stated:
    """What the terms of an accuracy are about.

    Args:
        unit: of the quantity.
        convention: of the quantity, for volts; None where it is not known.
        plain: whether a number without a unit is an absolute term (a quantity of unit "1").
    """

    unit: Unit
    convention: Convention | None = None
    plain: bool = False


def read_terms(text: str, stated: Stated) -> Accuracy:
    """Read a sum of terms, with or without brackets around it.

    Args:
        text: tidied, without `±` and without `(k=2)`.
        stated: what it is the accuracy of.

    Raises:
        Refused: a term that is not read.
    """
    inner = text[1:-1] if text.startswith("(") and text.endswith(")") else text
    total = Accuracy()
    for term in _PLUS.split(inner):
        total = _sum(total, _term(term.strip(), stated))
    if not math.isfinite(total.of(1.0, 1.0, 1.0)):
        raise Refused("this accuracy is too large to work with")
    return total


def _sum(one: Accuracy, other: Accuracy) -> Accuracy:
    return Accuracy(
        one.relative + other.relative,
        one.absolute + other.absolute,
        one.digits + other.digits,
        one.divisions + other.divisions,
    )


def _term(text: str, stated: Stated) -> Accuracy:
    match = _TERM.fullmatch(text)
    if match is None or match["number"] is None:
        raise Refused(_no_number(text))
    number, word = read_number(match["number"]), match["word"]
    share = _SHARE.fullmatch(word)
    if share:
        return Accuracy(relative=number.times_ten_to(spellings("1")[share["share"]].power).value)
    if word.lower() in _DIGITS:
        return Accuracy(digits=number.value)
    if word.lower() in _DIVISIONS:
        return _divisions(number, stated)
    return Accuracy(absolute=_absolute(number, word, stated))


def _no_number(text: str) -> str:
    if not text:
        return "a term of the accuracy is missing"
    if text.startswith("-"):
        return f'an accuracy has no sign, and "{text}" has one'
    return f'"{text}" has no number'


def _divisions(number: Written, stated: Stated) -> Accuracy:
    if stated.unit != "V":
        raise Refused(f"screen divisions say nothing about a {KINDS[stated.unit].name}")
    return Accuracy(divisions=number.value)


def _absolute(number: Written, word: str, stated: Stated) -> float:
    """An absolute term in SI, volts in the convention of the quantity."""
    if not word and not stated.plain:
        what = "%, ppm or digits" if stated.unit == "1" else "its unit, % or digits"
        raise Refused(f'behind "{number.digits}" stands no unit: write {what}')
    if _OF_RANGE.fullmatch(word):
        raise Refused(f'"{word}" is a share of the range: write what it comes to, with its unit')
    if "(" in word:
        raise Refused('behind an accuracy only a coverage factor is read, as in "(k=2)"')
    if any(character.isdigit() for character in word):
        raise Refused(f'"{word}" is not read: the terms of an accuracy are joined with +')
    if not word:
        return number.value
    if stated.unit == "1":
        raise Refused(f'"{word}" is neither %, ppm nor digits')
    power, convention = read_unit(word, stated.unit)
    return number.times_ten_to(power).value * _conversion(word, convention, stated)


def _conversion(word: str, have: Convention | None, stated: Stated) -> float:
    if have is None or have == stated.convention:
        return 1.0
    if stated.convention is None:
        plain = word.removesuffix(have).strip()
        raise Refused(
            f'nothing says whether the reading is Vpp, Vp or Vrms, so write "{plain}" '
            f'instead of "{word}": it is in the reading\'s own convention'
        )
    return sine_factor(have, stated.convention)
