"""Further methods, each held to the contract: simulated, recovered, compared with its source."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees
from typing import ClassVar

import numpy as np
from benchmarks.dense import admittance, voltages

from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from tests.bench.method_contract import MethodContract


def seen(*elements: tuple[object, ...], f_hz: float) -> complex:
    """Impedance of elements in series, by the benchmarks' dense algebra."""
    return complex(sum(1.0 / admittance(one, np.array([f_hz]))[0] for one in elements))


class TestImpedance(MethodContract):
    """A coil's sizes and angles, three frequencies in a table."""

    kind = "impedance"
    target = ("L1", "inductance")
    truth = 0.82e-3
    source = "JCGM 100:2008 H.2: R 127.732 and X 219.847 ohm from |Z| 254.260 ohm and its phase"
    hostile: ClassVar = (
        ('table = """', 'frequency = "1 kHz"\ntable = """', "either the table or one reading"),
        ("magnitude/ohm", "magnitude/V", "unit of"),
        ("magnitude/ohm", "size/ohm", "expected frequency and magnitude and phase"),
        ("\n1.0 ", "\n0 ", "of zero cannot be read"),
        ('part = "L1"', 'between = ["a", "a"]', "no board|both clips|node"),
    )

    def text(self) -> str:
        rows = []
        for f in (200.0, 1000.0, 5000.0):
            z = seen(("L", "a", "b", 0.82e-3, 0.45, 0.0), f_hz=f)
            rows.append(f"{f / 1e3} {abs(z):.7f} {degrees(np.angle(z)):.6f}")
        cells = "\n".join(rows)
        return f"""
parts.L1 = {{ kind = "inductor" }}
[instruments.lcr]
kind = "tester"
impedance = "0.3 % + 0.01 ohm"
phase = "0.3 deg + 2 digits"
[[readings]]
kind = "impedance"
part = "L1"
table = \"\"\"
frequency/kHz magnitude/ohm phase/deg
{cells}
\"\"\"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
parts.L1 = { kind = "inductor" }
[[readings]]
kind = "impedance"
part = "L1"
frequency = "1 kHz"
magnitude = "254.260 ohm ± 0.1 %"
phase = "59.8426 deg ± 0.1 deg"
"""
        found = settle(read_sheet(text=sheet))
        steps = found.workings()[0].steps
        ohm = [float(one.result.split()[0]) for one in steps[:2]]
        return [(ohm[0], 127.732, 3e-4), (ohm[1], 219.847, 3e-4)]


class TestImpedanceOnTheBoard(MethodContract):
    """At the input, the driver replaced by a known resistor: the closing test of a sketch."""

    kind = "impedance"
    target = ("C1", "capacitance")
    truth = 8.2e-6
    hostile: ClassVar = (
        ('frequency = "4 kHz"', "", "an impedance without it says nothing"),
        ('"in", "gnd"]\ninstead', '"in", "in"]\ninstead', "both clips are on one node"),
        ('magnitude = "', 'part = "L1"\nmagnitude = "', 'write either part = "L1" or between'),
    )

    def text(self) -> str:
        elements: list[tuple[object, ...]] = [
            ("L", "in", "w", 0.9e-3, 0.4, 0.0),
            ("C", "w", "gnd", 8.2e-6, 0.1, 0.0),
            ("R", "w", "gnd", 10.0),
        ]
        v = voltages(elements, np.array([4e3]), "in", "gnd", 50.0, "gnd")["in"][0]
        return f"""
instruments.lcr = {{ kind = "tester", impedance = "0.3 % + 0.01 ohm" }}
sketch.input = "in"
[parts]
L1 = {{ kind = "inductor", value = "0.9 mH ± 1 %", between = ["in", "w"] }}
C1 = {{ kind = "capacitor", resistance = "0.1 ohm ± 9 %", between = ["w", "gnd"] }}
woofer = {{ kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }}
[[readings]]
kind = "impedance"
between = ["in", "gnd"]
instead = {{ woofer = "10 ohm ± 1 %" }}
frequency = "4 kHz"
magnitude = "{abs(50.0 * v / (1.0 - v)):.7f} ohm"
[[readings]]
kind = "impedance"
between = ["w", "gnd"]
instrument = "lcr"
instead = {{ woofer = "10 ohm ± 1 %" }}
frequency = "4 kHz"
magnitude = "{abs(1.0 / sum(admittance(one, np.array([4e3]))[0] for one in elements[1:])):.7f} ohm"
"""


class TestClipsShorted(MethodContract):
    """A small coil on a meter whose clips were read: 60 mohm and 0.4 uH in series with it."""

    kind = "clips shorted"
    target = ("L1", "inductance")
    truth = 11e-6
    source = "short correction Z - Z_short (closed form): 1.060 less 0.060 ohm is 1 ohm"
    hostile: ClassVar = (
        ('resistance = "0.060 ohm"\ninductance = "0.400 uH"', "", "resistance"),
        ('resistance = "0.060 ohm"', 'capacitance = "0.060 uF"', "capacitance"),
        ('resistance = "0.060 ohm"', 'resistance = "0.060 V"', "unit of"),
    )

    def text(self) -> str:
        parts = (("L", "c", "a", 0.4e-6, 0.06, 0.0), ("L", "a", "b", 11e-6, 0.08, 0.0))
        z = seen(*parts, f_hz=20e3)
        return f"""
[instruments.lcr]
kind = "tester"
impedance = "0.3 %"
phase = "0.2 deg"
resistance = "0.3 % + 2 digits"
inductance = "0.3 % + 5 digits"
[parts]
L1 = {{ kind = "inductor", resistance = "0.08 ohm ± 9 %" }}
[[readings]]
kind = "clips shorted"
resistance = "0.060 ohm"
inductance = "0.400 uH"
[[readings]]
kind = "impedance"
part = "L1"
frequency = "20 kHz"
magnitude = "{abs(z):.8f} ohm"
phase = "{degrees(np.angle(z)):.6f} deg"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
instruments.lcr = { kind = "tester" }
parts.R1 = { kind = "resistor" }
[[readings]]
kind = "clips shorted"
resistance = "0.060 ohm ± 0.1 mohm"
[[readings]]
kind = "meter"
part = "R1"
resistance = "1.060 ohm ± 0.1 mohm"
"""
        found = settle(read_sheet(text=sheet))
        return [(found.estimate("R1", "resistance").value, 1.0, 2e-4)]


class TestClipsOpen(MethodContract):
    """A small capacitor beside the meter's open clips: 12 pF of what is shown is theirs."""

    kind = "clips open"
    target = ("C1", "capacitance")
    truth = 1e-9
    source = "open correction Y - Y_open (closed form): 1012 less 12 pF is 1 nF"
    hostile: ClassVar = (
        ('capacitance = "12.0 pF"', "", "capacitance"),
        ('capacitance = "12.0 pF"', 'capacitance = "12.0 pH"', "unit of"),
        ('instrument = "lcr"', 'instrument = "lcd"', "lcd"),
    )

    def text(self) -> str:
        own = admittance(("C", "a", "b", 1e-9, 0.02, 0.0), np.array([10e3]))[0]
        z = 1.0 / (own + 2j * np.pi * 10e3 * 12e-12)
        return f"""
[instruments.lcr]
kind = "tester"
impedance = "0.3 %"
capacitance = "0.3 % + 3 digits"
[parts]
C1 = {{ kind = "capacitor", resistance = "0.02 ohm ± 9 %" }}
[[readings]]
kind = "clips open"
instrument = "lcr"
capacitance = "12.0 pF"
[[readings]]
kind = "impedance"
part = "C1"
frequency = "10 kHz"
magnitude = "{abs(z):.6f} ohm"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        found = self.settled()
        one = found.answer.combination(self.target, self.at_hz(found))
        return [(float(np.exp(one.value)), 1e-9, 5e-4)]
