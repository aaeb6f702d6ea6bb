"""The first half of a quantity: sign, number, an uncertainty in brackets, unit.

Reference: JCGM 100:2008 7.2.2 (a standard uncertainty in brackets, in the last digits or, with a
decimal point, in the unit of the result).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ohmbook.units.number import DIGITS, Refused, Written, read_number, read_power
from ohmbook.units.quantity import Unit
from ohmbook.units.rkm import read_rkm
from ohmbook.units.spelling import KINDS, Spelled
from ohmbook.units.unitword import read_unit

_BODY = re.compile(
    rf"(?P<digits>{DIGITS})(?: ?\((?P<u>[^()]*)\))?(?P<power>[eE][+-]?[0-9]+)? ?(?P<rest>.*)"
)


@dataclass(frozen=True, slots=True)
class Body:
    """Sign, number, unit and standard uncertainty, as they were read.

    Args:
        number: its unit prefix taken in.
        spelled: what the unit word said.
        negative: whether a minus stands before it.
        u: standard uncertainty in brackets, SI, or None.
        word: the unit word as written; empty where there was none.
    """

    number: Written
    spelled: Spelled
    negative: bool = False
    u: float | None = None
    word: str = ""

    @property
    def value(self) -> float:
        """SI, with its sign."""
        size = self.number.value
        return -size if self.negative and size else size


def read_body(text: str, unit: Unit) -> Body:
    """Read sign, number, uncertainty in brackets and unit, and check that the sign makes sense.

    Args:
        text: tidied.
        unit: the unit that it must have.

    Raises:
        Refused: it is not such a quantity, or it can mean two.
    """
    body = _read(text, unit)
    _check_sign(body, unit)
    return body


def _read(text: str, unit: Unit) -> Body:
    sign, plain = ("", text) if text[:1] not in "+-" else (text[:1], text[1:].lstrip())
    coded = read_rkm(plain, unit)
    if coded:
        if coded.rest:
            raise Refused(_stray(f" {coded.rest}"))
        return Body(coded.number, Spelled(0), sign == "-")
    match = _BODY.fullmatch(plain)
    if match is None:
        raise Refused(_no_number(plain))
    number = read_number(match["digits"]).times_ten_to(read_power((match["power"] or "")[1:]))
    spelled = _unit(match["rest"], unit)
    number = number.times_ten_to(spelled.power)
    u = None if match["u"] is None else _bracketed(match["u"].strip(), number)
    return Body(number, spelled, sign == "-", u, match["rest"])


def _unit(rest: str, unit: Unit) -> Spelled:
    if not rest:
        if unit == "1":
            return Spelled(0)
        raise Refused("the unit is missing")
    if not (rest[0].isalpha() or rest[0] == "%") or re.search(r"[(0-9]", rest):
        raise Refused(_stray(rest))
    return read_unit(rest, unit)


def _no_number(text: str) -> str:
    word = re.match(r"(nan|inf|infinity)\b", text, re.IGNORECASE)
    if word:
        return f'"{word[0]}" is no value that a bench can give'
    return "this has no number" if text else "the number is missing"


def _stray(rest: str) -> str:
    """What to say about text behind a number that is no unit word."""
    if rest[0].isdigit() or rest[0] in "'_’":
        return "digits stand in groups, and thousands are not grouped"
    if "(" in rest:
        return 'an uncertainty in brackets stands right behind the digits, as in "0.438(12) mH"'
    if re.search(r" ?[+-] ?[0-9].*", rest):
        return "limits that differ above and below are not read: write one ±"
    behind = re.search(r"[.,]?[0-9].*", rest)
    if behind and behind.start() and rest[behind.start() - 1] == " ":
        return f'nothing says what "{behind[0]}" is (is "± {behind[0]}" meant?)'
    return f'"{rest.strip()}" is not read'


def _bracketed(text: str, number: Written) -> float:
    """A standard uncertainty in brackets, SI (GUM 7.2.2, second and third form)."""
    if not re.fullmatch(DIGITS, text):
        raise Refused(
            f'"({text})" is not read: in brackets stands the standard uncertainty, in the last '
            'digits or with a decimal point, as in "0.438(12) mH" or "0.438(0.012) mH"'
        )
    size = read_number(text)
    in_last_digits = not size.decimals
    power = number.power - (number.decimals if in_last_digits else 0)
    return Written(size.digits, power).value


def _check_sign(body: Body, unit: Unit) -> None:
    kind = KINDS[unit]
    if kind.never == "zero" and not body.value:
        raise Refused(f"{kind.article} {kind.name} of zero cannot be read")
    if body.value >= 0:
        return
    if kind.never:
        raise Refused(f"{kind.article} {kind.name} cannot be negative")
    if body.spelled.convention:
        raise Refused("an amplitude cannot be negative")
