"""The plain words in front of people, and how well a value is known in them."""

from __future__ import annotations

from collections.abc import Iterable

from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import FindingKind
from ohmbook.units.show import show_percent, show_spread

HEADINGS: dict[FindingKind, str] = {
    "slip": "Probably a slip",
    "two answers": "Two answers fit",
    "sketch doubt": "Is the sketch right?",
    "strained": "Readings that fit badly",
    "not determined": "What these readings cannot tell",
    "marking": "Markings",
    "limit": "How far these results go",
    "assumption": "Taken for granted",
    "caution": "Take care",
}
"""Every kind of finding in plain words, the most urgent first."""

MAIN = {"inductance", "capacitance"}
WITHIN = "Each ± is half of a 95 % interval."
"""The one measure of how well anything is known."""


def quantity_words(quantity: str, *, alone: bool) -> str:
    """A quantity in words: nothing where it is all that a thing has, else what it is of it.

    Args:
        quantity: "inductance", "capacitance" or "resistance".
        alone: whether it is the thing's main quantity.
    """
    if alone or quantity in MAIN:
        return ""
    return "in series"


def is_main(estimate: Estimate, others: Iterable[Estimate]) -> bool:
    """Whether an estimate is its part's main one: an inductance or capacitance, else the only."""
    return estimate.quantity in MAIN or not any(
        other.name == estimate.name and other.quantity in MAIN for other in others
    )


def how_well(estimate: Estimate) -> str:
    """How well a value is known: "±2.4 %", or "factor 4"."""
    if estimate.low >= estimate.high:
        return "exact"
    return show_spread(estimate.value, estimate.low, estimate.high)


def percent(share: float) -> str:
    """A share as a percentage of two digits."""
    return show_percent(share)


def chance(probability: float) -> str:
    """A probability as a percentage, without false certainty at either end."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else percent(probability)


def decibels(value: float) -> str:
    """Decibels to two places, as far as any ear or bench goes; never "-0.00"."""
    return f"{round(value, 2) + 0.0:.2f}"


def listed(names: Iterable[str], last: str = "and") -> str:
    """Names in a row: "L1, C1 and R1"."""
    every = list(names)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"
