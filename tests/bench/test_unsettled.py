"""What readings cannot determine is named as what they do: a ratio, a sum, a parallel value."""

from __future__ import annotations

import pytest

from ohmbook.bench.unsettled import _holds
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Finding
from ohmbook.evidence import Known
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

RATIO = """
sources.g = { }
parts.L1 = { kind = "inductor", resistance = "0 ohm" }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp ± 1 %"
across = "2 Vpp ± 1 %"
"""
SUM = """
sources.g = { resistance = "50 ohm ± 1 %", open = "6 Vpp ± 0.5 %" }
instruments.scope = { kind = "oscilloscope", amplitude = "1 % + 2 mV", return_lead = "0 ohm" }
sketch = { input = "in" }
[parts]
L1 = { kind = "inductor", resistance = "0 ohm", between = ["in", "x"] }
L2 = { kind = "inductor", resistance = "0 ohm", between = ["x", "w"] }
R1 = { kind = "resistor", value = "8 ohm ± 1 %", between = ["w", "gnd"] }
[[readings]]
kind = "probe"
at = "in"
frequency = "3 kHz"
amplitudes = { in = "2.17 Vpp", w = "0.69 Vpp" }
"""
PARALLEL = """
instruments.m = { kind = "multimeter", resistance = "0.5 % + 2 digits" }
sketch = { input = "in" }
[parts]
R1 = { kind = "resistor", between = ["in", "gnd"] }
R2 = { kind = "resistor", between = ["in", "gnd"] }
[[readings]]
kind = "resistance"
between = ["in", "gnd"]
value = "5.20 ohm"
leads = "0.20 ohm"
"""


def told(settled: Settled) -> list[Finding]:
    return [one for one in settled.findings if one.kind == "not determined"]


@pytest.mark.parametrize(
    ("text", "parts", "words"),
    [
        # L / R = q / (2 pi f sqrt(1 - q^2)) = 18.38 us at q = 1/2, 5 kHz
        (RATIO, ("L1", "g"), "L1 over g is 18.38 µs"),
        # |V_in / V_w| = sqrt(1 + (w L / R)^2): 1.16 mH across 8 ohm at 3 kHz
        (SUM, ("L1", "L2"), "L1 and L2 in sum are 1.1"),
        (PARALLEL, ("R1", "R2"), "R1 and R2 in parallel are 5.00"),
    ],
)
def test_what_is_known_instead(text: str, parts: tuple[str, ...], words: str) -> None:
    settled = settle(read_sheet(text=text))
    found = [one for one in told(settled) if one.parts == parts]
    assert len(found) == 1
    assert words in found[0].message
    for name in parts:
        one = next(e for e in settled.estimates if e.name == name)
        assert not one.determined
        # never a confident number: the interval stays wide
        assert one.high / one.low > 5.0


def test_parts_that_were_not_read_are_told_once() -> None:
    text = PARALLEL.replace("[[readings]]", 'L9 = { kind = "inductor" }\n[[readings]]', 1)
    found = [one for one in told(settle(read_sheet(text=text))) if "not read" in one.message]
    assert [one.parts for one in found] == [("L9",)]


def test_a_limit_that_denies_the_value_shown_is_not_told() -> None:
    """As met where readings contradict each other: 44 mohm shown, "at most 1 mohm" told."""
    shown = Estimate("R2", "resistance", 0.044, 0.04, 0.0013, 1.5, "ohm", False)
    one = ("R2", "resistance")
    assert not _holds(Known("at most", (one,), 1e-3, None, None, 1e-3), [shown])
    assert _holds(Known("at most", (one,), 1.0, None, None, 1.0), [shown])
    assert not _holds(Known("at least", (one,), 1.0, None, 1.0, None), [shown])
