"""Weighing: a refit's evidence against numerical integration, and odds between hypotheses."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, pi, sqrt

import pytest
from scipy.integrate import quad

import ohmbook
from ohmbook.counsel.weigh import stretch, weigh
from ohmbook.documents.reading import Sheet
from ohmbook.units.parse import parse_quantity

TWO_READINGS = """
[instruments.tester]
kind = "tester"
[parts]
R1 = { kind = "resistor" }
[[readings]]
kind = "meter"
part = "R1"
resistance = "6.8 ohm ± 0.3 ohm (k=2)"
[[readings]]
kind = "meter"
part = "R1"
resistance = "6.9 ohm ± 0.4 ohm (k=2)"
"""


def _with(sheet: Sheet, number: int, text: str) -> Sheet:
    readings = list(sheet.readings)
    changed = {"resistance": parse_quantity(text, "ohm")}
    readings[number] = readings[number].model_copy(update=changed)
    return replace(sheet, readings=tuple(readings))


def _by_integration(read: tuple[float, float], u: tuple[float, float]) -> float:
    """ln of the readings' density, R integrated over what was believed before (its definition)."""

    def density(t: float) -> float:
        prior = exp(-0.5 * ((t - log(10.0)) / log(6.0)) ** 2) / (log(6.0) * sqrt(2 * pi))
        for y, s in zip(read, u, strict=True):
            prior *= exp(-0.5 * ((y - exp(t)) / s) ** 2) / (s * sqrt(2 * pi))
        return prior

    return log(quad(density, log(5.0), log(9.0), epsabs=0.0, epsrel=1e-10, points=[log(6.85)])[0])


def test_log_evidence_is_the_integral_over_what_was_believed() -> None:
    sheet = ohmbook.read_sheet(text=TWO_READINGS)
    settled = ohmbook.settle(sheet)
    found = weigh(sheet, settled.answer)
    assert found is not None
    expected = _by_integration((6.8, 6.9), (0.15, 0.2))
    # Laplace's approximation on a log scale at 2 %: its error is of the order of u^2
    assert found.log_evidence == pytest.approx(expected, abs=2e-3)


def test_a_changed_reading_is_refitted_and_its_odds_are_those_of_the_integrals() -> None:
    sheet = ohmbook.read_sheet(text=TWO_READINGS)
    settled = ohmbook.settle(sheet)
    other = weigh(_with(sheet, 1, "6.2 ohm ± 0.4 ohm (k=2)"), settled.answer)
    same = weigh(sheet, settled.answer)
    assert other is not None
    assert same is not None
    odds = same.log_evidence - other.log_evidence
    expected = _by_integration((6.8, 6.9), (0.15, 0.2)) - _by_integration((6.8, 6.2), (0.15, 0.2))
    assert odds == pytest.approx(expected, abs=2e-3)
    # chi-squared of two readings of one value, any textbook: (y1 - y2)^2 / (u1^2 + u2^2)
    assert other.chi_squared == pytest.approx(0.6**2 / (0.15**2 + 0.2**2), rel=1e-2)


def test_a_reading_left_out_leaves_the_other_alone() -> None:
    sheet = ohmbook.read_sheet(text=TWO_READINGS)
    settled = ohmbook.settle(sheet)
    label = settled.answer.compiled.labels[1]
    found = weigh(_with(sheet, 1, "690 ohm ± 0.4 ohm (k=2)"), settled.answer, aside=[label])
    assert found is not None
    assert found.values[("R1", "resistance")] == pytest.approx(6.8, rel=1e-3)
    assert found.aside == (label,)


def test_stretch_counts_the_width_of_the_rewritten_digits() -> None:
    sheet = ohmbook.read_sheet(text=TWO_READINGS)
    settled = ohmbook.settle(sheet)
    found = weigh(_with(sheet, 1, "6.9 kohm ± 0.4 ohm (k=2)"), settled.answer)
    assert found is not None
    assert stretch(settled.answer.compiled, found.compiled) == pytest.approx(log(1000.0))
