"""The demo's board: its stated truth, and the readings that a person would have taken of it.

Simulated by dense algebra with every fault a bench has: an 8-bit screen's steps, ranges, gain
errors, a noisy peak-to-peak read-out, a ground lead, lossy coils and capacitors, a generator that
sags. Seed 1 is the sheet that ships with the demo. Nothing of it was measured.

    python -m benchmarks.demo_board            writes the demo's sheets (seed 1) anew
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from math import ceil, floor, log10
from pathlib import Path

import numpy as np

from benchmarks.dense import Element, path_ohm, voltages
from benchmarks.screen import Screen, finest_range

SHIPPED = Path(__file__).parents[1] / "src" / "ohmbook" / "demo"

TRUTH: dict[str, dict[str, float]] = {
    "L1": {"inductance": 1.213e-3, "resistance": 0.412, "loss": 0.021},
    "L2": {"inductance": 0.3292e-3, "resistance": 0.338, "loss": 0.017},
    "L3": {"inductance": 0.5527e-3, "resistance": 0.271, "loss": 0.024},
    "C1": {"capacitance": 14.31e-6, "resistance": 0.213, "loss": 0.012},
    "C2": {"capacitance": 9.62e-6, "resistance": 0.164, "loss": 0.009},
    "C3": {"capacitance": 6.684e-6, "resistance": 0.018, "loss": 0.002},
    "C4": {"capacitance": 15.27e-6, "resistance": 0.015, "loss": 0.001},
    "R1": {"resistance": 6.73},
    "R2": {"resistance": 2.238},
    "R3": {"resistance": 11.81},
    "generator": {"resistance": 49.31},
}
"""What the board really is. Inductance and capacitance hold at 1 kHz."""

ENDS: dict[str, tuple[str, str]] = {
    "L1": ("in", "m"),
    "C1": ("m", "gnd"),
    "L3": ("m", "w"),
    "R1": ("w", "z"),
    "C2": ("z", "gnd"),
    "C3": ("in", "a"),
    "L2": ("a", "gnd"),
    "C4": ("a", "b"),
    "R2": ("b", "t"),
    "R3": ("t", "gnd"),
}
SPARE_COIL = (0.3382e-3, 0.294, 0.015)
"""Inductance at 1 kHz, resistance and loss exponent of a coil out of the drawer."""

DRIVERS = {"woofer": ("w", "gnd"), "tweeter": ("gnd", "t")}
FREQUENCIES_KHZ = (0.1, 0.3, 0.7, 1.2, 1.8, 2.6, 3.8, 6.0, 12.0)
NODES = ("in", "m", "w", "a", "t")
OPEN_VPP = 6.043
RETURN_OHM, RETURN_H, PROBE_F = 0.034, 0.27e-6, 14.1e-12


class Scope(Screen):
    """A screen as the sheet states an entry-level one, whose noise nobody has read."""

    def __init__(self, rng: np.random.Generator) -> None:
        super().__init__(rng)
        self.excess_codes = rng.uniform(0.0, 3.0)
        self.excess_v = 0.7e-3 * 3.0 ** float(rng.normal())
        self.frequency = rng.uniform(-50e-6, 50e-6)


@dataclass
class Generator:
    """A source that sags with frequency, half of it slowly and half of it at random."""

    rng: np.random.Generator
    limit: float = 0.01

    def __post_init__(self) -> None:
        self.slow = self.rng.uniform(-1, 1, 8) * self.limit / np.sqrt(2.0)
        self.own: dict[float, float] = {}

    def emf(self, f_hz: float) -> float:
        """Open amplitude at a frequency, volts peak to peak."""
        decades = log10(f_hz)
        low = floor(decades)
        slow = self.slow[low] * (low + 1 - decades) + self.slow[low + 1] * (decades - low)
        own = self.own.setdefault(f_hz, self.rng.uniform(-1, 1) * self.limit / np.sqrt(2.0))
        return float(OPEN_VPP * (1.0 + slow + own))


def element(name: str, ends: tuple[str, str]) -> Element:
    """One part of the truth as a dense element."""
    part = TRUTH[name]
    if "inductance" in part:
        return ("L", *ends, part["inductance"], part["resistance"], part["loss"])
    if "capacitance" in part:
        return ("C", *ends, part["capacitance"], part["resistance"], part["loss"])
    return ("R", *ends, part["resistance"])


def board() -> list[Element]:
    """The whole board, drivers detached."""
    return [element(name, ends) for name, ends in ENDS.items()]


@dataclass
class Bench:
    """One simulated evening at the bench."""

    seed: int

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.scope = Scope(self.rng)
        self.generator = Generator(self.rng)
        self.meter_gain = self.rng.uniform(-0.008, 0.008)
        self.leads = self.rng.uniform(0.15, 0.4)
        self.source_ohm = TRUTH["generator"]["resistance"]

    def amplitude(
        self, elements: list[Element], f_hz: float, at: str, node: str, lead: bool = True
    ) -> float:
        """An amplitude as displayed, volts peak to peak."""
        ground: list[Element] = [("L", "gnd", "earth", RETURN_H, RETURN_OHM, 0.0)] if lead else []
        earth = "earth" if lead else "gnd"
        probe: Element = ("C", node, earth, PROBE_F, 0.0, 0.0)
        f = np.array([f_hz * (1.0 + self.scope.frequency)])
        v = voltages([*elements, *ground, probe], f, at, earth, self.source_ohm, earth)
        return self.scope.read(self.generator.emf(f_hz) * float(abs(v[node][0])))

    def ohms(self, true: float) -> float:
        """What a 0.8 % + 2 digits meter displays: any of the steps its limits leave."""
        shown = true * (1.0 + self.meter_gain)
        fits = np.arange(ceil((shown - 0.2) / 0.1), floor((shown + 0.2) / 0.1) + 1) * 0.1
        return float(fits[int(self.rng.integers(fits.size))])

    def half_frequency(self, half_of: float) -> float:
        """Where L1 alone brings the trace to half of what was read open, on the same range."""
        range_v = finest_range(half_of)
        aim = half_of / 2.0 + self.rng.uniform(-0.5, 0.5) * 0.04 * range_v
        low, high = 1e3, 2e4
        for _ in range(60):
            middle = float(np.sqrt(low * high))
            below = self.shown_alone(middle, range_v) < aim
            low, high = (middle, high) if below else (low, middle)
        return low

    def shown_alone(self, f_hz: float, range_v: float) -> float:
        """L1 alone across the generator on a range, volts peak to peak, before rounding."""
        elements: list[Element] = [
            element("L1", ("x", "gnd")),
            ("L", "gnd", "earth", RETURN_H, RETURN_OHM, 0.0),
            ("C", "x", "earth", PROBE_F, 0.0, 0.0),
        ]
        f = np.array([f_hz * (1.0 + self.scope.frequency)])
        v = voltages(elements, f, "x", "earth", self.source_ohm, "earth")["x"]
        size = self.generator.emf(5600.0) * float(abs(v[0]))
        return self.scope.before_rounding(size, range_v)


def table(bench: Bench) -> str:
    """The readings at the nodes, in millivolts peak to peak."""
    lines = ["frequency/kHz  " + "  ".join(f"{node}/mVpp".rjust(8) for node in NODES)]
    for f_khz in FREQUENCIES_KHZ:
        read = [bench.amplitude(board(), 1e3 * f_khz, "in", node) for node in NODES]
        cells = "  ".join(f"{1e3 * v:8.5g}" for v in read)
        lines.append(f"{f_khz:<13g}  {cells}")
    return "\n".join(lines)


def sheet(seed: int = 1) -> str:
    """The demo's sheet as typed at the bench with this seed's errors."""
    return _sheet(Bench(seed))


def further(plan: str, seed: int = 1) -> str:
    """A plan's text with every blank filled in, as read with the same bench.

    Args:
        plan: readings of ohms between nodes and tables of amplitudes, as `ohmbook next --plan`
            prints them for this board.
        seed: of the bench.
    """
    bench = Bench(seed)
    _sheet(bench)
    blocks = plan.split("[[readings]]")[1:]
    return "\n".join("[[readings]]" + _filled(bench, block) for block in blocks)


def _filled(bench: Bench, block: str) -> str:
    """One reading of a plan with its blanks filled in."""
    said = tomllib.loads(block)
    loads = said.get("instead", {}).items()
    elements: list[Element] = [
        *board(),
        *(("R", *DRIVERS[name], float(load.split()[0])) for name, load in loads),
    ]
    if said["kind"] == "resistance":
        shown = f"{bench.ohms(path_ohm(elements, *said['between']) + bench.leads):.1f} ohm"
        return block.partition("  # expected")[0].replace('"?"', f'"{shown}"') + "\n"
    if said["kind"] == "source loading":
        load = float(said["load"].split()[0])
        shown = f"{bench.amplitude([('R', 'out', 'gnd', load)], 1000.0, 'out', 'out'):.4g} Vpp"
        return block.partition("  # expected")[0].replace('"?"', f'"{shown}"') + "\n"
    return _filled_table(bench, elements, block, said["at"])


def _filled_table(bench: Bench, elements: list[Element], block: str, at: str) -> str:
    before, head, table_ = block.partition("frequency/Hz")
    first, *rows = [line.partition("#")[0].split() for line in table_.splitlines()]
    nodes = [word.removesuffix("/Vpp") for word in first]
    lines = [[f"{head}".ljust(12), *first]]
    for f_hz, *cells in (row for row in rows if row and row[0] != "'''"):
        read = [
            f"{bench.amplitude(elements, float(f_hz), at, node):.5g}" if cell == "?" else cell
            for node, cell in zip(nodes, cells, strict=True)
        ]
        lines.append([f_hz.ljust(12), *read])
    told = "\n".join("  ".join(text.ljust(6) for text in line).rstrip() for line in lines)
    return f"{before}{told}\n'''\n"


def spare(seed: int = 1) -> str:
    """The sheet of a coil out of the drawer, its tester's answer written with a slip."""
    bench = Bench(seed)
    _sheet(bench)
    return SPARE.format(**_spare_numbers(bench))


def _spare_numbers(bench: Bench) -> dict[str, str]:
    load: Element = ("R", "out", "gnd", 47.2)
    coil: Element = ("L", "x", "gnd", *SPARE_COIL)
    across = {f: bench.amplitude([coil], 1e3 * f, "x", "x") for f in (8, 20)}
    tester = SPARE_COIL[0] * 10.0 ** -SPARE_COIL[2] * (1.0 + bench.rng.uniform(-0.02, 0.02))
    return {
        "emf": f"{bench.scope.read(OPEN_VPP):.4g}",
        "open": f"{bench.scope.read(bench.generator.emf(1000.0)):.4g}",
        "loaded": f"{bench.amplitude([load], 1000.0, 'out', 'out'):.4g}",
        "across_8": f"{across[8]:.4g}",
        "across_20": f"{across[20]:.4g}",
        "tester": f"{1e5 * tester:.3g}",  # the slip: 1e6 would be µH
    }


def _sheet(bench: Bench) -> str:
    load: Element = ("R", "out", "gnd", 47.21 * (1 + bench.rng.uniform(-0.005, 0.005)))
    emf = bench.scope.read(OPEN_VPP)
    open_1k = bench.scope.read(bench.generator.emf(1000.0))
    loaded = bench.amplitude([load], 1000.0, "out", "out", lead=True)
    half_of = bench.scope.read(bench.generator.emf(5600.0))
    direct = board()
    numbers = {
        "emf": f"{emf:.4g}",
        "open_1k": f"{open_1k:.4g}",
        "loaded": f"{loaded:.4g}",
        "half_of": f"{half_of:.4g}",
        "half_f": f"{bench.half_frequency(half_of):.4g}",
        "off": f"{1e3 * bench.scope.read(0.0):.3g}",
        "leads": f"{bench.ohms(bench.leads):.1f}",
        "dc_lw": f"{bench.ohms(path_ohm(direct, 'in', 'w') + bench.leads):.1f}",
        "table": table(bench),
    }
    return TEMPLATE.format(**numbers)


TEMPLATE = """\
title = "Hall monitor, left"                # a stage monitor out of a rehearsal hall
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ like = "generator", open = "{emf} Vpp" }}
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope" }}
instruments.meter = {{ kind = "multimeter", like = "cheap multimeter" }}
sketch = {{ input = "in", ground = "gnd" }}

[parts]                                     # the woofer's arm, then the tweeter's
L1 = {{ kind = "inductor", between = ["in", "m"] }}
C1 = {{ kind = "capacitor", marking = "15 MFD NP 50V", between = ["m", "gnd"] }}
L3 = {{ kind = "inductor", between = ["m", "w"] }}
R1 = {{ kind = "resistor", marking = "5W 6R8J", between = ["w", "z"] }}
C2 = {{ kind = "capacitor", dielectric = "electrolytic", between = ["z", "gnd"] }}
woofer = {{ kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }}
C3 = {{ kind = "capacitor", marking = "6.8K250", between = ["in", "a"] }}
L2 = {{ kind = "inductor", marking = "330", between = ["a", "gnd"] }}
C4 = {{ kind = "capacitor", dielectric = "film", between = ["a", "b"] }}
R2 = {{ kind = "resistor", marking = "2R2", between = ["b", "t"] }}
R3 = {{ kind = "resistor", between = ["t", "gnd"] }}
tweeter = {{ kind = "driver", rated = "8 ohm", between = ["gnd", "t"] }}   # turned round

[[readings]]
kind = "source loading"                     # what is the generator really?
open = "{open_1k} Vpp"
loaded = "{loaded} Vpp"
load = "47.2 ohm ± 0.5 %"
frequency = "1 kHz"

[[readings]]
kind = "generator off"                      # how much noise widens the trace
value = "{off} mVpp"

[[readings]]
kind = "amplitude ratio"                    # L1 alone, one leg lifted
part = "L1"
frequency = "{half_f} Hz"                       # turned until the trace was half as high
half_of = "{half_of} Vpp"

[[readings]]
kind = "resistance"                         # ohmmeter on the board
between = ["in", "w"]
value = "{dc_lw} ohm"
leads = "{leads} ohm"

[[readings]]
kind = "probe"                              # all the rest, nothing unsoldered
at = "in"
detached = ["woofer", "tweeter"]
table = '''
{table}
'''
"""


SPARE = """\
title = "A spare for L2"                    # out of the drawer, read alone
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ like = "generator", open = "{emf} Vpp" }}
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope", noise = "1.2 mV" }}
parts.L4 = {{ kind = "inductor", marking = "330" }}

[[readings]]
kind = "source loading"
open = "{open} Vpp"
loaded = "{loaded} Vpp"
load = "47.2 ohm ± 0.5 %"
frequency = "1 kHz"

[[readings]]
kind = "amplitude ratio"
part = "L4"
frequency = "8 kHz"
across = "{across_8} Vpp"

[[readings]]
kind = "amplitude ratio"
part = "L4"
frequency = "20 kHz"
across = "{across_20} Vpp"

[[readings]]
kind = "meter"                              # a tester's own answer
part = "L4"
inductance = "{tester} uH ± 2 %"
frequency = "10 kHz"
"""


def renew() -> None:
    """Write the three sheets where they ship, the plan's readings as the planner asks for them."""
    from ohmbook.job.pages import DEMO_PLAN
    from ohmbook.job.settled import settle
    from ohmbook.job.wanted import plan_document, plan_readings
    from ohmbook.sheet.read import read_sheet

    settled = settle(read_sheet(text=sheet()))
    plan = plan_document(plan_readings(settled, DEMO_PLAN), settled)["plan"]["text"]
    for name, text in (("board", sheet()), ("further", further(plan)), ("spare", spare())):
        (SHIPPED / f"{name}.toml").write_text(text, encoding="utf-8")
        print(f"wrote {name}.toml")


if __name__ == "__main__":
    renew()
