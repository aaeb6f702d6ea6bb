"""The first reading kinds, held to the contract that every method inherits.

Readings are simulated by the benchmarks' dense algebra, which shares no code with the engine.
"""

from __future__ import annotations

from typing import ClassVar

import numpy as np
from benchmarks.dense import Element, path_ohm, voltages

from tests.bench.method_contract import MethodContract

SOURCE_OHM = 50.8
PART = ("L", "out", "com", 0.82e-3, 0.45, 0.0)


class TestSourceLoading(MethodContract):
    kind = "source loading"
    hostile: ClassVar = (('load = "47.2 ohm ± 0.5 %"', 'load = "0 ohm"', "shorts the source"),)
    target = ("generator", "resistance")
    truth = SOURCE_OHM

    def text(self) -> str:
        loaded = 4.0 * 47.2 / (47.2 + SOURCE_OHM)
        return f"""
sources.generator = {{ resistance = "50 ohm ± 20 %" }}
[[readings]]
kind = "source loading"
open = "4 Vpp ± 0.3 %"
loaded = "{loaded:.6f} Vpp ± 0.3 %"
load = "47.2 ohm ± 0.5 %"
"""


class TestAmplitudeRatio(MethodContract):
    kind = "amplitude ratio"
    hostile: ClassVar = (('across = "', 'across = "9', "is above open"),)
    target = ("L1", "inductance")
    truth = 0.82e-3

    def text(self) -> str:
        elements: list[Element] = [PART]
        share = abs(voltages(elements, np.array([6e3]), "out", "com", SOURCE_OHM, "com")["out"][0])
        return f"""
sources.generator = {{ resistance = "{SOURCE_OHM} ohm ± 1 %" }}
parts.L1 = {{ kind = "inductor", resistance = "0.45 ohm ± 10 %" }}
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "6 kHz"
open = "4 Vpp ± 0.5 %"
across = "{4.0 * share:.6f} Vpp ± 0.5 %"
"""


class TestResistance(MethodContract):
    kind = "resistance"
    hostile: ClassVar = (('part = "R1"', 'part = "R1"\nbetween = ["a", "b"]', "unknown node"),)
    target = ("R1", "resistance")
    truth = 6.8

    def text(self) -> str:
        return """
instruments.meter = { kind = "multimeter", resistance = "0.8 % + 2 digits" }
parts.R1 = { kind = "resistor" }
[[readings]]
kind = "resistance"
part = "R1"
value = "7.000 ohm"
leads = "0.200 ohm"
"""


class TestResistanceOnTheBoard(MethodContract):
    """Between two nodes: a coil's resistance in parallel with a resistor's path."""

    kind = "resistance"
    hostile: ClassVar = (
        ('between = ["in", "gnd"]', 'between = ["in", "in"]', "both clips are on one node"),
    )
    target = ("R1", "resistance")
    truth = 8.2

    def text(self) -> str:
        elements: list[Element] = [
            ("L", "in", "w", 1e-3, 0.4, 0.0),
            ("R", "w", "gnd", 8.2),
            ("R", "w", "gnd", 6.4),
        ]
        shown = path_ohm(elements, "in", "gnd") + 0.3
        return f"""
instruments.meter = {{ kind = "multimeter", resistance = "0.5 % + 1 digits" }}
sketch = {{ input = "in" }}
[parts]
L1 = {{ kind = "inductor", resistance = "0.4 ohm ± 5 %", between = ["in", "w"] }}
R1 = {{ kind = "resistor", between = ["w", "gnd"] }}
R2 = {{ kind = "resistor", value = "6.4 ohm ± 1 %", between = ["w", "gnd"] }}
[[readings]]
kind = "resistance"
between = ["in", "gnd"]
value = "{shown:.3f} ohm"
leads = "0.300 ohm"
"""


class TestMeter(MethodContract):
    kind = "meter"
    hostile: ClassVar = (
        ('capacitance = "8.20 uF"', 'inductance = "8.20 mH"', "which has no inductance"),
    )
    target = ("C1", "capacitance")
    truth = 8.2e-6

    def text(self) -> str:
        return """
instruments.tester = { kind = "tester", capacitance = "2 % + 3 digits" }
parts.C1 = { kind = "capacitor", resistance = "0.1 ohm ± 50 %" }
[[readings]]
kind = "meter"
part = "C1"
capacitance = "8.20 uF"
frequency = "1 kHz"
"""


class TestProbe(MethodContract):
    """A coil on the board from amplitudes at two nodes, with a phase beside them."""

    kind = "probe"
    hostile: ClassVar = (('at = "in"', 'at = "out"', "out"),)
    target = ("L1", "inductance")
    truth = 0.9e-3

    def text(self) -> str:
        elements: list[Element] = [
            ("L", "in", "w", 0.9e-3, 0.3, 0.0),
            ("R", "w", "gnd", 8.2),
            ("L", "gnd", "earth", 0.3e-6, 0.03, 0.0),
            ("C", "in", "earth", 15e-12, 0.0, 0.0),
        ]
        v = voltages(elements, np.array([3e3]), "in", "earth", SOURCE_OHM, "earth")
        at_in, at_w = 6 * abs(v["in"][0]), 6 * abs(v["w"][0])
        turn = np.degrees(np.angle(v["w"][0]))
        return f"""
sources.generator = {{ resistance = "{SOURCE_OHM} ohm ± 1 %", open = "6 Vpp ± 0.3 %" }}
[instruments.scope]
kind = "oscilloscope"
probe_capacitance = "15 pF ± 3 pF"
return_lead = "0.03 ohm ± 20 %"
[sketch]
input = "in"
[parts]
L1 = {{ kind = "inductor", resistance = "0.3 ohm ± 10 %", between = ["in", "w"] }}
R1 = {{ kind = "resistor", value = "8.2 ohm ± 1 %", between = ["w", "gnd"] }}
[[readings]]
kind = "probe"
at = "in"
frequency = "3 kHz ± 0.1 %"
amplitudes = {{ in = "{at_in:.6f} Vpp ± 0.5 %", w = "{at_w:.6f} Vpp ± 0.5 %" }}
phases = {{ w = "{turn:.4f} deg ± 2 deg" }}
"""


class TestGeneratorOff(MethodContract):
    """The excess that noise adds is not a part's value: here it bears on a coil read small."""

    kind = "generator off"
    hostile: ClassVar = (('value = "1.2 mVpp"', 'value = "1.2 mA"', "unit of"),)
    target = ("R1", "resistance")
    truth = 10.0

    def text(self) -> str:
        across = 4.0 * 10.0 / 60.0
        return f"""
sources.generator = {{ resistance = "50 ohm" }}
instruments.scope = {{ kind = "oscilloscope", step = "0.4 mV", reads = "peak to peak" }}
parts.R1 = {{ kind = "resistor" }}
[[readings]]
kind = "generator off"
value = "1.2 mVpp"
[[readings]]
kind = "amplitude ratio"
part = "R1"
frequency = "1 kHz"
open = "{4.0 + 0.0012:.6f} Vpp"
across = "{across + 0.0012:.6f} Vpp"
"""
