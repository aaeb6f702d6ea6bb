"""Quantities and accuracies as people write them; everything else is refused, saying why.

    4k7 · 4.7 kohm · 0.82 mH ± 5 % · 8.2 uF +- 0.5 uF · 0.4382(12) mH · 0.438(0.012) mH
    (0.82 ± 0.02) mH · 0.82 mH ± 0.3 % (k=2) · 4.12 Vpp ± 2 digits · 0.34 Vpp @ 50 mV/div

References: IEC 60062 (letter codes); JCGM 100:2008 7.2.2 (a standard uncertainty in brackets, in
the last digits or, with a decimal point, in the unit of the result), 7.2.4 (`± U`, k), 4.3.7
(`± a` as limits).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from ohmbook.errors import QuantityError
from ohmbook.units.accuracy import Stated, read_terms
from ohmbook.units.body import Body, read_body
from ohmbook.units.number import NUMBER, Refused, read_number
from ohmbook.units.quantity import Accuracy, Quantity, Spread, Unit
from ohmbook.units.spelling import KINDS, tidy
from ohmbook.units.unitword import read_unit

_LONGEST = 120
_EXPECTED_ACCURACY: Mapping[Unit, str] = MappingProxyType(
    {
        "ohm": '"0.8 % + 2 digits" or "0.5 % + 0.2 ohm"',
        "H": '"5 %" or "1 % + 2 digits"',
        "F": '"5 %" or "1 % + 2 digits"',
        "Hz": '"50 ppm" or "0.1 %"',
        "V": '"0.5 % + 20 mV" or "0.04 div"',
        "A": '"1 % + 2 digits"',
        "W": '"5 %"',
        "s": '"50 ppm"',
        "deg": '"2 deg"',
        "1": '"0.5 %" or "50 ppm"',
    }
)
_SHARED = re.compile(rf"\( ?(?P<a>[+-]? ?{NUMBER}) ?± ?(?P<b>{NUMBER}) ?\) ?(?P<word>.*)")
_COVERAGE = re.compile(r"(?P<size>.*?) ?\( ?k ?= ?(?P<k>[^()]*)\)")
_RANGE = re.compile(rf"(?P<number>{NUMBER}) ?(?P<word>[umk]?V) ?/ ?div", re.IGNORECASE)


def parse_quantity(text: object, unit: Unit) -> Quantity:
    """Read one quantity.

    Args:
        text: as written; anything but text is refused.
        unit: the SI unit that it must have; "1" for a plain number or a share.

    Returns:
        Its value in SI, its spread where one is stated, and how it was written.

    Raises:
        QuantityError: it is not such a quantity, or it can mean two.
    """
    return _parsed(text, unit) if isinstance(text, str) else _read_quantity(text, unit)


def _read_quantity(text: object, unit: Unit) -> Quantity:
    try:
        return replace(_quantity(_text(text), unit), text=str(text))
    except Refused as refused:
        raise QuantityError(_shown(text), KINDS[unit].expected, str(refused)) from None


@lru_cache(maxsize=4096)
def _parsed(text: str, unit: Unit) -> Quantity:
    """What is written is written again and again: a plan's blanks, a table's frequencies."""
    return _read_quantity(text, unit)


def parse_accuracy(text: object, unit: Unit) -> Accuracy:
    """Read how well an instrument reads, or how far something may move: limits.

    Args:
        text: as written; anything but text is refused.
        unit: the SI unit of absolute terms; "1" where only shares and digits can stand.

    Returns:
        The sum of its terms; absolute ones in SI.

    Raises:
        QuantityError: it is not an accuracy.
    """
    try:
        return _limits(_text(text), unit)
    except Refused as refused:
        expected = f"an accuracy such as {_EXPECTED_ACCURACY[unit]}"
        raise QuantityError(_shown(text), expected, str(refused)) from None


def _text(given: object) -> str:
    """The text, tidied.

    Raises:
        Refused: it is no text, or nothing that is worth reading.
    """
    if isinstance(given, bool):
        raise Refused("this is true or false, not a quantity")
    if isinstance(given, int | float):
        raise Refused("this is a number alone: write it as text, in quotes, with its unit")
    if not isinstance(given, str):
        raise Refused("this is not text: write the quantity in quotes, with its unit")
    if len(given) > _LONGEST:
        raise Refused("this is too long for a quantity")
    tidied = tidy(given)
    if not tidied:
        raise Refused("nothing is written here")
    if not tidied.isprintable():
        raise Refused("a character in it cannot be shown, let alone read")
    return tidied


def _shown(given: object) -> str:
    """What was given, short enough and safe to print in a message."""
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, float) or (isinstance(given, int) and abs(given) < 10**30):
        return str(given)
    if not isinstance(given, str):
        return {"NoneType": "nothing", "int": "a number"}.get(type(given).__name__) or (
            f"a {type(given).__name__}"
        )
    safe = "".join(letter if letter.isprintable() else "?" for letter in given[: _LONGEST // 2])
    return safe if len(given) <= _LONGEST // 2 else f"{safe}…"


def _quantity(text: str, unit: Unit) -> Quantity:
    rest, per_division = _range(text, unit)
    read, spread = _shared(rest, unit) or _separate(rest, unit)
    if spread and spread.accuracy.divisions and per_division is None:
        raise Refused('divisions need the range of the reading: add "@ 50 mV/div" or the like')
    quantity = Quantity(
        value=read.value,
        unit=unit,
        text=text,
        spread=spread,
        convention=read.spelled.convention,
        per_division=per_division,
        last_digit=read.number.step,
    )
    if not math.isfinite(quantity.u):
        raise Refused("the spread is too large to work with")
    return quantity


def _limits(text: str, unit: Unit) -> Accuracy:
    if _COVERAGE.fullmatch(text):
        raise Refused("this is read as limits, so a coverage factor cannot stand with it")
    if "@" in text:
        raise Refused("the range stands with each reading, not with the accuracy")
    return read_terms(text.removeprefix("±").lstrip(), Stated(unit))


def _range(text: str, unit: Unit) -> tuple[str, float | None]:
    """Split off the range, "@ 50 mV/div", which stands last."""
    rest, at, scale = (part.strip() for part in text.partition("@"))
    if not at:
        return rest, None
    if unit != "V":
        raise Refused(f"a {KINDS[unit].name} has no range in V/div")
    if "±" in scale:
        raise Refused('the "±" stands before the "@", not behind it')
    match = _RANGE.fullmatch(scale)
    if match is None:
        raise Refused(f'"{scale}" is no range: write "@ 50 mV/div" or the like')
    number = read_number(match["number"]).times_ten_to(read_unit(match["word"], "V").power)
    if not number.value:
        raise Refused("a range of 0 V/div cannot be")
    return rest, number.value


def _shared(text: str, unit: Unit) -> tuple[Body, Spread] | None:
    """Read "(0.82 ± 0.02) mH", or None where it is not written so (GUM 7.2.4)."""
    match = _SHARED.match(text)
    if match is None:
        return None
    word, coverage = _coverage(match["word"])
    read = read_body(f"{match['a']} {word}", unit)
    size = read_number(match["b"]).times_ten_to(read.spelled.power)
    return read, _spread(Accuracy(absolute=size.value), coverage)


def _separate(text: str, unit: Unit) -> tuple[Body, Spread | None]:
    body, sign, stated = (part.strip() for part in text.partition("±"))
    if sign and unit != "1" and re.fullmatch(rf"[+-]? ?{NUMBER}", body):
        raise Refused(f'no unit stands before the ±: write "({body} ± …) {KINDS[unit].symbols[0]}"')
    read = read_body(body, unit)
    if not sign:
        u = read.u
        return read, None if u is None else Spread(Accuracy(absolute=u), "standard")
    if read.u is not None:
        raise Refused("an uncertainty in brackets and a ± cannot both stand")
    size, coverage = _coverage(stated)
    if unit == "1" and read.word and re.search("%|ppm", size):
        raise Refused('a % after the ± can be of 100 % or of the value: write "(12 ± 1) %"')
    about = Stated(unit, read.spelled.convention, plain=unit == "1" and not read.word)
    return read, _spread(read_terms(size, about), coverage)


def _spread(accuracy: Accuracy, coverage: float | None) -> Spread:
    if coverage is None:
        return Spread(accuracy)
    return Spread(accuracy, "expanded", coverage)


def _coverage(text: str) -> tuple[str, float | None]:
    """Split off "(k=2)"."""
    match = _COVERAGE.fullmatch(text)
    if match is None:
        return text, None
    coverage = read_number(match["k"].strip()).value
    if not coverage:
        raise Refused("a coverage factor of 0 cannot be")
    return match["size"], coverage
