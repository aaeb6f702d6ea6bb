"""Random two-way boards, three nodes read at fourteen frequencies with an 8-bit scope.

    python -m benchmarks.random_boards [BOARDS] [SEED]

Part values are drawn over more than a decade each, far from what is believed before, and every
error as the sheet states it. Prints coverage, errors, and boards on which a wrong answer was given.
"""

from __future__ import annotations

import sys

import numpy as np

import ohmbook
from benchmarks.demo_board import Generator, Scope
from benchmarks.dense import Element, voltages

FREQUENCIES_HZ = (60, 150, 300, 500, 800, 1200, 1700, 2400, 3400, 4800, 6800, 9600, 13600, 19000)
NODES = ("in", "w", "t")

SHEET = """
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ like = "generator", open = "{open:.5g} Vpp" }}
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope" }}
sketch = {{ input = "in", ground = "gnd" }}
[parts]
L1 = {{ kind = "inductor", between = ["in", "w"] }}
C1 = {{ kind = "capacitor", dielectric = "electrolytic", between = ["w", "gnd"] }}
C2 = {{ kind = "capacitor", dielectric = "film", between = ["in", "t"] }}
L2 = {{ kind = "inductor", between = ["t", "gnd"] }}
R1 = {{ kind = "resistor", between = ["t", "gnd"] }}
woofer = {{ kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }}
[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
table = '''
{table}
'''
"""


def bench(rng: np.random.Generator) -> tuple[str, dict[str, tuple[float, float]]]:
    """A board's sheet, and for each part its true main value at 1 kHz and loss exponent."""
    scope, generator = Scope(rng), Generator(rng)
    source_ohm = 50.0 * (1 + rng.uniform(-0.05, 0.05))
    coil = np.exp(rng.uniform(np.log(0.15e-3), np.log(3e-3), 2))
    cap = np.exp(rng.uniform(np.log(1.5e-6), np.log(40e-6), 2))
    ohm = np.exp(rng.uniform(np.log(3.0), np.log(40.0)))
    ends = {"L1": ("in", "w"), "C1": ("w", "gnd"), "C2": ("in", "t"), "L2": ("t", "gnd")}
    values = dict(zip(ends, (coil[0], cap[0], cap[1], coil[1]), strict=True))
    esr = {
        "L1": rng.uniform(0.2, 0.8),
        "L2": rng.uniform(0.2, 0.8),
        "C1": rng.uniform(0.08, 0.4),
        "C2": rng.uniform(0.01, 0.04),
    }
    loss = {n: abs(rng.normal(0.0, 0.02 if n[0] == "L" else 0.01)) for n in ends}
    elements: list[Element] = [(n[0], *ends[n], values[n], esr[n], loss[n]) for n in ends]
    elements.append(("R", "t", "gnd", ohm))
    lead: Element = (
        "L",
        "gnd",
        "earth",
        0.3e-6 * 3 ** rng.normal(0, 0.7),
        0.03 * 3 ** rng.normal(0, 0.7),
        0.0,
    )
    lines = ["frequency/Hz " + " ".join(f"{node}/mVpp" for node in NODES)]
    for f_hz in FREQUENCIES_HZ:
        f = np.array([f_hz * (1 + scope.frequency)])
        cells = []
        for node in NODES:
            probe: Element = ("C", node, "earth", 15e-12, 0.0, 0.0)
            v = voltages([*elements, lead, probe], f, "in", "earth", source_ohm, "earth")
            cells.append(f"{1e3 * scope.read(generator.emf(f_hz) * float(abs(v[node][0]))):.5g}")
        lines.append(f"{f_hz} " + " ".join(cells))
    text = SHEET.format(open=scope.read(6.043), table="\n".join(lines))
    return text, {**{n: (values[n], loss[n]) for n in ends}, "R1": (float(ohm), 0.0)}


def main(boards: int = 50, seed: int = 1) -> None:
    """Run and print."""
    rng = np.random.default_rng(seed)
    inside, z, errors, bad = [], [], [], 0
    for k in range(boards):
        text, truth = bench(rng)
        settled = ohmbook.settle(ohmbook.read_sheet(text=text))
        wrong = []
        for name, (value, loss) in truth.items():
            one = next(e for e in settled.estimates if e.name == name)
            true = value * ((one.frequency_hz or 1000.0) / 1000.0) ** -loss
            if not one.determined:
                continue
            inside.append(one.low <= true <= one.high)
            z.append(np.log(one.value / true) * one.value / one.standard_uncertainty)
            errors.append(abs(one.value / true - 1.0))
            if abs(z[-1]) > 4:
                wrong.append(f"{name} {one.value:.3g} for {true:.3g}")
        if wrong:
            bad += 1
            p = settled.consistency.p_value
            print(
                f"board {k}: {'; '.join(wrong)} (p {p:.2g}, {len(settled.posterior.modes)} modes,"
                f" aside {settled.posterior.set_aside})",
                flush=True,
            )
    print(
        f"{boards} boards, {len(inside)} determined values, inside {100 * np.mean(inside):.1f} %, "
        f"rms of (estimate - truth)/u {np.sqrt(np.mean(np.square(z))):.3f}, "
        f"median error {100 * np.median(errors):.2f} %, worst {100 * max(errors):.1f} %, "
        f"boards with a wrong answer {bad}"
    )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
