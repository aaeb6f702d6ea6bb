"""Resistances that are known well in sum, and each of them badly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import exp, log, sqrt

import numpy as np

from ohmbook.bench.estimates import NORMAL_95, Answer
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.units.show import show_interval, show_plain

BADLY = 0.05
"""Relative standard uncertainty of a resistor from which it is worth telling."""

BETTER = 3.0
"""How many times better the sum is known than the resistor."""


def only_in_sum(answer: Answer, estimates: Sequence[Estimate]) -> Iterator[Finding]:
    """Each resistor of which the readings tell little but the sum with what is in series."""
    parts = answer.compiled.sheet.parts
    ohms = [one for one in estimates if one.quantity == "resistance" and one.name in parts]
    for one in ohms:
        if MAIN_QUANTITY[parts[one.name].kind] != "resistance" or not one.determined:
            continue
        if one.standard_uncertainty < BADLY * one.value:
            continue
        others = [other for other in ohms if other.name != one.name]
        best = min(others, key=lambda other: _u_of_sum(answer, one, other), default=None)
        u = one.standard_uncertainty / one.value
        if best is not None and BETTER * _u_of_sum(answer, one, best) < u:
            yield _finding(answer, one, best)


def _finding(answer: Answer, one: Estimate, other: Estimate) -> Finding:
    total, u = one.value + other.value, _u_of_sum(answer, one, other)
    half = exp(NORMAL_95 * u)
    own = MAIN_QUANTITY[answer.compiled.sheet.parts[other.name].kind] != "resistance"
    name = f"{other.name}'s series resistance" if own else other.name
    return Finding(
        "not determined",
        f"{one.name} is known to within {show_plain(one.low, 'ohm', 2)} to "
        f"{show_plain(one.high, 'ohm', 2)} only: what the readings tell is {one.name} and {name} "
        f"in sum, {show_interval(total, total / half, total * half, 'ohm')}",
        parts=(one.name, other.name),
    )


def _u_of_sum(answer: Answer, one: Estimate, other: Estimate) -> float:
    """Relative standard uncertainty of a sum of two resistances."""
    posterior = answer.posterior
    ids: list[Id] = [(one.name, one.quantity), (other.name, other.quantity)]
    if not set(ids) <= set(posterior.ids):
        return log(10.0)
    values = np.array([one.value, other.value])
    row = values / values.sum() @ posterior.gain[[posterior.index(each) for each in ids]]
    return sqrt(float(row @ row))
