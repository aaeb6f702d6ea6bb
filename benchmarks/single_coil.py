"""1000 simulated single-coil benches a seed: do the intervals hold what they promise?

    python -m benchmarks.single_coil [BENCHES] [SEED ...]

Every error is drawn exactly as the sheet states it: limits as uniform, the scope's steps by
rounding, the ground lead and the losses as the project states what it believes of them. The
circuit is solved by dense algebra of the benchmark's own. Expected: 95 % intervals cover 93 to
98 %, root mean square of (estimate - truth) / u between 0.9 and 1.1.
"""

from __future__ import annotations

import sys

import numpy as np

import ohmbook
from benchmarks.demo_board import Scope
from benchmarks.dense import Element, voltages
from benchmarks.screen import finest_range

SHEET = """
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope" }}
sources.generator = {{ resistance = "50 ohm ± 5 %", earthed = true }}
parts.L1 = {{ kind = "inductor", resistance = "{r:.4g} ohm ± 20 %" }}

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "{f:g} Hz"
open = "{open:.6g} Vpp @ {open_range:g} V/div"
across = "{across:.6g} Vpp @ {across_range:g} V/div"
"""


def bench(rng: np.random.Generator) -> tuple[str, float, float]:
    """One bench: its sheet, and the coil's true inductance and loss exponent (1 kHz)."""
    scope = Scope(rng)
    source_ohm = 50.0 * (1.0 + rng.uniform(-0.05, 0.05))
    inductance = float(np.exp(rng.uniform(np.log(0.1e-3), np.log(5e-3))))
    stated_ohm = float(f"{rng.uniform(0.1, 1.0):.3g}")
    ohm = stated_ohm * (1.0 + rng.uniform(-0.2, 0.2))
    loss = rng.normal(0.0, 0.02)
    f_hz = float(f"{50.0 * rng.uniform(0.4, 1.2) / (2 * np.pi * inductance):.3g}")
    open_vpp = rng.uniform(2.0, 8.0)
    lead_ohm, lead_h = 0.03 * 3.0 ** rng.normal(), 0.3e-6 * 3.0 ** rng.normal()
    probe_f = 15e-12 + rng.uniform(-3e-12, 3e-12)
    elements: list[Element] = [
        ("L", "out", "com", inductance, ohm, loss),
        ("L", "com", "earth", lead_h, lead_ohm, 0.0),
        ("C", "out", "earth", probe_f, 0.0, 0.0),
    ]
    f = np.array([f_hz * (1.0 + scope.frequency)])
    share = abs(voltages(elements, f, "out", "earth", source_ohm, "earth")["out"][0])
    open_read, across_read = scope.read(open_vpp), scope.read(open_vpp * float(share))
    text = SHEET.format(
        r=stated_ohm,
        f=f_hz,
        open=open_read,
        across=across_read,
        open_range=finest_range(open_read),
        across_range=finest_range(across_read),
    )
    return text, inductance, loss


def run(benches: int, seed: int) -> tuple[float, float]:
    """Coverage of the 95 % interval, and the rms of (estimate - truth) / u."""
    rng = np.random.default_rng(seed)
    inside, z = [], []
    for _ in range(benches):
        text, inductance, loss = bench(rng)
        found = ohmbook.settle(ohmbook.read_sheet(text=text)).estimate("L1", "inductance")
        assert found.frequency_hz is not None
        true = inductance * (found.frequency_hz / 1000.0) ** -loss
        inside.append(found.low <= true <= found.high)
        z.append(np.log(found.value / true) * found.value / found.standard_uncertainty)
    return float(np.mean(inside)), float(np.sqrt(np.mean(np.square(z))))


def main(benches: int = 1000, *seeds: int) -> None:
    """Run all seeds and print one line each."""
    for seed in seeds or (1, 2, 3):
        cover, rms = run(benches, seed)
        print(
            f"seed {seed}: {benches} benches, inside the 95 % interval {100 * cover:.1f} %, "
            f"rms of (estimate - truth)/u {rms:.3f}",
            flush=True,
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
