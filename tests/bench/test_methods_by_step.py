"""Methods by a step, and coupled coils, each held to the contract."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from typing import Any, ClassVar

import numpy as np
from scipy import integrate, optimize

from ohmbook.bench.compile import compile_sheet
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet
from tests.bench.method_contract import MethodContract


class TestTimeConstantOfACoil(MethodContract):
    """A square wave that turns after three time constants, integrated period by period."""

    kind = "time constant"
    target = ("L1", "inductance")
    truth = 2.7e-3
    source = "tau = L / R (closed form): 1 mH behind 100 ohm is 10 us, half after 6.93147 us"
    hostile: ClassVar = (
        ('time = "', 'time = "9', "can be read"),
        ('to = "63 %"', 'to = "64 %"', "64 %"),
        ('resistor = "100 ohm ± 0.2 %"', "", "current is read across a resistor"),
        ('part = "L1"', 'part = "R1"', "no time constant of its own"),
        ("time =", "tine =", "time"),
    )

    def text(self) -> str:
        total, window = 50.0 + 100.0 + 1.8, 60e-6

        def slope(t: float, i: np.ndarray, volts: float) -> list[float]:
            return [(volts - total * float(i[0])) / self.truth]

        current, sign = 0.0, 1.0
        for _ in range(21):
            wave = integrate.solve_ivp(
                slope, (0.0, window), [current], args=(sign,), rtol=1e-11, atol=1e-15,
                dense_output=True,
            )  # fmt: skip
            start, current, sign = current, float(wave.y[0, -1]), -sign
        level = start + (1.0 - exp(-1.0)) * (current - start)
        answer = wave.sol
        assert answer is not None
        t = optimize.brentq(lambda x: answer(x)[0] - level, 0.0, window, xtol=1e-16)
        return f"""
sources.generator = {{ resistance = "50 ohm ± 1 %" }}
parts.R1 = {{ kind = "resistor" }}
parts.L1 = {{ kind = "inductor", resistance = "1.8 ohm ± 5 %" }}
[[readings]]
kind = "time constant"
part = "L1"
resistor = "100 ohm ± 0.2 %"
time = "{t * 1e6:.7f} us ± 0.5 %"
to = "63 %"
window = "60 us"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
sources.generator = { resistance = "50 ohm" }
parts.L1 = { kind = "inductor", resistance = "0 ohm" }
[[readings]]
kind = "time constant"
part = "L1"
resistor = "50 ohm"
time = "6.931471806 us ± 0.01 %"
to = "50 %"
"""
        found = settle(read_sheet(text=sheet))
        last = found.workings()[0].steps[-1].result
        return [
            (found.estimate("L1", "inductance").value, 1e-3, 1e-4),
            (float(last.split()[0]), 1.0, 1e-6),
        ]


class TestTimeConstantOfACapacitor(MethodContract):
    """10 to 90 % of a capacitor's voltage, with the jump of its series resistance."""

    kind = "time constant"
    target = ("C1", "capacitance")
    truth = 6.8e-6
    source = "10 to 90 % is tau ln 9 = 2.1972 tau (closed form)"
    hostile: ClassVar = (('resistance = "50 ohm ± 1 %"', 'resistance = "0 ohm"', "slows the step"),)

    def text(self) -> str:
        esr, total = 0.5, 50.0 + 0.5

        def seen(t: float) -> float:
            return 1.0 - (1.0 - esr / total) * exp(-t / (total * self.truth))

        ends = [
            optimize.brentq(lambda t, p=p: seen(t) - p, 0.0, 0.1, xtol=1e-16) for p in (0.1, 0.9)
        ]
        return f"""
sources.generator = {{ resistance = "50 ohm ± 1 %" }}
parts.C1 = {{ kind = "capacitor", resistance = "0.5 ohm ± 9 %" }}
[[readings]]
kind = "time constant"
part = "C1"
time = "{(ends[1] - ends[0]) * 1e6:.7f} us ± 1 %"
to = "10 to 90 %"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        steps = self.settled().workings()[0].steps
        tau_us = float(steps[0].result.split()[0])
        return [(tau_us, 50.5 * 6.8, 2e-4)]


class TestEsrByStep(MethodContract):
    """The jump of a capacitor with 0.35 ohm behind 97 ohm, and leads of 40 mohm."""

    kind = "ESR by step"
    target = ("C1", "resistance")
    truth = 0.35
    source = "jump = V ESR / (Rs + ESR) (closed form): 10 V, 99 ohm and 1 ohm give 100 mV"
    hostile: ClassVar = (
        ('jump = "', 'jump = "9', "is the whole edge"),
        ("Vpp ± 0.5 %", "Vrms ± 0.5 %", "is not what a sine"),
        ('leads = "40 mohm ± 5 mohm"', 'leads = "40 mohm"\nwires = 4', "expected no leads"),
        ('part = "C1"', 'part = "R1"', "expected a capacitor"),
    )

    def text(self) -> str:
        own = 0.35 + 0.04
        return f"""
sources.generator = {{ resistance = "50 ohm ± 1 %" }}
parts.C1 = {{ kind = "capacitor" }}
parts.R1 = {{ kind = "resistor", value = "47 ohm ± 0.5 %" }}
[[readings]]
kind = "ESR by step"
part = "C1"
resistor = "R1"
open = "10 Vpp ± 0.5 %"
jump = "{10.0 * own / (97.0 + own):.7f} Vpp ± 1 %"
leads = "40 mohm ± 5 mohm"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
sources.generator = { resistance = "50 ohm" }
parts.C1 = { kind = "capacitor" }
[[readings]]
kind = "ESR by step"
part = "C1"
resistor = "49 ohm"
open = "10 Vpp"
jump = "100 mVpp ± 0.001 %"
wires = 4
"""
        found = settle(read_sheet(text=sheet))
        return [
            (found.estimate("C1", "resistance").value, 1.0, 1e-4),
            (float(found.workings()[0].steps[-1].result.split()[0]), 1.0, 1e-4),
        ]


class TestCoupledCoils(MethodContract):
    """1 mH and 2.25 mH with k = 0.6: each, aiding 5.05 mH and opposing 1.45 mH."""

    kind = "coupled coils"
    target = ("L1 and L2", "coupling")
    truth = 0.6
    source = "M = (L_aiding - L_opposing) / 4 (closed form): 5.05 and 1.45 mH make 0.9 mH"
    hostile: ClassVar = (
        ('["L2", "L1"]', '["L2", "L2"]', "stands twice"),
        ('["L2", "L1"]', '["L2", "C1"]', "expected a coil"),
        ('["L2", "L1"]', '["L2", "L9"]', "L9"),
        ('connected = "aiding"', 'connected = "together"', "together"),
    )

    def on_scale(self, value: Any) -> Any:
        return np.log(value) - np.log1p(-np.asarray(value))

    def at_hz(self, found: Settled) -> float | None:
        return None

    def text(self) -> str:
        mutual = 0.6 * (1.0 * 2.25) ** 0.5
        return f"""
instruments.lcr = {{ kind = "tester", inductance = "1 %" }}
[parts]
L1 = {{ kind = "inductor" }}
L2 = {{ kind = "inductor" }}
C1 = {{ kind = "capacitor" }}
[[readings]]
kind = "meter"
part = "L1"
inductance = "1.000 mH ± 0.5 %"
frequency = "1 kHz"
[[readings]]
kind = "meter"
part = "L2"
inductance = "2.250 mH ± 0.5 %"
frequency = "1 kHz"
[[readings]]
kind = "coupled coils"
parts = ["L1", "L2"]
connected = "opposing"
inductance = "{3.25 - 2 * mutual:.6f} mH ± 0.5 %"
frequency = "1 kHz"
[[readings]]
kind = "coupled coils"
parts = ["L2", "L1"]
connected = "aiding"
inductance = "{3.25 + 2 * mutual:.6f} mH ± 0.5 %"
frequency = "1 kHz"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        found = self.settled()
        opposing, aiding = found.workings()[-2:]
        mutual = [float(one.steps[0].result.split()[0]) for one in (opposing, aiding)]
        by_four = (3.25 + 1.8 - (3.25 - 1.8)) / 4.0
        k = found.posterior.value(("L1 and L2", "coupling"))
        return [
            (mutual[0], by_four, 2e-3),
            (mutual[1], by_four, 2e-3),
            (k, 0.6, 2e-3),
        ]


def risen(times: Sequence[float], coil: tuple[float, float, float, float]) -> list[float]:
    """Current at each time, A, by SciPy's integrator: 12 V, 0.5 ohm in all."""
    henry, ohm, i_30, bend = coil

    def slope(_: float, i: np.ndarray) -> list[float]:
        own = henry / (1.0 + 3.0 / 7.0 * (max(float(i[0]), 0.0) / i_30) ** bend)
        return [(12.0 - ohm * float(i[0])) / own]

    found = integrate.solve_ivp(
        slope, (0.0, times[-1]), [0.0], t_eval=times, rtol=1e-11, atol=1e-13
    )
    return [float(one) for one in found.y[0]]


class TestCurrentRamp(MethodContract):
    """An iron choke of 4 mH that has lost 30 % at 5 A, read eight times on 0.1 ohm."""

    kind = "current ramp"
    target = ("L1", "current at -30 %")
    truth = 5.0
    trials = 150
    source = "i = V/R (1 - exp(-tR/L)) (closed form): 12 V, 0.5 ohm, 4 mH: 2.820 A after 1 ms"
    hostile: ClassVar = (
        ("time/us shunt/mV", "time/us current/A", "expected time and shunt"),
        ("12 V ± 0.2 %", "12 Vpp ± 0.2 %", "neither peak to peak nor rms"),
        ("\n600 ", "\n200 ", "not later than"),
        ("\n600 ", "\n600 99", "cannot be with"),
        ('shunt = "0.1 ohm ± 0.5 %"', 'shunt = "0 ohm"', "shows no current"),
        ('part = "L1"', 'part = "R1"', "expected a coil"),
    )

    def at_hz(self, found: Settled) -> float | None:
        return None

    def text(self) -> str:
        times = [300e-6 * k for k in range(1, 9)]
        cells = "\n".join(
            f"{1e6 * t:.0f} {100.0 * i:.6f}"
            for t, i in zip(times, risen(times, (4e-3, 0.5, 5.0, 3.0)), strict=True)
        )
        return f"""
instruments.scope = {{ kind = "oscilloscope", amplitude = "0.3 % + 0.5 mV" }}
[parts]
R1 = {{ kind = "resistor" }}
L1 = {{ kind = "inductor", core = "iron", resistance = "0.4 ohm ± 3 %" }}
[[readings]]
kind = "current ramp"
part = "L1"
voltage = "12 V ± 0.2 %"
shunt = "0.1 ohm ± 0.5 %"
table = \"\"\"
time/us shunt/mV
{cells}
\"\"\"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
instruments.scope = { kind = "oscilloscope", amplitude = "0.01 %" }
[parts]
L1 = { kind = "inductor", value = "4 mH", resistance = "0.4 ohm" }
R1 = { kind = "resistor" }
[[readings]]
kind = "current ramp"
part = "L1"
voltage = "12 V"
shunt = "R1"
table = \"\"\"
time/us shunt/mV
100 29.8
1000 282.0
\"\"\"
"""
        compiled = compile_sheet(read_sheet(text=sheet))
        x = np.zeros((1, len(compiled.unknowns)))
        x[0, compiled.ids.index(("R1", "resistance"))] = 0.1
        shown = compiled.predict(x)[0]
        return [
            (shown[1], 0.1 * 12.0 / 0.5 * (1.0 - exp(-1e-3 * 0.5 / 4e-3)), 1e-8),
            (shown[0], 0.1 * 12.0 / 0.5 * (1.0 - exp(-1e-4 * 0.5 / 4e-3)), 1e-8),
        ]

    def test_the_working_tells_where_the_core_gives_in(self) -> None:
        remark = self.settled().workings()[0].remark
        assert "by 30 % at 5.0" in remark
        assert "by 10 %" in remark
