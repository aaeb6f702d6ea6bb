"""What a number may have been before a slip of the pen: digits swapped, dropped, doubled, shifted.

Each gives (number, share): the share is how probable what stands there is, given that number and
that kind of slip (one place of several at which it might have happened).
"""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

Ways = list[tuple[str, float]]


def swapped(number: str) -> Ways:
    """Two neighbouring digits in each other's place."""
    places = _places(number)
    found: Ways = []
    for one, two in pairwise(places):
        if number[one] != number[two]:
            letters = list(number)
            letters[one], letters[two] = letters[two], letters[one]
            found.append(("".join(letters), 1.0 / (len(places) - 1)))
    return [way for way in found if _above_0(way[0])]


def dropped(number: str) -> Ways:
    """A digit was left out: every digit put in at every place."""
    places = _places(number)
    share = 1.0 / (len(places) + 1)
    found: dict[str, float] = {}
    for place in (*places, places[-1] + 1) if places else ():
        for digit in "0123456789":
            longer = number[:place] + digit + number[place:]
            if not (place == places[0] and digit == "0"):
                found[longer] = found.get(longer, 0.0) + share
    return list(found.items())


def doubled(number: str) -> Ways:
    """A digit was written twice: one of each pair taken out."""
    places = _places(number)
    found: dict[str, float] = {}
    for one, two in pairwise(places):
        if number[one] == number[two]:
            shorter = number[:two] + number[two + 1 :]
            if _above_0(shorter) and shorter[-1] not in ".,":
                found[shorter] = 1.0 / (len(places) - 1)
    return list(found.items())


def shifted(number: str, power: int) -> str:
    """The decimal point moved: times ten to a power, the same digits."""
    return format(Decimal(number.replace(",", ".")).scaleb(power), "f")


def times(number: str, factor: float) -> str:
    """A number times a factor, with two digits more than it had."""
    digits = max(len(_places(number)) + 2, 4)
    value = Decimal(f"{float(number.replace(',', '.')) * factor:.{digits}g}")
    return format(value, "f")


def _places(number: str) -> list[int]:
    """Where its digits stand, without those of a power of ten."""
    mantissa = number.lower().partition("e")[0]
    return [k for k, letter in enumerate(mantissa) if letter.isdigit()]


def _above_0(number: str) -> bool:
    try:
        return Decimal(number.replace(",", ".")) > 0
    except ArithmeticError:
        return False
