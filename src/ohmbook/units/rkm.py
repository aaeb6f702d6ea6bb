"""Values with a letter in place of the decimal point: 4k7, R47, 2u2, p10 (IEC 60062).

Which letters are read depends on the unit that is expected: 1M5 is 1.5 Mohm, 1m5 is 1.5 mF. The
standard covers resistances and capacitances; for coils (m, u, n) and frequencies (k, M) it is
common practice. R as microhenries is a marking's business, not a quantity's.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ohmbook.units.number import Refused, Written
from ohmbook.units.quantity import Unit
from ohmbook.units.spelling import KINDS, point_letters
from ohmbook.units.unitword import read_unit

_RKM = re.compile(r"(?P<whole>[0-9]*)(?P<letter>[A-Za-z])(?P<part>[0-9]*)(?P<rest>.*)")
_TOLERANCE = re.compile(r"[BCDFGJKM]")
# A capital E between bare digits: an exponent, or the point of an old resistor code (4E7 for
# 4.7 ohm; common practice, no source).
_OLD_POINT = re.compile(r"[0-9]+E[0-9]+\b.*")


class Coded(NamedTuple):
    """A value in letter code, and what stands behind it."""

    number: Written
    rest: str


def read_rkm(text: str, unit: Unit) -> Coded | None:
    """Read the letter code at the beginning of a text, or None where there is none.

    Args:
        text: tidied, without a sign.
        unit: the unit that is expected.

    Raises:
        Refused: there is one, but not of this unit, or it can mean two values.
    """
    if unit == "ohm" and _OLD_POINT.fullmatch(text):
        raise Refused('the "E" can be a power of ten or the point of an old code: write it out')
    match = _RKM.fullmatch(text)
    if match is None or not (match["whole"] or match["part"]):
        return None
    if not match["part"]:
        return _with_letter_last(match, unit)
    if match["letter"] in "eE" and match["whole"]:
        return None
    return _with_letter_inside(match, unit)


def _with_letter_last(match: re.Match[str], unit: Unit) -> Coded | None:
    """470R, 12k: only where nothing follows, and not where the letter is the unit (3 F)."""
    letters = point_letters(unit)
    if match["rest"] or match["letter"] not in letters or match["letter"] in KINDS[unit].symbols:
        return None
    return Coded(Written(match["whole"], letters[match["letter"]]), "")


def _with_letter_inside(match: re.Match[str], unit: Unit) -> Coded | None:
    letters, letter = point_letters(unit), match["letter"]
    if letter not in letters:
        if letters:
            raise Refused(_wrong_letter(match, unit))
        return None
    number = Written(f"{match['whole'] or '0'}.{match['part']}", letters[letter])
    return Coded(number, _without_unit(match, unit))


def _without_unit(match: re.Match[str], unit: Unit) -> str:
    """What follows the code once a unit without a prefix ("4k7 ohm") is taken off."""
    rest = match["rest"].strip()
    code = f"{match['whole']}{match['letter']}{match['part']}"
    if _TOLERANCE.fullmatch(match["rest"]) and rest not in KINDS[unit].symbols:
        raise Refused(
            f'"{rest}" behind "{code}" may be a tolerance letter, which belongs to a marking: '
            f'write "{code} ± 5 %" or the like'
        )
    if not rest or not rest[0].isalpha():
        return rest
    if read_unit(rest, unit).power:
        raise Refused(f'"{code}" already has its prefix, and "{rest}" brings another')
    return ""


def _wrong_letter(match: re.Match[str], unit: Unit) -> str:
    """Why a letter is refused; M may have been meant as micro, as old parts print it."""
    letters, letter, kind = point_letters(unit), match["letter"], KINDS[unit]
    meant = [letter.swapcase(), *("u" if letter == "M" else "")]
    codes = [f'"{match["whole"]}{other}{match["part"]}"' for other in meant if other in letters]
    hint = f" (is {' or '.join(codes)} meant?)" if codes else f" ({', '.join(letters)} do)"
    return f'"{letter}" does not mark the point in {kind.article} {kind.name}{hint}'
