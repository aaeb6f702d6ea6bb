"""Do the readings agree? One sentence."""

from __future__ import annotations

from ohmbook.documents.estimate import Consistency
from ohmbook.units.show import show_plain

_BADLY, _BARELY, _CLOSELY = 0.001, 0.05, 0.999
_NOTHING_CHECKED = 0.5
"""Degrees of freedom below which no reading checks another."""


def agreement_sentence(consistency: Consistency) -> str:
    """Whether the readings agree with each other within their stated errors, and how that is told.

    Args:
        consistency: chi-squared over the readings, its degrees of freedom, its p-value.
    """
    p = consistency.p_value
    if p is None or consistency.degrees_of_freedom < _NOTHING_CHECKED:
        return (
            "Do the readings agree? That can't be told: no reading here is checked by another. "
            "One more reading of the same part would."
        )
    return f"Do the readings agree? {_answer(p)} ({_figures(consistency, p)})"


def _answer(p: float) -> str:
    if p < _BADLY:
        return "No: they contradict each other by more than their stated errors allow."
    if p < _BARELY:
        return "Only just: errors as stated would seldom scatter them this far."
    if p > _CLOSELY:
        return "Yes, and more closely than the stated errors would let one expect."
    return "Yes, within their stated errors."


def _figures(consistency: Consistency, p: float) -> str:
    chi_squared = show_plain(consistency.chi_squared, "1", 2)
    freedom = f"{consistency.degrees_of_freedom:.1f}".removesuffix(".0")
    degrees = "degree" if freedom == "1" else "degrees"
    return f"chi-squared {chi_squared} with {freedom} {degrees} of freedom, p {_p_value(p)}"


def _p_value(p: float) -> str:
    if p < 0.0001:
        return "under 0.0001"
    return "over 0.99" if p > 0.99 else show_plain(p, "1", 2)
