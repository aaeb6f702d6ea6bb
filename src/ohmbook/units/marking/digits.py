"""Digits with no unit: digit codes, plain numbers, and numbers that lost their decimal point.

Three digits are two figures and a power of ten, in pF on capacitors, µH on coils and ohm on
resistors; a last 8 or 9 on a capacitor is x 0.01 or x 0.1 (from memory). Four digits are three
figures and a power of ten. How weighty each is, and all about plain numbers: common practice, no
source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ohmbook.units.marking.meaning import KINDS, PartKindName
from ohmbook.units.marking.values import Value, label
from ohmbook.units.marking.weights import (
    FOUR_DIGITS,
    LEADING_ZERO,
    LOST_POINT,
    NEEDLESS_DECIMALS,
    NOT_A_WHOLE,
    PLAIN,
    ROUND_THOUSANDS,
    THOUSANDS,
    THREE_DIGITS,
    Factor,
    Plain,
)
from ohmbook.units.number import Written

NUMBER = r"(?:[0-9]{1,6}(?:[.,][0-9]{1,6})?|(?<![^\s])[.,][0-9]{1,6})(?![0-9])(?![.,][0-9])"

_CODE_POWER: dict[PartKindName, int] = {"inductor": -6, "capacitor": -12, "resistor": 0}
_BARE_POWER: dict[PartKindName, int] = {"inductor": -3, "capacitor": -6, "resistor": 0}
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_LARGEST_CODE_DIGIT = 7
_CAPACITOR_BELOW_ONE = {8: -2, 9: -1}
_FEWEST, _MOST = 2, 3  # digits among which a point may have vanished


def read_bare(text: str) -> tuple[Value, ...]:
    """Every way to read a number that stands without a unit, for every kind of part.

    Args:
        text: digits with at most one point or comma; zero has no reading.
    """
    if is_zero(text):
        return ()
    return (*_codes(text), *_plain(text), *_lost_point(text))


def is_zero(text: str) -> bool:
    """Whether a number as written is 0."""
    return not text.strip("0.,")


def numbers(text: str) -> Iterator[tuple[Written, tuple[Factor, ...]]]:
    """The number as written with point or comma, and again where a comma may group thousands.

    Args:
        text: digits with at most one point or comma.

    Yields:
        The number, and what speaks for or against reading it so.
    """
    digits = text.replace(",", ".").lstrip("0")
    decimal = Written(f"0{digits}" if digits.startswith(".") else digits)
    if not _THOUSANDS.fullmatch(text):
        yield decimal, (NOT_A_WHOLE,) if text.isdecimal() and text[0] == "0" else ()
        return
    ends_in_zero = text.endswith("0")
    yield decimal, (NEEDLESS_DECIMALS,) if ends_in_zero else ()
    yield Written(text.replace(",", "")), (ROUND_THOUSANDS if ends_in_zero else THOUSANDS,)


def _codes(text: str) -> Iterator[Value]:
    if not text.isdecimal() or text[0] == "0" or len(text) not in (3, 4):
        return
    weights = THREE_DIGITS if len(text) == 3 else FOUR_DIGITS
    for kind in KINDS:
        power = _code_power(kind, int(text[-1]))
        if power is not None:
            number = Written(text[:-1], power + _CODE_POWER[kind])
            count = "three" if len(text) == 3 else "four"
            unit = label(kind, _CODE_POWER[kind])
            how = f"{count} digits: {text[:-1]} x 10^{power} {unit}"
            factor = Factor(weights[kind])
            yield Value(kind, number, "code", how, (factor,), figures=len(text) - 1)


def _code_power(kind: PartKindName, digit: int) -> int | None:
    if kind == "capacitor" and digit in _CAPACITOR_BELOW_ONE:
        return _CAPACITOR_BELOW_ONE[digit]
    return digit if digit <= _LARGEST_CODE_DIGIT else None


def _plain(text: str) -> Iterator[Value]:
    for plain in PLAIN:
        usual = Factor(_plain_weight(plain, text), plain.why)
        unit = label(plain.kind, plain.power)
        for number, factors in numbers(text):
            how = f"a plain number in {unit}: {number.digits} {unit}"
            scaled = number.times_ten_to(plain.power)
            yield Value(plain.kind, scaled, "digits", how, (usual, *factors))


def _plain_weight(plain: Plain, text: str) -> float:
    if not text.isdecimal():
        return plain.decimal
    by_length = {1: plain.short, 2: plain.short, 3: plain.three}
    return by_length.get(len(text), plain.long)


def _lost_point(text: str) -> Iterator[Value]:
    if not text.isdecimal() or not _FEWEST <= len(text) <= _MOST:
        return
    places, factor = _places(text)
    for kind, power in _BARE_POWER.items():
        for place in places:
            number = Written(f"{text[:place] or '0'}.{text[place:]}", power)
            how = f"a plain number that lost its point: {number.digits} {label(kind, power)}"
            yield Value(kind, number, "digits", how, (factor,))


def _places(text: str) -> tuple[range, Factor]:
    """Before which digits the point may have stood, and how that weighs."""
    if text[0] == "0":
        return range(1, 2), LEADING_ZERO
    return range(0 if len(text) == _FEWEST else 1, len(text)), LOST_POINT
