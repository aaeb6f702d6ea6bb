"""Resonance and ring-down, each held to the contract: simulated, recovered, compared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import numpy as np
from benchmarks.dense import voltages
from scipy import optimize

from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from tests.bench.method_contract import MethodContract


def extremes(circuit: list[tuple[object, ...]], probe: str, source: float) -> tuple[float, ...]:
    """Frequency of the extreme and of the two 3 dB points of |V(probe)|, by SciPy's search."""

    def size(f: float) -> float:
        v = voltages(circuit, np.array([f]), "out", "com", source, "com")
        return float(abs(v[probe][0]))

    grid = np.geomspace(500.0, 50e3, 4000)
    sizes = np.array([size(f) for f in grid])
    inner = sizes[1:-1]
    peak = inner.max() > max(sizes[0], sizes[-1])
    k = 1 + int(np.argmax(inner) if peak else np.argmin(inner))
    sign = -1.0 if peak else 1.0
    top = optimize.minimize_scalar(
        lambda f: sign * size(f), bounds=(grid[k - 1], grid[k + 1]), method="bounded",
        options={"xatol": 1e-9 * grid[k]},
    ).x  # fmt: skip
    level = size(top) * (0.5**0.5 if peak else 2.0**0.5)
    low = optimize.brentq(lambda f: size(f) - level, top * 0.4, top, xtol=1e-9)
    high = optimize.brentq(lambda f: size(f) - level, top, top * 2.5, xtol=1e-9)
    return float(top), float(low), float(high)


class TestResonance(MethodContract):
    """A coil with a film capacitor in series, the current read across a resistor."""

    kind = "resonance"
    trials = 150
    target = ("L1", "inductance")
    truth = 0.82e-3
    source = (
        "series RLC 2 ohm, 1 mH, 1 uF: f0 5032.921 Hz, Q 15.8114, width 318.310 Hz (closed form)"
    )
    hostile: ClassVar = (
        ('partner = "C9"', 'partner = "L1"', "expected a coil and a capacitor"),
        ('partner = "C9"', 'partner = "C8"', "C8"),
        ('width = "', 'width = "9', "no resonance"),
        ('resistor = "22 ohm ± 0.5 %"', "", "no resistor is stated"),
        ('connected = "series"', 'connected = "across"', "series"),
        ('resistor = "22 ohm ± 0.5 %"', 'resistor = "0 ohm"', "is no resistor"),
    )

    def text(self) -> str:
        top, low, high = extremes(
            [
                ("L", "out", "m", 0.82e-3, 0.45, 0.0),
                ("C", "m", "x", 0.47e-6, 0.02, 0.0),
                ("R", "x", "com", 22.0),
                ("C", "x", "com", 15e-12, 0.0, 0.0),
            ],
            "x",
            50.0,
        )
        return f"""
sources.generator = {{ resistance = "50 ohm ± 1 %" }}
[instruments.scope]
kind = "oscilloscope"
frequency = "50 ppm"
probe_capacitance = "15 pF ± 3 pF"
[parts]
L1 = {{ kind = "inductor", resistance = "0.45 ohm ± 9 %" }}
C9 = {{ kind = "capacitor", value = "0.47 uF ± 1 %", resistance = "0.02 ohm ± 9 %" }}
[[readings]]
kind = "resonance"
part = "L1"
partner = "C9"
connected = "series"
resistor = "22 ohm ± 0.5 %"
probe_on = "resistor"
frequency = "{top:.6f} Hz ± 0.3 %"
width = "{high - low:.6f} Hz ± 2 %"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
sources.generator = { resistance = "1 ohm" }
[parts]
L1 = { kind = "inductor", value = "1 mH", resistance = "0 ohm" }
C1 = { kind = "capacitor", value = "1 uF", resistance = "0 ohm" }
R1 = { kind = "resistor" }
[[readings]]
kind = "resonance"
part = "L1"
partner = "C1"
resistor = "R1"
probe_on = "resistor"
frequency = "5032.921210 Hz ± 0.001 %"
width = "318.309886 Hz ± 0.1 %"
"""
        found = settle(read_sheet(text=sheet))
        width, f0 = found.answer.compiled.predict(np.array([[1.0]]))[0]
        q = float(found.workings()[0].steps[1].result)
        return [
            (f0, 5032.921210, 1e-8),
            (width, 318.309886, 1e-8),
            (q, 15.811388301, 1e-3),
            (found.estimate("R1", "resistance").value, 1.0, 1e-4),
        ]


class TestResonanceOfATank(MethodContract):
    """In parallel behind a resistor, a lossy coil of low Q: its peak is not at 1/(2 pi sqrt LC)."""

    kind = "resonance"
    trials = 150
    target = ("L1", "inductance")
    truth = 1.5e-3
    hostile: ClassVar = (('probe_on = "both"', 'probe_on = "part"', "the same voltage"),)

    def text(self) -> str:
        top, *_ = extremes(
            [
                ("R", "out", "x", 1000.0),
                ("L", "x", "com", 1.5e-3, 20.0, 0.0),
                ("C", "x", "com", 0.47e-6, 0.05, 0.0),
            ],
            "x",
            50.0,
        )
        return f"""
sources.generator = {{ resistance = "50 ohm ± 1 %" }}
[parts]
L1 = {{ kind = "inductor", resistance = "20 ohm ± 1 %" }}
C9 = {{ kind = "capacitor", value = "0.47 uF ± 1 %", resistance = "0.05 ohm ± 9 %" }}
[[readings]]
kind = "resonance"
part = "L1"
partner = "C9"
connected = "parallel"
resistor = "1000 ohm ± 0.5 %"
probe_on = "both"
frequency = "{top:.6f} Hz ± 0.3 %"
"""


def ringing(coil: tuple[float, float], capacitor: tuple[float, float], probe: float) -> complex:
    """s of a free loop, 1/s, from the eigenvalues of its state matrix (current, two voltages)."""
    (henry, ohm), (farad, esr) = coil, capacitor
    states = np.array(
        [
            [-ohm / henry, 0.0, -1.0 / henry],
            [0.0, -1.0 / (esr * farad), 1.0 / (esr * farad)],
            [1.0 / probe, 1.0 / (esr * probe), -1.0 / (esr * probe)],
        ]
    )
    roots = np.linalg.eigvals(states)
    return complex(next(one for one in roots if one.imag > 0.0))


class TestRingDown(MethodContract):
    """A coil with a film capacitor: the frequency and five peaks; the probe adds to C."""

    kind = "ring-down"
    trials = 150
    target = ("L1", "inductance")
    truth = 3.2e-3
    source = "ring-down of 2 ohm, 1 mH, 1 uF: 5030.404120 Hz, decrement 0.198791186 (closed form)"
    hostile: ClassVar = (
        ('partner = "C1"', 'partner = "L1"', "expected a coil and a capacitor"),
        ('peaks = ["1 V', 'decay = "1 ms"\npeaks = ["1 V', "either peaks or decay"),
        ('peaks = ["1 V', 'peaks = ["0.1 V', "above the peak before it"),
        ("± 0.2 Hz", "± 2 furlong", "furlong"),
        ("through_source = false", 'through_source = "maybe"', "through_source"),
    )

    def text(self) -> str:
        s = ringing((3.2e-3, 2.5), (10e-9, 0.3), 100e-12)
        ratio = np.exp(2 * np.pi * s.real / s.imag)
        peaks = ", ".join(f'"{ratio**n:.6f} V ± 1 %"' for n in range(1, 5))
        return f"""
sources.generator = {{ }}
[instruments.scope]
kind = "oscilloscope"
frequency = "50 ppm"
probe_capacitance = "100 pF ± 10 pF"
[parts]
L1 = {{ kind = "inductor" }}
C1 = {{ kind = "capacitor", value = "10 nF ± 1 %", resistance = "0.3 ohm ± 9 %" }}
[[readings]]
kind = "ring-down"
part = "L1"
partner = "C1"
through_source = false
frequency = "{s.imag / (2 * np.pi):.5f} Hz ± 0.2 Hz"
peaks = ["1 V ± 1 %", {peaks}]
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        sheet = """
sources.generator = { resistance = "1 ohm" }
[parts]
L1 = { kind = "inductor", value = "1 mH", resistance = "0 ohm" }
C1 = { kind = "capacitor", value = "1 uF", resistance = "0 ohm" }
R1 = { kind = "resistor" }
[[readings]]
kind = "ring-down"
part = "L1"
partner = "C1"
resistor = "R1"
through_source = true
frequency = "5030.404120 Hz ± 0.001 %"
decay = "1 ms ± 0.1 %"
"""
        found = settle(read_sheet(text=sheet))
        decay, f = found.answer.compiled.predict(np.array([[1.0]]))[0]
        return [
            (f, 5030.404120, 1e-9),
            (1.0 / (decay * f), 0.198791186, 1e-8),
            (np.exp(-1.0 / (decay * f)), 0.819721045, 1e-8),
            (found.estimate("R1", "resistance").value, 1.0, 1e-4),
        ]


def test_peaks_may_stand_in_one_text_as_a_form_has_them() -> None:
    text = TestRingDown().text()
    head, _, rest = text.partition('peaks = ["')
    inside, _, tail = rest.partition('"]')
    joined = inside.replace('", "', ", ")
    assert read_sheet(text=f'{head}peaks = "{joined}"{tail}') == read_sheet(text=text)
