"""A decimal number exactly as it is written, with a point or a comma.

A comma is a decimal comma where it can mean nothing else. "1,234" can be 1.234 or 1234, so it is
refused; "0,438" and "1234,5" cannot, because grouped thousands neither begin with 0 nor with four
digits. Grouping is not read at all. A power of ten is kept as a whole number beside the digits,
so that the float is the nearest one to what was written, with no product to round.
"""

from __future__ import annotations

import math
import re
import sys
from dataclasses import dataclass, replace

DIGITS = r"[.,]?[0-9][0-9.,]*"  # as patterns: unsigned, with whatever points and commas
NUMBER = rf"{DIGITS}(?:[eE][+-]?[0-9]+)?"
_NUMBER = re.compile(rf"(?P<digits>{DIGITS})(?:[eE](?P<power>[+-]?[0-9]+))?")
_LARGEST_POWER = 400  # beyond every float; larger ones need not be worked out


class Refused(Exception):  # noqa: N818  # a clause on its way to a QuantityError, never seen alone
    """Why a piece of text is not read: a short clause.

    `parse` turns it into a QuantityError with the whole text and what was expected.
    """


@dataclass(frozen=True, slots=True)
class Written:
    """A number as written: `digits` with a decimal point at most, times ten to `power`."""

    digits: str
    power: int = 0

    @property
    def decimals(self) -> int:
        """How many digits stand behind the decimal point."""
        return len(self.digits.partition(".")[2])

    def times_ten_to(self, power: int) -> Written:
        """The same digits with another unit prefix."""
        return replace(self, power=self.power + power)

    @property
    def value(self) -> float:
        """The nearest float.

        Raises:
            Refused: it is too large or too small for one.
        """
        number = float(f"{self.digits}e{self.power}")
        if math.isinf(number):
            raise Refused("this number is too large to work with")
        if number < sys.float_info.min and self.digits.strip("0."):
            raise Refused("this number is too small to be told from zero")
        return number

    @property
    def step(self) -> float:
        """One count of the last written digit."""
        return float(f"1e{self.power - self.decimals}")


def read_number(text: str) -> Written:
    """Read an unsigned number such as "4.7", "4,7", ".35" or "5.6e3".

    Raises:
        Refused: it is no number, or it can mean two.
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise Refused(f'"{text}" is not a number')
    return Written(_with_point(match["digits"]), read_power(match["power"]))


def read_power(text: str | None) -> int:
    """The exponent of a number, 0 where there is none.

    Raises:
        Refused: no float reaches that far.
    """
    power = int(text[:8]) if text else 0
    if abs(power) > _LARGEST_POWER:
        size = "large to work with" if power > 0 else "small to be told from zero"
        raise Refused(f"this number is too {size}")
    return power


def _with_point(text: str) -> str:
    if text.count(".") and text.count(","):
        raise Refused("point and comma both stand in the number, and thousands are not grouped")
    if text.count(".") + text.count(",") > 1:
        raise Refused("the number has more than one point or comma, and thousands are not grouped")
    if text[-1] in ".,":
        raise Refused(f'no digit follows the "{text[-1]}"')
    whole, comma, part = text.partition(",")
    if comma and len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
        raise Refused(
            f"the comma can be read in two ways, as {whole}.{part} or as {whole}{part}: "
            "write the one that is meant"
        )
    return text.replace(",", ".")
