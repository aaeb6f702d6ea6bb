"""Markings decided by evidence: odds, calibration, several at once, and none that fits."""

from __future__ import annotations

import re

import numpy as np
import pytest

from ohmbook.bench.markings import consider, weigh
from ohmbook.documents.finding import Finding
from ohmbook.documents.part import Capacitor, Part
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from ohmbook.units.marking import believed, meanings

SHEET = """
sources.g = {{ resistance = "50 ohm ± 1 %" }}
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope" }}
parts.L = {{ kind = "inductor", marking = "{marking}" }}
[[readings]]
kind = "amplitude ratio"
part = "L"
half_of = "4 Vpp"
frequency = "{f} Hz"
"""


def told(henry: float, marking: str) -> Finding:
    f_hz = 50.0 / 3.0**0.5 / (2.0 * np.pi * henry)
    settled = settle(read_sheet(text=SHEET.format(marking=marking, f=f"{f_hz:.4g}")))
    return next(one for one in settled.findings if one.kind == "marking")


def test_the_odds_before_and_after_are_told_and_add_to_one() -> None:
    found = told(0.56e-3, "0.56")
    assert "0.560 mH" in found.message
    assert "with them" in found.message
    before = [one.before for one in found.explanations]
    after = [one.probability for one in found.explanations]
    assert all(one is not None for one in (*before, *after))
    assert found.explanations[0].probability == pytest.approx(1.0, abs=0.02)
    document = found.document()["explanations"][0]
    assert 0.0 < document["before"] < 1.0


def test_a_value_that_no_meaning_fits_is_told_with_how_far_it_is_off() -> None:
    found = told(1.06e-3, "0.56")
    assert "no meaning of it fits" in found.message
    assert "% above the nearest, 0.560 mH" in found.message
    other = found.explanations[-1]
    assert other.what.startswith("something else")
    assert other.probability is not None
    assert other.probability > 0.5


def test_a_value_well_off_its_marking_is_told_with_how_far() -> None:
    assert re.search(r"its value is 3[3-5] % above that", told(0.75e-3, "0.56").message)
    assert "its value is" not in told(0.56e-3, "0.56").message


def drawn(rng: np.random.Generator, part: Part, text: str, u: float) -> tuple[float, int, float]:
    """A meaning drawn as likely as it is said to be, a value under it, and one read with u."""
    every = meanings(text, "capacitor")
    chances = np.array([one.probability for one in every])
    k = int(rng.choice(len(every), p=chances / chances.sum()))
    belief = believed(every[k])
    return (
        float(rng.normal(belief.centre_log, max(belief.u_log, 0.05)) + rng.normal(0.0, u)),
        k,
        1.0,
    )


@pytest.mark.parametrize("text", ["104", "475", "22", "6.8"])
@pytest.mark.parametrize("u", [0.02, 0.5, 1.5])
def test_meanings_are_right_as_often_as_is_said(text: str, u: float) -> None:
    """Calibration: over many draws the mean probability given to the true meaning's class equals
    how often it is the true one (Brier's decomposition: reliability), whatever the spread."""
    rng = np.random.default_rng(5)
    part = Capacitor.model_validate({"kind": "capacitor", "marking": text})
    every = meanings(text, "capacitor")
    if len(every) < 2:
        pytest.skip(f'"{text}" has one meaning only')
    said, right = [], []
    for _ in range(400):
        t, k, _ = drawn(rng, part, text, u)
        weighed = weigh(part, t, u)
        total = sum(one.after for one in weighed)
        best = weighed[0]
        said.append(best.after / total)
        right.append(best.meaning == every[k])
    assert np.mean(said) == pytest.approx(np.mean(right), abs=0.05)


def _divided(f_khz: float) -> str:
    """What 4 Vpp behind 50 ohm shows at 10 ohm and 26.7 uF in series: voltage division."""
    z = 10.0 + 1.0 / (2j * np.pi * 1e3 * f_khz * 26.7e-6)
    return f"{f_khz:g} {4e3 * abs(z / (50 + z)):.4g} {4e3 * abs((z - 10.0) / (50 + z)):.4g}"


def test_two_markings_decide_each_other_where_only_a_sum_is_read() -> None:
    """Two capacitors side by side: the readings know their sum. Taken alone, a marking of several
    meanings stays open; once the other's plain one is taken up, the sum decides."""
    text = """
    sources.g = { resistance = "50 ohm ± 1 %" }
    instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
    sketch = { ground = "gnd", input = "in" }
    parts.R = { kind = "resistor", value = "10 ohm ± 1 %", between = ["in", "a"] }
    parts.C1 = { kind = "capacitor", marking = "4.7uF 5%", between = ["a", "gnd"] }
    parts.C2 = { kind = "capacitor", marking = "22", between = ["a", "gnd"] }
    [[readings]]
    kind = "probe"
    at = "in"
    open = "4 Vpp"
    table = '''
    frequency/kHz in/mVpp a/mVpp
{rows}
    '''
    """
    sheet_text = text.replace("{rows}", "\n".join(_divided(f) for f in (0.1, 0.3, 1.0, 3.0)))
    settled = settle(read_sheet(text=sheet_text))
    sheet, posterior = settled.sheet, settled.posterior
    found = {one.parts[0]: one for one in settled.findings if one.kind == "marking"}
    assert set(found) == {"C1", "C2"}
    beliefs, again = consider(sheet, posterior)
    assert len(again) == 2
    total = sum(settled.estimate(n, "capacitance").value for n in ("C1", "C2"))
    assert total == pytest.approx(26.7e-6, rel=0.05)
    assert settled.estimate("C1", "capacitance").value == pytest.approx(4.7e-6, rel=0.1)
    assert settled.estimate("C2", "capacitance").value == pytest.approx(22e-6, rel=0.1)
    assert set(beliefs) <= {("C1", "capacitance"), ("C2", "capacitance")}
