"""What readings leave open is told as what they do tell, with the reading that would separate it.

Values in the sheets follow from the closed forms beside them.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest

from ohmbook.documents.finding import Finding
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

HEAD = """
sources.g = { resistance = "50 ohm ± 0.5 %", open = "6 Vpp ± 0.2 %" }
instruments.scope = { kind = "oscilloscope", amplitude = "0.5 % + 1 mV", return_lead = "0 ohm" }
sketch = { input = "in" }
[parts]
"""


def settled(parts: str, f: str, **read: float) -> Settled:
    amplitudes = ", ".join(f'{node} = "{vpp:.4g} Vpp"' for node, vpp in read.items())
    reading = (
        f'[[readings]]\nkind = "probe"\nat = "in"\nfrequency = "{f}"\n'
        f"amplitudes = {{ {amplitudes} }}\n"
    )
    return settle(read_sheet(text=f"{HEAD}{parts}\n{reading}"))


def told(found: Settled, kind: str, *parts: str) -> Finding:
    (one,) = (f for f in found.findings if f.kind == kind and f.parts == parts)
    return one


def test_coil_from_amplitudes_with_no_known_resistance() -> None:
    """Half the amplitude says L / R = 1 / (2 pi f sqrt 3) and nothing of L alone."""
    text = """
sources.g = { }
parts.L1 = { kind = "inductor", resistance = "0 ohm" }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp ± 1 %"
across = "2 Vpp ± 1 %"
"""
    found = settle(read_sheet(text=text))
    message = told(found, "not determined", "L1", "g").message
    assert f"L1 over g is {1e6 / (2 * pi * 5e3 * sqrt(3)):.2f} µs" in message
    assert "read g open, then across" in message  # the load that separates them
    assert not found.estimate("L1", "inductance").determined


def test_two_capacitors_in_parallel() -> None:
    """20 uF at 300 Hz is 26.5 ohm: 6 V x 26.5 / |50 - 26.5j| = 2.81 Vpp."""
    parts = """C1 = { kind = "capacitor", resistance = "0 ohm", between = ["in", "gnd"] }
C2 = { kind = "capacitor", resistance = "0 ohm", between = ["in", "gnd"] }"""
    x = 1.0 / (2 * pi * 300.0 * 20e-6)
    found = settled(parts, "300 Hz", **{"in": 6.0 * x / sqrt(50.0**2 + x**2)})
    message = told(found, "not determined", "C1", "C2").message
    assert "C1 and C2 in sum are 20.0" in message
    assert "Lift one leg" in message  # no node tells them apart
    for name in ("C1", "C2"):
        one = found.estimate(name, "capacitance")
        assert one.high / one.low > 10.0


def test_two_resistors_in_series_with_no_node_between_read() -> None:
    """10 ohm in all: 6 V x 10 / 60 = 1 Vpp."""
    parts = """R1 = { kind = "resistor", between = ["in", "x"] }
R2 = { kind = "resistor", between = ["x", "gnd"] }"""
    found = settled(parts, "1 kHz", **{"in": 1.0})
    message = told(found, "not determined", "R1", "R2").message
    assert "R1 and R2 in sum are 10.0" in message
    assert "probe x at" in message


def test_part_at_a_node_never_driven() -> None:
    """Nothing flows in L2, whose far end meets only what was unplugged."""
    parts = """R1 = { kind = "resistor", between = ["in", "gnd"] }
L2 = { kind = "inductor", between = ["in", "w"] }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }"""
    text = f"""{HEAD}{parts}
[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
frequency = "1 kHz"
amplitudes = {{ in = "1.00 Vpp" }}
"""
    found = settle(read_sheet(text=text))
    message = told(found, "not determined", "L2").message
    assert "nothing flows in it with woofer unplugged" in message
    one = found.estimate("L2", "inductance")
    assert not one.determined
    assert one.high / one.low > 100.0  # what was believed before: a factor of 6 and more, each way


def test_two_exact_solutions() -> None:
    """1 mH with C across: |X| = 1 / |1/wL - wC| is the same for C0 + d and C0 - d, C0 = 1/(w^2 L).

    At 2 kHz C0 is 6.333 uF; with d = 2 uF both 4.333 and 8.333 uF give |X| = 39.79 ohm exactly.
    """
    parts = """L1 = { kind = "inductor", value = "1 mH ± 0.1 %", resistance = "0 ohm", \
between = ["in", "gnd"] }
C1 = { kind = "capacitor", resistance = "0 ohm", between = ["in", "gnd"] }"""
    w = 2 * pi * 2e3
    x = 1.0 / (w * 2e-6)
    found = settled(parts, "2 kHz", **{"in": 6.0 * x / sqrt(50.0**2 + x**2)})
    one = told(found, "two answers", "C1")
    shares = [e.probability for e in one.explanations]
    assert all(share is not None and share > 0.3 for share in shares)
    values = sorted(round(1e6 * _c1(found, k), 2) for k in (0, 1))
    c0 = 1e6 / (w**2 * 1e-3)
    assert values == pytest.approx([c0 - 2.0, c0 + 2.0], rel=0.01)
    assert "To tell: clip g to the input, probe in at" in one.message


def _c1(found: Settled, mode: int) -> float:
    import numpy as np

    place = found.posterior.index(("C1", "capacitance"))
    return float(np.exp(found.posterior.modes[mode].t[place]))
