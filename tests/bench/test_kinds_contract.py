"""What every reading kind must do, inherited by each: recover, agree with Monte Carlo, explain.

Readings are simulated by the benchmarks' dense algebra, which shares no code with the engine.
"""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.dense import Element, path_ohm, voltages

from ohmbook.bench.compile import compile_sheet
from ohmbook.evidence import refits
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

SOURCE_OHM = 50.8
PART = ("L", "out", "com", 0.82e-3, 0.45, 0.0)


class MethodContract:
    """Inherited by each kind's test: `text`, `target` and `truth` say what it settles."""

    target: tuple[str, str]
    truth: float

    def text(self) -> str:
        raise NotImplementedError

    def settled(self) -> Settled:
        return settle(read_sheet(text=self.text()))

    def test_recovers_the_known_value(self) -> None:
        found = self.settled()
        one = found.answer.combination(self.target, found.answer.frequency(self.target))
        assert abs(one.value - np.log(self.truth)) < max(0.15 * one.u, 2e-4)
        assert found.estimate(*self.target).determined

    def test_linear_u_matches_monte_carlo(self) -> None:
        found = self.settled()
        compiled = found.answer.compiled
        drawn = refits(compiled.unknowns, [compiled], found.posterior, 400, 7)
        spread = np.std(np.log(drawn.values[:, drawn.ids.index(self.target)]))
        # 400 trials give the spread to 3.5 % (one standard uncertainty)
        assert spread == pytest.approx(found.posterior.u(self.target), rel=0.12)
        assert drawn.failed == 0

    def test_slopes_match_differences(self) -> None:
        compiled = compile_sheet(read_sheet(text=self.text()))
        x = self.settled().posterior.x
        slopes = compiled.jacobian(x)
        for k, one in enumerate(compiled.unknowns):
            step = 1e-5 * (abs(x[k]) if one.scale == "log" else one.prior.u)
            up, down = x.copy(), x.copy()
            up[k] += step
            down[k] -= step
            found = (compiled.predict(up[None]) - compiled.predict(down[None]))[0] / (2 * step)
            assert slopes[:, k] * step == pytest.approx(
                found * step, rel=1e-5, abs=1e-9 * max(abs(compiled.observed).max(), 1e-3)
            )

    def test_is_worked_out_by_hand(self) -> None:
        for working in self.settled().workings():
            assert working.steps
            assert working.source
            assert all(step.result for step in working.steps)


class TestSourceLoading(MethodContract):
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
