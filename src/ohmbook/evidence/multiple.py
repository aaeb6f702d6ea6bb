"""Many comparisons at once: claims that keep their word together."""

from __future__ import annotations

from collections.abc import Sequence
from math import erfc, sqrt


def two_sided(z: float) -> float:
    """The probability of a normal deviate at least as far from zero."""
    return erfc(abs(z) / sqrt(2.0))


def holm(p_values: Sequence[float]) -> tuple[float, ...]:
    """Adjusted p-values: claiming those below a level errs at all at most that often.

    Holds however the comparisons depend on each other (Holm 1979, Scandinavian Journal of
    Statistics 6, 65).

    Args:
        p_values: one for each comparison.

    Returns:
        In the same order, each at least what it was.
    """
    order = sorted(range(len(p_values)), key=lambda k: p_values[k])
    adjusted, floor = [0.0] * len(p_values), 0.0
    for rank, k in enumerate(order):
        floor = max(floor, min(1.0, (len(p_values) - rank) * p_values[k]))
        adjusted[k] = floor
    return tuple(adjusted)


def even_chance(comparisons: int) -> float:
    """The probability, before any reading, that one of several things differs, such that none
    differs as likely as any does (Westfall, Johnson, Utts 1997, Biometrika 84, 419).

    Args:
        comparisons: how many things.
    """
    return 1.0 - float(0.5 ** (1.0 / max(comparisons, 1)))
