"""Boards drawn at random and a bench to read them with: what every study simulates with.

A `Board` is the truth: parts with their values, losses and nodes. A `Bench` is one evening's
instruments, their errors drawn once: an 8-bit scope with automatic ranges, its gain shared by all
readings within 3 %, what a range adds within 0.5 %, a generator of 50 ohm within 5 %, an ohmmeter
of 0.8 % + 2 digits. `sheet` writes what a person would type, `take` fills in any blank reading as
the bench would show it. Everything is solved by dense algebra that shares no code with the product.

    board, bench = two_way(rng), Bench(rng)              # ideal
    board, bench = two_way(rng, real=True), Bench(rng, real=True)
    text = sheet(board, bench, [check(bench), grid(board, bench, FREQUENCIES_HZ)])
    filled = take(board, bench, {"kind": "probe", "at": "in", "frequency": "1.3 kHz",
                                 "detached": ["woofer"], "amplitudes": {"w": ""}})
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, exp, floor, log
from typing import Any, Literal

import numpy as np

from benchmarks.dense import Element, path_ohm, voltages
from benchmarks.screen import Screen
from ohmbook.units.parse import parse_quantity

FREQUENCIES_HZ = (60, 150, 300, 500, 800, 1200, 1700, 2400, 3400, 4800, 6800, 9600, 13600, 19000)
"""Fourteen frequencies, a plain grid."""

Kind = Literal["inductor", "capacitor", "resistor", "driver"]
Blank = Mapping[str, Any]
Span = tuple[float, float]
KINDS: dict[str, Kind] = {"L": "inductor", "C": "capacitor", "R": "resistor"}
MAIN = {"inductor": "inductance", "capacitor": "capacitance"}
COIL_LOSS, CAPACITOR_LOSS = 0.024, 0.01
"""Loss exponents of the real-like boards: an ordinary air coil, an ordinary capacitor."""
CENTRE = {"inductor": 1e-3, "capacitor": 5e-6, "resistor": 10.0}
"""What is believed before of a part of which nothing is stated (DESIGN.md 5)."""
FAR: Span = (3.0, 6.0)
"""A far board crosses over lower or higher by a factor drawn from here: its coils and capacitors
are all that much larger, or all that much smaller. Its impedance level moves by a factor of up to
two as well."""
SCATTERED: Span = (3.0, 10.0)
"""Each part of a scattered board lies by a factor drawn from here above or below what is believed
before, each its own way: no board that anyone would build, but the hardest to find."""
Lie = Literal["usual", "far", "scattered"]


@dataclass(frozen=True)
class TruePart:
    """One part as it really is: main value at 1 kHz, series resistance, loss exponent; SI.

    `said` is what the sheet says of it besides kind and nodes (`{"dielectric": "film"}`).
    """

    kind: Kind
    ends: tuple[str, str] | None
    value: float
    ohm: float = 0.0
    loss: float = 0.0
    said: Mapping[str, str] = field(default_factory=dict)

    def element(self, ends: tuple[str, str] | None = None) -> Element:
        """The part for the dense algebra."""
        a, b = ends or self.ends or ("", "")
        if self.kind == "inductor":
            return ("L", a, b, self.value, self.ohm, self.loss)
        if self.kind == "capacitor":
            return ("C", a, b, self.value, self.ohm, self.loss)
        return ("R", a, b, self.value)

    def at(self, quantity: str, f_hz: float | None) -> float:
        """The true value of a quantity as the settled document tells it."""
        if quantity != MAIN.get(self.kind, "resistance"):
            return self.ohm
        return self.value if f_hz is None else self.value * (f_hz / 1000.0) ** -self.loss


@dataclass(frozen=True)
class Board:
    """A board as it really is. `nodes` are the ones a plain grid reads."""

    parts: Mapping[str, TruePart]
    nodes: tuple[str, ...]
    input: str = "in"
    ground: str = "gnd"

    @property
    def drivers(self) -> tuple[str, ...]:
        """The drivers on the board."""
        return tuple(n for n, p in self.parts.items() if p.kind == "driver" and p.ends)

    @property
    def main(self) -> dict[str, str]:
        """Main quantity of every coil and capacitor, by name: what studies look at."""
        return {n: MAIN[p.kind] for n, p in self.parts.items() if p.kind in MAIN}

    def changed(self, name: str, **changes: Any) -> Board:
        """The board with one part otherwise: `board.changed("C1", ends=("t", "gnd"))`."""
        return replace(self, parts={**self.parts, name: replace(self.parts[name], **changes)})

    def without(self, name: str) -> Board:
        """The board with one part missing."""
        return replace(self, parts={n: p for n, p in self.parts.items() if n != name})

    def with_part(self, name: str, part: TruePart) -> Board:
        """The board with one part more."""
        return replace(self, parts={**self.parts, name: part})


class Bench:
    """One evening's instruments; every error drawn once, as the sheet states it.

    Args:
        rng: the source of chance.
        real: 70 mohm (and 0.3 uH) of return lead, and peak-to-peak read one code high; the sheet
            then says 0.03 ohm and nothing of noise, else it says that there is none of either.
        open_vpp: the generator's amplitude, nothing connected, V peak to peak.
        earthed: both generator and scope earthed (their grounds are one).
    """

    def __init__(
        self,
        rng: np.random.Generator,
        real: bool = False,
        open_vpp: float = 6.0,
        earthed: bool = True,
    ) -> None:
        self.rng, self.real, self.earthed, self.open_vpp = rng, real, earthed, open_vpp
        self.screen = Screen(rng, excess_codes=1.0 if real else 0.0)
        self.source_ohm = 50.0 * (1.0 + rng.uniform(-0.05, 0.05))
        self.meter_gain = rng.uniform(-0.008, 0.008)
        self.leads_ohm = rng.uniform(0.15, 0.4)
        self.return_ohm, self.return_h = (0.07, 0.3e-6) if real else (0.0, 0.0)
        self.probe_f = 15e-12 + rng.uniform(-3e-12, 3e-12)
        self._loads: dict[str, float] = {}

    def load(self, written: str) -> float:
        """What a written load really is: drawn from its statement once."""
        if written not in self._loads:
            said = parse_quantity(written, "ohm")
            self._loads[written] = said.value + said.half_width * self.rng.uniform(-1.0, 1.0)
        return self._loads[written]

    def ohms(self, true: float) -> str:
        """What the ohmmeter displays: any of the 0.1 ohm steps that its limits leave."""
        shown = true * (1.0 + self.meter_gain)
        fits = np.arange(ceil((shown - 0.2) / 0.1), floor((shown + 0.2) / 0.1) + 1) * 0.1
        return f"{abs(float(fits[int(self.rng.integers(fits.size))])):.1f} ohm"

    def shown(self, vpp: float) -> str:
        """A voltage as displayed."""
        return f"{1e3 * self.screen.read(vpp):.6g} mVpp"


# -- boards drawn at random ----------------------------------------------------------------

Plan = Mapping[str, tuple[str, str, float, float]]

TWO_WAY: Plan = {
    "L1": ("in", "m", 0.5e-3, 2.5e-3),
    "C1": ("m", "gnd", 4e-6, 30e-6),
    "L3": ("m", "w", 0.2e-3, 1.2e-3),
    "R1": ("w", "z", 4.0, 12.0),
    "C2": ("z", "gnd", 4e-6, 25e-6),
    "C3": ("in", "a", 3e-6, 15e-6),
    "L2": ("a", "gnd", 0.15e-3, 0.8e-3),
    "C4": ("a", "b", 5e-6, 30e-6),
    "R2": ("b", "t", 1.0, 8.0),
    "R3": ("t", "gnd", 5.0, 25.0),
    "woofer": ("w", "gnd", 8.0, 8.0),
    "tweeter": ("t", "gnd", 8.0, 8.0),
}
"""Two ways of third order with a Zobel network and an L-pad: ten parts besides the drivers; ends,
and between what its value is drawn (log-uniform)."""

THREE_WAY: Plan = {
    "L1": ("in", "w1", 1.5e-3, 6e-3),
    "C1": ("w1", "gnd", 30e-6, 150e-6),
    "L2": ("w1", "w", 0.5e-3, 2.5e-3),
    "C2": ("w", "wz", 10e-6, 60e-6),
    "R1": ("wz", "gnd", 4.0, 12.0),
    "C3": ("in", "m1", 30e-6, 150e-6),
    "L3": ("m1", "gnd", 2e-3, 8e-3),
    "L4": ("m1", "m2", 0.2e-3, 1.2e-3),
    "C4": ("m2", "gnd", 3e-6, 15e-6),
    "R2": ("m2", "m", 1.0, 5.0),
    "R3": ("m", "gnd", 10.0, 50.0),
    "C5": ("in", "t1", 2e-6, 10e-6),
    "L5": ("t1", "gnd", 0.1e-3, 0.6e-3),
    "C6": ("t1", "t2", 4e-6, 20e-6),
    "R4": ("t2", "t3", 0.5, 3.0),
    "R5": ("t3", "t", 1.0, 5.0),
    "R6": ("t", "gnd", 5.0, 20.0),
    "R7": ("t2", "gnd", 30.0, 150.0),
    "woofer": ("w", "gnd", 8.0, 8.0),
    "midrange": ("m", "gnd", 8.0, 8.0),
    "tweeter": ("t", "gnd", 8.0, 8.0),
}
"""Eighteen parts besides the drivers."""

FIRST_ORDER: Plan = {
    "L1": ("in", "w", 0.5e-3, 3e-3),
    "C1": ("in", "a", 3e-6, 15e-6),
    "R1": ("a", "t", 1.0, 8.0),
    "R2": ("t", "gnd", 5.0, 25.0),
    "woofer": ("w", "gnd", 8.0, 8.0),
    "tweeter": ("t", "gnd", 8.0, 8.0),
}
"""With the woofer unplugged nothing flows in its coil."""

SERIES: Plan = {
    "L1": ("x", "gnd", 0.3e-3, 1.5e-3),
    "C1": ("in", "x", 5e-6, 40e-6),
    "R1": ("x", "gnd", 10.0, 40.0),
    "woofer": ("in", "x", 8.0, 8.0),
    "tweeter": ("x", "gnd", 8.0, 8.0),
}
"""The drivers in series: coil across one, capacitor across the other."""


def two_way(rng: np.random.Generator, real: bool = False, lie: Lie = "usual") -> Board:
    """A two-way board of ten parts besides the drivers; three nodes are read."""
    return drawn(TWO_WAY, ("m", "w", "t"), rng, real, lie)


def three_way(rng: np.random.Generator, real: bool = False, lie: Lie = "usual") -> Board:
    """A three-way board of eighteen parts besides the drivers."""
    return drawn(THREE_WAY, ("w", "m", "t"), rng, real, lie)


def first_order(rng: np.random.Generator, real: bool = False) -> Board:
    """First order, both ways."""
    return drawn(FIRST_ORDER, ("in", "w", "t"), rng, real)


def series(rng: np.random.Generator, real: bool = False) -> Board:
    """A series network."""
    return drawn(SERIES, ("in", "x"), rng, real)


def drawn(
    plan: Plan,
    nodes: Sequence[str],
    rng: np.random.Generator,
    real: bool = False,
    lie: Lie = "usual",
) -> Board:
    """A board of any plan: values log-uniform between its ends; FAR and SCATTERED say where else
    they may lie. A driver is 0.8 of what is rated, give or take 10 %."""
    lower, level = (_factor(rng, FAR), _factor(rng, (1.0, 2.0))) if lie == "far" else (1.0, 1.0)
    shift = {"inductor": lower * level, "capacitor": lower / level, "resistor": level}
    parts = {name: _part(name, row, rng, real, shift) for name, row in plan.items()}
    if lie == "scattered":
        for name, part in parts.items():
            if part.kind != "driver":
                value = CENTRE[part.kind] * _factor(rng, SCATTERED)
                parts[name] = replace(part, value=value)
    return Board(parts, tuple(nodes))


def _factor(rng: np.random.Generator, span: Span) -> float:
    return exp(rng.uniform(log(span[0]), log(span[1])) * (1 if rng.random() < 0.5 else -1))


def _part(
    name: str,
    row: tuple[str, str, float, float],
    rng: np.random.Generator,
    real: bool,
    shift: Mapping[str, float],
) -> TruePart:
    a, b, low, high = row
    if name[0] not in "LCR":
        ohm = 0.8 * low * (1.0 + rng.uniform(-0.1, 0.1))
        return TruePart("driver", (a, b), ohm, said={"rated": f"{low:g} ohm"})
    kind = KINDS[name[0]]
    value = exp(rng.uniform(log(low), log(high))) * shift[kind]
    if kind == "inductor":
        return TruePart(kind, (a, b), value, rng.uniform(0.15, 0.7), COIL_LOSS if real else 0.0)
    if kind == "resistor":
        return TruePart(kind, (a, b), value)
    wet = value > 12e-6
    esr = rng.uniform(0.08, 0.4) if wet else rng.uniform(0.01, 0.04)
    said = {"dielectric": "electrolytic" if wet else "film"}
    return TruePart(kind, (a, b), value, esr, CAPACITOR_LOSS if real else 0.0, said)


# -- what a person would type --------------------------------------------------------------

HEAD = """\
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ resistance = "50 ohm ± 5 %", open = "{open}", earthed = {earthed} }}
instruments.meter = {{ kind = "multimeter", resistance = "0.8 % + 2 digits" }}
sketch = {{ input = "{input}", ground = "{ground}" }}
[instruments.scope]
kind = "oscilloscope"
reads = "peak to peak"
shared_gain = "3 %"
range_gain = "0.5 %"
step = "0.04 div"
probe_capacitance = "15 pF ± 3 pF"
return_lead = "{lead}"
{noise}earthed = {earthed}
[parts]
"""


def sheet(board: Board, bench: Bench, readings: Iterable[Blank] = (), more: str = "") -> str:
    """The sheet's text.

    Args:
        board: as drawn by the person: hand in a changed board for a wrong sketch.
        bench: whose instruments are stated.
        readings: filled ones, from `take`, `check` and `grid`. The generator's open amplitude is
            that of the reading named "check" where there is one, else it was read once.
        more: TOML to add to [parts], `R9 = { kind = "resistor", value = "22 ohm ± 1 %" }`.
    """
    taken = list(readings)
    checked = any(one.get("name") == "check" for one in taken)
    head = HEAD.format(
        open="@check" if checked else bench.shown(bench.open_vpp),
        earthed=str(bench.earthed).lower(),
        lead="0.03 ohm" if bench.real else "0 ohm",
        noise="" if bench.real else 'noise = "0 mV"\n',
        input=board.input,
        ground=board.ground,
    )
    parts = "\n".join(_part_line(name, part) for name, part in board.parts.items())
    return head + parts + "\n" + more + "\n" + "\n".join(map(reading_text, taken))


def _part_line(name: str, part: TruePart) -> str:
    words = {"kind": part.kind, **part.said}
    cells = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in words.items()]
    if part.ends is not None:
        cells.append(f"between = {json.dumps(part.ends)}")
    return f"{name} = {{ {', '.join(cells)} }}"


def reading_text(reading: Blank) -> str:
    """One reading as TOML."""
    lines = ["[[readings]]"]
    for key, value in reading.items():
        if key == "table":
            lines.append(f"table = '''\n{value}\n'''")
        else:
            lines.append(f"{key} = {_toml(value)}")
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, str | bool | int | float):
        return json.dumps(value, ensure_ascii=False)
    return "[" + ", ".join(_toml(one) for one in value) + "]"


# -- readings ------------------------------------------------------------------------------


def check(board: Board, bench: Bench, load: str = "47 ohm ± 0.5 %") -> dict[str, Any]:
    """The source check: open, and across a known resistor. Its open amplitude serves every probe
    reading of the sheet."""
    blank = {"kind": "source loading", "name": "check", "load": load, "frequency": "1 kHz"}
    return take(board, bench, blank)


def grid(
    board: Board,
    bench: Bench,
    frequencies_hz: Sequence[float] = FREQUENCIES_HZ,
    nodes: Sequence[str] = (),
) -> dict[str, Any]:
    """A plain grid: every driver detached, source at the input, a table of nodes."""
    blank = {"kind": "probe", "at": board.input, "detached": list(board.drivers)}
    heads = "frequency/Hz " + " ".join(f"{node}/mVpp" for node in nodes or board.nodes)
    cells = " ".join("?" for _ in nodes or board.nodes)
    table = "\n".join([heads, *(f"{f:g} {cells}" for f in frequencies_hz)])
    return take(board, bench, {**blank, "table": table})


def take(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:
    """A blank reading filled in as this bench would show it on this board.

    Args:
        board: the truth, whatever the sheet says of it.
        bench: the instruments.
        blank: a reading without its result (a suggestion's `reading`); what is filled in may be
            missing, "" or a guess. In a table every cell is filled in but "-".

    Returns:
        The reading, ready for `sheet`.
    """
    return {**blank, **TAKERS[blank["kind"]](board, bench, blank)}


def _probe(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:
    at = blank["at"] if isinstance(blank["at"], str) else blank["at"][0]
    minus = board.ground if isinstance(blank["at"], str) else blank["at"][1]
    ends = (at, minus, blank.get("scope_ground", board.ground))
    elements = connected(board, bench, blank)
    filled: dict[str, Any] = {}
    if "open" in blank and not str(blank["open"]).startswith("@"):
        filled["open"] = bench.shown(bench.open_vpp)
    if "table" in blank:
        return {**filled, "table": _table(bench, elements, ends, blank["table"])}
    f_hz = np.array([parse_quantity(blank["frequency"], "Hz").value])
    answer = {n: probed(bench, elements, ends, f_hz, n)[0] for n in _read(blank)}
    if blank.get("amplitudes"):
        size = {n: bench.shown(bench.open_vpp * abs(answer[n])) for n in blank["amplitudes"]}
        filled["amplitudes"] = size
    if blank.get("phases"):
        angles = {n: float(np.angle(answer[n], deg=True)) for n in blank["phases"]}
        noisy = {n: angle + bench.rng.normal(0.0, 1.0) for n, angle in angles.items()}
        filled["phases"] = {n: f"{angle:.1f} deg ± 2 deg (k=2)" for n, angle in noisy.items()}
    return filled


def _read(blank: Blank) -> set[str]:
    return {*blank.get("amplitudes", ()), *blank.get("phases", ())}


def _table(bench: Bench, elements: list[Element], ends: tuple[str, str, str], text: str) -> str:
    rows = [words for line in text.splitlines() if (words := line.partition("#")[0].split())]
    heads = [head.split("@")[0].split("/") for head in rows[0]]
    unit = {"Hz": 1.0, "kHz": 1e3}[heads[0][1]]
    f_hz = np.array([float(row[0]) * unit for row in rows[1:]])
    for column, (node, volts) in enumerate(heads[1:], 1):
        answer = bench.open_vpp * abs(probed(bench, elements, ends, f_hz, node))
        scale = {"mVpp": 1e3, "Vpp": 1.0}[volts]
        for row, vpp in zip(rows[1:], answer, strict=True):
            if row[column] != "-":
                row[column] = f"{scale * bench.screen.read(float(vpp)):.6g}"
    return "\n".join("  ".join(row) for row in rows)


def _source_loading(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:
    load: Element = ("R", "out", "gnd", _ohms_of(board, bench, blank["load"]))
    f_hz = np.array([parse_quantity(blank.get("frequency", "1 kHz"), "Hz").value])
    share = voltages([load], f_hz, "out", "gnd", bench.source_ohm, "gnd")["out"][0]
    opened = blank.get("open", "")
    own = opened if str(opened).startswith("@") else bench.shown(bench.open_vpp)
    return {"open": own, "loaded": bench.shown(bench.open_vpp * abs(share))}


def _amplitude_ratio(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:
    f_hz = np.array([parse_quantity(blank["frequency"], "Hz").value])
    series = blank.get("resistor")
    first = "com" if blank.get("probe_on") == "resistor" else "x"
    elements = [board.parts[blank["part"]].element(("x", "com"))]
    if series is not None:
        ohm = _ohms_of(board, bench, series)
        chain = ("x", "out") if first == "x" else ("com", "x")
        elements = [
            board.parts[blank["part"]].element(("x", "com") if first == "x" else ("out", "x")),
            ("R", *chain, ohm),
        ]
    tip, plus = "x", "x" if series is None else "out"
    answer = probed(bench, elements, (plus, "com", "com"), f_hz, tip)[0]
    return {
        "open": bench.shown(bench.open_vpp),
        "across": bench.shown(bench.open_vpp * abs(answer)),
    }


def _resistance(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:
    if blank.get("part") is not None:
        part = board.parts[blank["part"]]
        true = part.value if part.kind in ("resistor", "driver") else part.ohm
    else:
        a, b = blank["between"]
        true = path_ohm(connected(board, bench, blank), a, b)
    if blank.get("wires") == 4:
        return {"value": bench.ohms(true)}
    return {"value": bench.ohms(true + bench.leads_ohm), "leads": bench.ohms(bench.leads_ohm)}


def _generator_off(board: Board, bench: Bench, blank: Blank) -> dict[str, Any]:  # noqa: ARG001
    return {"value": bench.shown(0.0)}


TAKERS = {
    "probe": _probe,
    "source loading": _source_loading,
    "amplitude ratio": _amplitude_ratio,
    "resistance": _resistance,
    "generator off": _generator_off,
}
"""How each kind of reading is taken."""


# -- the circuit as connected --------------------------------------------------------------

SHORT_OHM, LEAK_OHM = 1e-6, 1e12


def connected(board: Board, bench: Bench, reading: Blank) -> list[Element]:
    """The board's elements with what the reading says was changed on it."""
    gone = {
        *reading.get("detached", ()),
        *(e.rpartition(".")[0] for e in reading.get("lifted", ())),
    }
    instead, shorted = reading.get("instead", {}), reading.get("shorted", ())
    found: list[Element] = []
    for name, part in board.parts.items():
        if part.ends is None:
            continue
        if name in shorted:
            found.append(("R", *part.ends, SHORT_OHM))
        elif name in instead:
            found.append(("R", *part.ends, _ohms_of(board, bench, instead[name])))
        elif name not in gone:
            found.append(part.element())
    added = reading.get("added", {})
    return found + [board.parts[name].element(tuple(ends)) for name, ends in added.items()]


def probed(
    bench: Bench,
    elements: Sequence[Element],
    ends: tuple[str, str, str],
    f_hz: np.ndarray[Any, np.dtype[np.float64]],
    node: str,
) -> np.ndarray[Any, np.dtype[np.complex128]]:
    """What the probe sees over the EMF, at each frequency.

    Args:
        bench: source, probe and ground lead.
        elements: the board as connected.
        ends: the source's plus and minus, and the scope's ground.
        f_hz: shape (n,), hertz.
        node: where the probe is.
    """
    plus, minus, reference = ends
    lead: list[Element] = []
    if bench.earthed and bench.return_ohm:
        lead = [("L", reference, "earth", bench.return_h, bench.return_ohm, 0.0)]
        minus = reference = "earth"
    elif bench.earthed:
        minus = reference
    nodes = {n for e in elements for n in e[1:3]} | {node}
    leaks: list[Element] = [("R", n, reference, LEAK_OHM) for n in nodes if n != reference]
    probe: list[Element] = (
        [] if node == reference else [("C", node, reference, bench.probe_f, 0.0, 0.0)]
    )
    circuit = [*elements, *lead, *leaks, *probe]
    return voltages(circuit, f_hz, plus, minus, bench.source_ohm, reference)[node]


def _ohms_of(board: Board, bench: Bench, written: str) -> float:
    return board.parts[written].value if written in board.parts else bench.load(written)
