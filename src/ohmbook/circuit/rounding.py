"""How far rounding moves an answer, in the root of the mean square: theory, nothing fitted.

One rounding to nearest of a number whose leading digits are spread as they are in long products
(evenly in the logarithm) leaves an error that is even between -1/2 and 1/2 in the last place;
against the number itself its mean square is (1/3) (3/4) / (2 ln 2) = 0.180 units of rounding
squared, a unit being 2^-53. Taken as independent, such errors add up by squares, each carried to
the answer by the slope of the reverse sweep (N. J. Higham, Accuracy and Stability of Numerical
Algorithms, 2nd ed. 2002, 2.8 and 3.5-3.6, for the model, the statistics, and complex arithmetic):

    a + b       one rounding of each part
    a * b       four products and two sums of them: twice that, whatever cancels in the sums; once
                where a or b is real or imaginary, since there are no sums then
    n / d       the quotient by a real ratio (R. L. Smith, 1962): about four times that

A sum is off by no more than its smaller term. A product with a power of two is exact.
"""

from __future__ import annotations

from functools import lru_cache
from math import log

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.plan import Plan
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.values import Reals

UNIT = 2.0**-53
"""Half of the distance from 1 to the next float."""

ONCE = 0.25 / (2.0 * log(2.0))
"""The mean square of one rounding, in units squared."""

QUOTIENT = 4.0 * ONCE
"""The mean square of what the last division adds, in units squared."""


@lru_cache(maxsize=512)
def _products(plan: Plan) -> NDArray[np.intp]:
    """The slots of the products that are rounded, and of their factors, shape (3, products)."""
    first = plan.leaves + 1
    scales = {first + k for k, one in enumerate(plan.operations) if one[0] == "scale"}
    found = [
        (first + k, left, right)
        for k, (code, left, right) in enumerate(plan.operations)
        if code == "*" and not scales.intersection((left, right))
    ]
    return np.array(found, dtype=np.intp).reshape(-1, 3).T


def _own(plan: Plan, kept: Complexes) -> Reals:
    """The root mean square of what each operation rounds off, in units, shape (slots, points)."""
    real, imag = kept.real, kept.imag
    size, full = np.sqrt(real * real + imag * imag), (real != 0.0) & (imag != 0.0)
    error = np.zeros_like(size)
    result, left, right = _products(plan)
    both = full[left] & full[right]
    error[result] = np.where(both, (2.0 * ONCE) ** 0.5, ONCE**0.5) * size[result]
    total, left, right = plan.sums
    smaller = np.minimum(size[left], size[right])
    error[total] = np.minimum(ONCE**0.5 * size[total], smaller / UNIT)
    return error


def growth(plan: Plan, slope: Complexes, kept: Complexes, values: Complexes) -> Reals:
    """What all the operations of a plan, the last divisions too, do to its outputs.

    Args:
        plan: the plan.
        slope: of some outputs by every slot, shape (slots, outputs, points).
        kept: every slot, shape (slots, points).
        values: the same outputs, shape (outputs, points).

    Returns:
        Root mean square, in units of rounding (not relative), shape (outputs, points); not finite
        where the plan has no answer.
    """
    with np.errstate(all="ignore"):
        error = _own(plan, kept)
        square = np.square(slope.real * error[:, None]) + np.square(slope.imag * error[:, None])
        last = np.square(values.real) + np.square(values.imag)
        return np.asarray(np.sqrt(square.sum(axis=0) + QUOTIENT * last))


def amplification(plan: Plan, kept: Complexes) -> Reals:
    """No answer's relative error can be more than this times the roundings behind it.

    A product adds the relative errors of its factors; a sum multiplies the larger of its terms'
    by (|a| + |b|)/|a + b|. Taken over all sums it is cheap, and often far too much.

    Returns:
        Shape (points,); infinite where a sum cancels altogether.
    """
    size = np.abs(kept.real) + np.abs(kept.imag)
    total, left, right = plan.sums
    with np.errstate(all="ignore"):
        found = np.prod((size[left] + size[right]) / size[total], axis=0)
    return np.where(np.isfinite(found), found, np.inf)
