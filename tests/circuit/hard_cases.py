"""A hundred circuits that are hard on digits, family by family; none sits exactly at its null.

Each family is known from any textbook of networks: bridges, traps, twin-T, transformers, ladders.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from ohmbook.circuit import respond
from ohmbook.circuit.network import Coupling, Drive, Network, Pair

from .boards import Board, Floats, ladder, three_way
from .test_extremes import thrown_together

KHZ = 2.0 * pi * 1000.0
"""rad/s of 1 kHz."""


@dataclass(frozen=True)
class Case:
    """One network at one frequency."""

    name: str
    network: Network
    values: Floats
    f_hz: float


Family = Iterator[tuple[Board, list[Pair], float, float | None]]
"""Boards, what is looked at, at which frequency, and the source's resistance."""


def wheatstone() -> Family:
    """Four arms, off balance by less and less; with and without a load across, arms unlike."""
    for k, off in enumerate((1e-2, 1e-4, 1e-5, 1e-7, 1e-9, 1e-10, 1e-12, 1e-13)):
        scale = (1.0, 1e5)[k % 2]
        board = Board().res("R1", "in", "a", 11.3).res("R2", "in", "b", 23.7 * scale)
        board.res("R3", "a", "gnd", 17.9 * (1.0 + off))
        board.res("R4", "b", "gnd", 23.7 * scale * 17.9 / 11.3)
        if k % 3:
            board.res("R5", "a", "b", 33.1)
        yield board, [("a", "b"), ("a", "gnd")], 100.0, 50.0


def maxwell() -> Family:
    """A coil against a capacitor with its resistor, R2 R3 = L/C: balanced at all frequencies."""
    for off in (1e-2, 1e-4, 1e-6, 1e-8, 1e-10, 1e-12):
        board = Board().res("R1", "in", "a", 470.0).cap("C1", "in", "a", 0.22e-6)
        board.res("R2", "in", "b", 330.0).res("R3", "a", "gnd", 150.0)
        henry, ohm = 330.0 * 150.0 * 0.22e-6, 330.0 * 150.0 / 470.0
        board.coil("L", "b", "gnd", henry * (1.0 + off), resistance=ohm)
        yield board, [("a", "b"), ("b", "a")], 1700.0, 5.0


def cancelling_arms() -> Family:
    """A coil and a resistor against a resistor and a capacitor; R S = L/C would cancel."""
    for off in (1e-2, 1e-4, 1e-6, 1e-8, 1e-10, 1e-12):
        board = Board().coil("L", "in", "a", 8.1 / KHZ * (1.0 + off)).res("R", "a", "gnd", 8.1)
        board.res("S", "in", "b", 8.1).cap("C", "b", "gnd", 1.0 / (8.1 * KHZ))
        yield board, [("a", "b")], 700.0, 1.0


def twin_t() -> Family:
    """Two T of R and C whose output vanishes at 1/(2 pi R C)."""
    for off in (1e-1, 1e-3, 1e-5, 1e-7, 1e-9, 1e-11, 1e-12):
        ohm, farad = 1570.0, 1.0 / (1570.0 * KHZ)
        board = Board().res("R1", "in", "x", ohm).res("R2", "x", "out", ohm)
        board.cap("C3", "x", "gnd", 2.0 * farad).cap("C1", "in", "y", farad)
        board.cap("C2", "y", "out", farad).res("R3", "y", "gnd", ohm / 2.0)
        board.res("load", "out", "gnd", 47e3)
        yield board, [("out", "gnd")], 1000.0 * (1.0 + off), 50.0


def _resonance(henry: float, farad: float) -> float:
    return 1.0 / (2.0 * pi * sqrt(henry * farad))


def shunt_trap() -> Family:
    """A lossless coil and capacitor across the output, near their resonance."""
    for off in (1e-3, -1e-5, 1e-7, -1e-9, 1e-11, 1e-12):
        board = Board().res("R", "in", "out", 8.2).coil("L", "out", "x", 0.47e-3)
        board.cap("C", "x", "gnd", 3.3e-6).res("load", "out", "gnd", 6.1)
        f_hz = _resonance(0.47e-3, 3.3e-6) * (1.0 + off)
        yield board, [("out", "gnd"), ("x", "gnd"), ("out", "x")], f_hz, 0.3


def inside_a_resonance() -> Family:
    """The output between a coil and a capacitor that are all there is."""
    for off in (1e-2, 1e-4, -1e-6, 1e-8, -1e-10, 1e-12):
        board = Board().coil("L", "in", "x", 5.6e-3).cap("C", "x", "gnd", 47e-6)
        f_hz = _resonance(5.6e-3, 47e-6) * (1.0 + off)
        yield board, [("x", "gnd"), ("in", "x"), ("in", "gnd")], f_hz, 10.7


def series_trap() -> Family:
    """A lossless tank in the way to the load."""
    for off in (1e-3, -1e-5, 1e-7, -1e-9, 1e-11, 1e-12):
        board = Board().coil("L", "in", "out", 1.2e-3).cap("C", "in", "out", 10e-6)
        board.res("load", "out", "gnd", 7.7)
        f_hz = _resonance(1.2e-3, 10e-6) * (1.0 + off)
        yield board, [("out", "gnd"), ("in", "out")], f_hz, 2.2


def middle_node() -> Family:
    """A T whose middle node has no admittance left at one frequency."""
    for off in (1e-2, -1e-7, 1e-12):
        first, second = 0.9e-3, 2.1e-3
        farad = (1.0 / first + 1.0 / second) / KHZ**2
        board = Board().coil("L1", "in", "m", first).coil("L2", "m", "out", second)
        board.cap("C", "m", "gnd", farad).res("R", "out", "gnd", 5.6)
        yield board, [("out", "gnd"), ("m", "gnd")], 1000.0 * (1.0 + off), 3.9


def odd_ohms() -> Family:
    """One part from 1e-12 to 1e15 ohm beside ordinary ones, in each of two places."""
    for k, ohm in enumerate((1e-12, 1e-6, 1e6, 1e12, 1e15)):
        board = Board().coil("L", "in", "a", 0.82e-3, resistance=0.4)
        board.cap("C", "a", "gnd", 8.2e-6).cap("D", "b", "gnd", 1.5e-6).res("R", "b", "gnd", 8.3)
        board.res("odd", "a", "b", ohm)
        if k % 2:
            board.res("also", "b", "c", 1.0 / ohm).coil("M", "c", "gnd", 2e-3)
        yield board, [("b", "gnd"), ("a", "b")], 2300.0, 0.7


def leads() -> Family:
    """A pair of nodes along a lead, in a circuit that carries much more."""
    for k, ohm in enumerate((1e-3, 1e-6, 1e-12)):
        board = Board().coil("L", "in", "a", 1e-3, resistance=0.5).res("lead", "a", "b", ohm)
        board.cap("C", "b", "gnd", 1e-5).res("R", "b", "gnd", 8.0).cap("D", "a", "gnd", 1e-6)
        ends = [("b", "a")] if k % 2 else [("a", "b"), ("in", "b")]
        yield board, ends, 2000.0, 50.0


def sharp_traps() -> Family:
    """A tank and a trap with very little loss, at their resonance."""
    for ohm in (1e-2, 1e-4, 1e-6, 1e-8, 1e-10):
        board = Board().coil("L", "in", "a", 1.0e-3, resistance=ohm).cap("C", "a", "gnd", 2.2e-6)
        board.coil("M", "in", "b", 0.6e-3).cap("D", "in", "b", 4.7e-6, resistance=ohm)
        board.res("R", "b", "gnd", 12.0)
        yield board, [("a", "gnd"), ("b", "gnd")], _resonance(1.0e-3, 2.2e-6), 0.5


def divider_chains() -> Family:
    """Ladders of resistors whose rungs grow or shrink by decades."""
    for ratio in (1e1, 1e-2, 1e3):
        board = Board()
        for k in range(6):
            here, there = "in" if k == 0 else f"n{k}", f"n{k + 1}"
            board.res(f"R{k}", here, there, 10.3 * ratio**k)
            board.res(f"S{k}", there, "gnd", 7.1 / ratio**k)
        yield board, [("n6", "gnd"), ("n5", "n6"), ("n3", "gnd")], 1000.0, 1.0


def semi_inductors() -> Family:
    """A voice coil K (jw)^n against its own values in the other arm of a bridge, a little off."""
    for off in (1e-2, 1e-4, 1e-6, 1e-9, 1e-12):
        board = Board().res("R1", "in", "a", 10.1).res("R2", "in", "b", 20.9)
        board.res("Re", "a", "x", 5.6)
        board.add("Le", "semi-inductor", "x", "gnd", modulus=0.031, exponent=0.67)
        board.res("Rf", "b", "y", 5.6 * 20.9 / 10.1)
        modulus = 0.031 * 20.9 / 10.1 * (1.0 + off)
        board.add("Lf", "semi-inductor", "y", "gnd", modulus=modulus, exponent=0.67)
        yield board, [("a", "b"), ("x", "gnd")], 1900.0, 0.2


def losses_of_all_kinds() -> Family:
    """Loss exponents, series losses and a winding's own resonance, near a null of each."""
    for off in (1e-1, 1e-3, 1e-6, 1e-9, 1e-12):
        board = Board().coil("L", "in", "a", 1e-3, resistance=0.3, loss=0.03)
        board.cap("C", "a", "gnd", 4.7e-6, resistance=0.2, loss=0.01)
        board.coil("M", "in", "b", 2e-3, resistance=0.6, loss=0.03)
        board.cap("D", "b", "gnd", 2.35e-6 * (1.0 + off), resistance=0.4, loss=0.01)
        board.coil("W", "in", "c", 10e-3, winding_capacitance=1e-9).res("R", "c", "gnd", 100.0)
        yield board, [("a", "b"), ("c", "gnd")], _resonance(10e-3, 1e-9) * (1.0 + off), 5.0


FAMILIES: tuple[Callable[[], Family], ...] = (
    wheatstone,
    maxwell,
    cancelling_arms,
    twin_t,
    shunt_trap,
    inside_a_resonance,
    series_trap,
    middle_node,
    odd_ohms,
    leads,
    sharp_traps,
    divider_chains,
    semi_inductors,
    losses_of_all_kinds,
)


def transformers() -> Iterator[Case]:
    """Coupled coils, k up to nearly 1, with a common node and without; the secondary loaded with
    next to nothing, so that leakage alone is left."""
    for k, less in enumerate((0.1, 1e-3, 1e-5, 1e-7, 1e-9, 1e-11)):
        near, far = ("gnd", "gnd") if k % 2 else ("gnd", "cold")
        board = Board().coil("L1", "a", near, 3.1e-3, resistance=0.2).res("R", "in", "a", 4.7)
        board.coil("L2", "b", far, 1.7e-3).res("load", "b", far, 1e-3)
        board.values[("T", "coupling")] = 1.0 - less
        board.values[("source", "resistance")] = 1.0
        probes = (("a", "gnd"), ("b", far))
        coupled = (Coupling("T", ("L1", "L2")),)
        drive = Drive(("in", "gnd"), "source")
        network = Network(tuple(board.branches), drive, probes, coupled)
        yield Case(f"transformers {less:g}", network, board.values, 3000.0)


def deep_stop_bands() -> Iterator[Case]:
    """Ladders and the three-way far from where they pass."""
    for rungs, f_hz in ((6, 200e3), (20, 20e3), (80, 5e3)):
        yield Case(f"ladder {rungs}", *ladder(rungs), f_hz)
    yield Case("three-way", *three_way(), 0.02)


def near_random_zeros() -> Iterator[Case]:
    """Lossless networks of any shape with all values from wide ranges, driven without resistance:
    every answer is real, and its sign changes at zeros and poles, of which one is nearly met."""
    seed, found = 0, 0
    while found < 11:
        seed += 1
        rng = np.random.default_rng(seed)
        network, values = _lossless(rng)
        f_hz = _sign_change(network, values, rng)
        if f_hz:
            off = float(10.0 ** -rng.uniform(1.0, 12.0))
            found += 1
            yield Case(f"near a zero {seed}", network, values, f_hz * (1.0 + off))


def _lossless(rng: np.random.Generator) -> tuple[Network, Floats]:
    board, count = Board(), int(rng.integers(4, 8))
    pairs = [(int(rng.integers(0, k)), k) for k in range(1, count)]
    pairs += [(int(a), int(b)) for a, b in rng.integers(0, count, (count, 2)) if a != b]
    for k, (a, b) in enumerate(pairs):
        ohm = float(10.0 ** rng.uniform(0.0, 4.0))
        if rng.random() < 0.5:
            board.coil(f"L{k}", f"n{a}", f"n{b}", ohm / KHZ)
        else:
            board.cap(f"C{k}", f"n{a}", f"n{b}", 1.0 / (ohm * KHZ))
    a, b = rng.permutation(count)[:2]
    return board.driven([(f"n{a}", f"n{b}")], ends=("n0", f"n{count - 1}")), board.values


def _sign_change(network: Network, values: Floats, rng: np.random.Generator) -> float:
    """Where the probe's voltage changes sign, to the last digit; 0.0 where it doesn't."""
    grid = np.geomspace(100.0, 10e3, 200)
    signs = np.sign(respond(network, values, grid).transfer[0, 0].real)
    places = np.flatnonzero(signs[1:] * signs[:-1] < 0.0)
    if not places.size:
        return 0.0
    k = int(rng.choice(places))
    low, high = float(grid[k]), float(grid[k + 1])
    while low < (middle := 0.5 * (low + high)) < high:
        same = np.sign(respond(network, values, [middle]).transfer[0, 0, 0].real) == signs[k]
        low, high = (middle, high) if same else (low, middle)
    return low


def random_ones() -> Iterator[Case]:
    """Values from 1e-12 to 1e15 ohm thrown together."""
    for seed in range(100, 105):
        rng = np.random.default_rng(seed)
        network, values = thrown_together(rng)
        yield Case(f"random {seed}", network, values, float(10.0 ** rng.uniform(0.0, 5.0)))


def hard_cases() -> tuple[Case, ...]:
    """All hundred, in order."""
    found = []
    for family in FAMILIES:
        for k, (board, probes, f_hz, ohm) in enumerate(family()):
            network = board.driven(probes, ohm=ohm)
            found.append(Case(f"{family.__name__} {k}", network, board.values, f_hz))
    return (*found, *transformers(), *deep_stop_bands(), *near_random_zeros(), *random_ones())
