"""Tail probabilities and quantiles that every settle needs, from the standard library alone.

A settle of one part is over in a fraction of a second; importing a library of special functions
for three closed forms would be a good part of it. The tests hold these against that library.
"""

from __future__ import annotations

from math import erfc, exp, lgamma, log, sqrt
from statistics import NormalDist

_NORMAL = NormalDist()


def normal_below(z: float) -> float:
    """The probability that a standard normal deviate is below z."""
    return 0.5 * erfc(-z / sqrt(2.0))


def normal_quantile(probability: float) -> float:
    """The z below which a standard normal deviate is with a probability (0 to 1, exclusive)."""
    return _NORMAL.inv_cdf(probability)


def chi_squared_above(degrees: int, chi_squared: float) -> float:
    """The probability that chi-squared with k >= 1 degrees of freedom is above a value.

    Finite sums for whole degrees of freedom. Reference: Abramowitz and Stegun 1964, 26.4.4 (odd)
    and 26.4.5 (even).
    """
    if chi_squared <= 0.0:
        return 1.0
    half = chi_squared / 2.0
    odd = degrees % 2
    total = erfc(sqrt(half)) if odd else 0.0
    first = 0.5 if odd else 0.0
    terms = range(degrees // 2)
    # term j is half^(j + first) e^-half / Gamma(j + first + 1), by logarithms so as not to overflow
    total += sum(exp((j + first) * log(half) - half - lgamma(j + first + 1.0)) for j in terms)
    return min(total, 1.0)
