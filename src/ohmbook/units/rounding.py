"""Rounding, once and decimally: to nearest, halves to even.

Reference: ISO 80000-1:2009, B.3, rule A.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal

ENOUGH = Context(prec=700)  # every float in any prefix, without a rounding of its own


def decimal_of(number: float) -> Decimal:
    """The shortest decimal that stands for this float."""
    return Decimal(repr(float(number)))


def step_of(spread: Decimal, digits: int) -> int:
    """The power of ten of the last of so many digits, after rounding to them."""
    return significant(spread, digits).adjusted() - digits + 1


def significant(number: Decimal, digits: int) -> Decimal:
    """A number to so many significant digits, its zeros kept."""
    rounded = Context(prec=digits, rounding=ROUND_HALF_EVEN).plus(number)
    return round_to(rounded, rounded.adjusted() - digits + 1) if rounded else Decimal(0)


def round_to(number: Decimal, step: int) -> Decimal:
    """A number to the power of ten `step`; never "-0"."""
    rounded = number.quantize(Decimal((0, (1,), step)), ROUND_HALF_EVEN, ENOUGH)
    return rounded if rounded else abs(rounded)
