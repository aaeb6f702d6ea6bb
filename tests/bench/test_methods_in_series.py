"""Methods with a known resistor in series, each held to the contract."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi
from typing import ClassVar

import numpy as np
from benchmarks.dense import admittance, voltages

from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from tests.bench.method_contract import MethodContract


class TestThreeVoltages(MethodContract):
    """The round trip of a coil at 1 kHz beside 10 ohm, simulated by dense algebra."""

    kind = "three voltages"
    target = ("L1", "inductance")
    truth = 1.5e-3
    source = "three-voltmeter method, published example (a tutorial page): power factor 0.244"
    hostile: ClassVar = (
        ('both = "', 'both = "9', "are no triangle"),
        ('resistor = "10 ohm ± 0.5 %"', 'resistor = "L1"', "not a resistor besides L1"),
        ('resistor = "10 ohm ± 0.5 %"', 'resistor = "0 ohm"', "is no resistor"),
        ('frequency = "1 kHz"', 'frequency = "1 kg"', "kg"),
        ('part = "L1"', 'part = "L7"', "L7"),
    )

    def text(self) -> str:
        coil = ("L", "x", "com", 1.5e-3, 3.2, 0.0)
        v = voltages([("R", "out", "x", 10.0), coil], np.array([1e3]), "out", "com", 5.0, "com")
        both, part = v["out"][0], v["x"][0]
        return f"""
sources.generator = {{ resistance = "5 ohm ± 20 %" }}
parts.L1 = {{ kind = "inductor" }}
[[readings]]
kind = "three voltages"
part = "L1"
resistor = "10 ohm ± 0.5 %"
frequency = "1 kHz"
both = "{abs(both):.7f} V ± 0.3 %"
across_resistor = "{abs(both - part):.7f} V ± 0.3 %"
across_part = "{abs(part):.7f} V ± 0.3 %"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        """The example, and the recomputed round trip of a 1.5 mH coil with 3.2 ohm."""
        sheet = """
sources.generator = {{ resistance = "5 ohm" }}
parts.L1 = {{ kind = "inductor" }}
[[readings]]
kind = "three voltages"
part = "L1"
resistor = "10 ohm"
frequency = "1 kHz"
both = "{} V ± 0.01 %"
across_resistor = "{} V ± 0.01 %"
across_part = "{} V ± 0.01 %"
"""
        example = settle(read_sheet(text=sheet.format(300, 180, 200)))
        trip = settle(read_sheet(text=sheet.format(1.621932303, 1, 0.995321253)))
        steps = trip.workings()[0].steps
        return [
            (float(example.workings()[0].steps[0].result), 0.2444, 1e-6),
            (float(steps[0].result), 0.3215, 1e-6),
            (float(steps[2].result.split()[0]), 3.2, 1e-4),
            (float(steps[4].result.split()[0]), 1.5, 1e-4),
            (trip.estimate("L1", "inductance").value, 1.5e-3, 5e-4),
        ]


class TestEqualVoltages(MethodContract):
    """A capacitor against 22 ohm: the frequency at which |Z| is 22 ohm, by bisection."""

    kind = "equal voltages"
    target = ("C1", "capacitance")
    truth = 4.7e-6
    source = "L = R / (2 pi f) at equal voltages (closed form): 100 ohm at 10 kHz is 1.59155 mH"
    hostile: ClassVar = (
        ('within = "0.5 %"', 'within = "0.5 V"', "0.5 V"),
        ('resistor = "22 ohm ± 0.5 %"', "", "resistor"),
        ('frequency = "', 'frequency = "-', "frequency"),
    )

    def text(self) -> str:
        low, high = 10.0, 1e5
        for _ in range(200):
            middle = (low * high) ** 0.5
            z = 1.0 / admittance(("C", "a", "b", 4.7e-6, 0.1, 0.0), np.array([middle]))[0]
            low, high = (middle, high) if abs(z) > 22.0 else (low, middle)
        return f"""
sources.generator = {{ resistance = "50 ohm" }}
parts.C1 = {{ kind = "capacitor", resistance = "0.1 ohm ± 9 %" }}
[[readings]]
kind = "equal voltages"
part = "C1"
resistor = "22 ohm ± 0.5 %"
frequency = "{low:.6f} Hz ± 0.1 %"
within = "0.5 %"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
sources.generator = { resistance = "50 ohm" }
parts.L1 = { kind = "inductor", resistance = "0 ohm" }
[[readings]]
kind = "equal voltages"
part = "L1"
resistor = "100 ohm"
frequency = "10 kHz"
within = "0.01 %"
"""
        found = settle(read_sheet(text=sheet))
        steps = found.workings()[0].steps
        return [
            (found.estimate("L1", "inductance").value, 100.0 / (2 * pi * 1e4), 1e-4),
            (float(steps[1].result.split()[0]), 1.592, 1e-6),
        ]
