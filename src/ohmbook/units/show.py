"""Values as people see them: rounded once, decimally, with the prefix the bench uses.

    show(8.2e-4, "H", 1.2e-5)                      0.820(12) mH
    show_interval(8.2e-4, 7.97e-4, 8.44e-4, "H")   0.820 mH (0.797 to 0.844)
    show_plain(8.2e-4, "H")                        0.820 mH

A standard uncertainty stands in brackets, in the last digits or, where it reaches past the
decimal point, in the unit: 12.3(1.4) (JCGM 100:2008 7.2.2). `±` is not used for it, because
everywhere else `±` states limits. What is shown can be read back with `parse_quantity`.

Rounding is to nearest, halves to even (ISO 80000-1:2009, B.3, rule A), of the shortest decimal
that stands for the float; the uncertainty gets two digits and the value as many decimals (JCGM
100:2008 7.2.6). The prefix is chosen after rounding, so that 0.09996 mH to three digits is
0.100 mH and not 100 µH. What is not finite is told as "not known".
"""

from __future__ import annotations

import math
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from ohmbook.errors import CallError
from ohmbook.units.prefix import Prefix, prefix_of
from ohmbook.units.quantity import Convention, Unit
from ohmbook.units.rounding import ENOUGH, decimal_of, round_to, significant, step_of

NOT_KNOWN = "not known"
_DIGITS_OF_U = 2
_DIGITS_OF_EXACT = 6  # more than any bench resolves; enough to hide the noise of floats
_NOISE = Decimal("1e-12")  # an uncertainty below this share of the value is rounding of floats
_LEAST_PERCENT = 1e-4
_FROM_HERE_A_FACTOR = 3.0
_COVERAGE = Decimal("1.96")  # half a 95 % interval, in standard uncertainties


class ShownInterval(NamedTuple):
    """The texts of a value and its interval, with one unit for all three."""

    value: str
    low: str
    high: str
    unit: str


def show(
    value: float, unit: Unit, u: float | None = None, convention: Convention | None = None
) -> str:
    """A value with its standard uncertainty, if it has one: "0.820(12) mH".

    Args:
        value: SI, unscaled.
        unit: its SI unit.
        u: standard uncertainty, SI; 0 or None shows the value as exact ("0.82 mH").
        convention: for volts.

    Raises:
        CallError: `u` is negative.
    """
    return _joined(*split(value, unit, u, convention))


def split(
    value: float, unit: Unit, u: float | None = None, convention: Convention | None = None
) -> tuple[str, str]:
    """The same in two columns of a table: ("0.820(12)", "mH").

    Raises:
        CallError: `u` is negative.
    """
    if not (math.isfinite(value) and math.isfinite(u or 0.0)):
        return NOT_KNOWN, ""
    number, spread = decimal_of(value), _spread(u or 0.0)
    if spread <= _NOISE * abs(number):
        return _exact(number, unit, convention)
    step = step_of(spread, _DIGITS_OF_U)
    number, spread = round_to(number, step), round_to(spread, step)
    prefix = prefix_of(max(abs(number), spread), unit, convention)
    text = f"{_digits(number, prefix)}({_bracketed(spread, step, prefix)}){prefix.power_text}"
    return text, prefix.text


@lru_cache(maxsize=4096, typed=True)
def show_plain(
    value: float, unit: Unit, digits: int = 3, convention: Convention | None = None
) -> str:
    """A value to so many significant digits, without its uncertainty: "0.820 mH"."""
    if not math.isfinite(value):
        return NOT_KNOWN
    return _joined(*_plain(value, unit, digits, convention))


def show_interval(
    value: float,
    low: float,
    high: float,
    unit: Unit,
    u: float | None = None,
    convention: Convention | None = None,
) -> str:
    """A value with its interval, sharing prefix and decimals: "0.820 mH (0.797 to 0.844)".

    Args:
        value: SI, unscaled.
        low: lower end, SI.
        high: upper end, SI.
        unit: SI unit of all three.
        u: standard uncertainty, for the number of decimals; from the interval's width (taken as
            95 %) where it is not given.
        convention: for volts.

    Raises:
        CallError: the ends are the wrong way round, or `u` is negative.
    """
    shown = split_interval(value, low, high, unit, u, convention)
    if shown.value == NOT_KNOWN:
        return NOT_KNOWN
    ends = "interval not known" if shown.low == NOT_KNOWN else f"{shown.low} to {shown.high}"
    return f"{_joined(shown.value, shown.unit)} ({ends})"


def split_interval(
    value: float,
    low: float,
    high: float,
    unit: Unit,
    u: float | None = None,
    convention: Convention | None = None,
) -> ShownInterval:
    """The same in columns of a table.

    An interval that spans decades, so that shared decimals would leave its lower end without two
    digits, has two digits for each number instead: 0.55 (0.020 to 15).

    Raises:
        CallError: the ends are the wrong way round, or `u` is negative.
    """
    if not math.isfinite(value):
        return ShownInterval(NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, "")
    if not all(map(math.isfinite, (low, high, u or 0.0))):
        text, unit_text = _plain(value, unit, 3, convention)
        return ShownInterval(text, NOT_KNOWN, NOT_KNOWN, unit_text)
    if low > high:
        raise CallError(f"an interval from {low} to {high} is the wrong way round")
    numbers = tuple(map(decimal_of, (value, low, high)))
    spread = _spread(u or 0.0) or (numbers[2] - numbers[1]) / (2 * _COVERAGE)
    rounded = _shared(numbers, spread)
    prefix = prefix_of(max(abs(rounded[0]), significant(spread, 2)), unit, convention)
    shown, shown_low, shown_high = (_in(number, prefix) for number in rounded)
    return ShownInterval(shown, shown_low, shown_high, prefix.text)


def show_percent(share: float) -> str:
    """A share as a percentage of two digits; below 0.01 % in parts per million.

    Args:
        share: relative, of either sign.
    """
    if 0.0 < abs(share) < _LEAST_PERCENT:
        return f"{show_plain(share * 1e6, '1', 2)} ppm"
    return f"{show_plain(share * 100.0, '1', 2)} %"


def show_spread(value: float, low: float, high: float) -> str:
    """How well a value is known, in the one measure that people are shown: half of its interval
    as a percentage of it, "±2.4 %"; from a ratio of 3 between the ends on, "factor 4.0".

    Args:
        value: within the interval.
        low, high: the interval's ends, in the same unit.
    """
    if low <= 0.0:
        return "unknown"
    if high / low >= _FROM_HERE_A_FACTOR:
        return f"factor {show_plain(math.sqrt(high / low), '1', 2)}"
    return f"±{show_percent((high - low) / 2.0 / value)}"


def _shared(numbers: tuple[Decimal, ...], spread: Decimal) -> tuple[Decimal, ...]:
    """Value, low and high, rounded alike."""
    if spread <= _NOISE * abs(numbers[0]):
        return tuple(_trimmed(number) for number in numbers)
    step = step_of(spread, _DIGITS_OF_U)
    one_sign = min(numbers) > 0 or max(numbers) < 0
    if one_sign and min(map(abs, numbers)) < Decimal(10).scaleb(step):
        return tuple(significant(number, _DIGITS_OF_U) for number in numbers)
    return tuple(round_to(number, step) for number in numbers)


def _joined(text: str, unit_text: str) -> str:
    return f"{text}{unit_text}" if unit_text in {"", "°"} else f"{text} {unit_text}"


def _plain(value: float, unit: Unit, digits: int, convention: Convention | None) -> tuple[str, str]:
    number = significant(decimal_of(value), digits)
    prefix = prefix_of(abs(number), unit, convention)
    return _in(number, prefix), prefix.text


def _exact(number: Decimal, unit: Unit, convention: Convention | None) -> tuple[str, str]:
    trimmed = _trimmed(number)
    prefix = prefix_of(abs(trimmed), unit, convention)
    return _in(trimmed, prefix), prefix.text


def _spread(u: float) -> Decimal:
    if u < 0:
        raise CallError(f"a standard uncertainty cannot be negative: {u}")
    return decimal_of(u)


def _trimmed(number: Decimal) -> Decimal:
    return significant(number, _DIGITS_OF_EXACT).normalize()


def _digits(number: Decimal, prefix: Prefix) -> str:
    return format(number.scaleb(-prefix.power, ENOUGH), "f")


def _in(number: Decimal, prefix: Prefix) -> str:
    return _digits(number, prefix) + prefix.power_text


def _bracketed(spread: Decimal, step: int, prefix: Prefix) -> str:
    """The digits of an uncertainty in brackets, with a point where it reaches past the point."""
    scaled = spread.scaleb(-prefix.power, ENOUGH)
    if scaled >= 1:
        return format(scaled, "f")
    return str(int(scaled.scaleb(prefix.power - step, ENOUGH)))
