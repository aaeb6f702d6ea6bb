"""Circuits for the tests, built in a few words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import Branch, Drive, Element, Id, Network, Pair

Floats = dict[Id, float]
Draws = dict[Id, NDArray[np.float64]]


def spread(values: Floats, draws: int, seed: int = 3) -> Draws:
    """Values around the given ones, one standard uncertainty of 10 %."""
    rng = np.random.default_rng(seed)
    return {one: value * np.exp(0.1 * rng.standard_normal(draws)) for one, value in values.items()}


class Board:
    """Branches and their values, put together one by one."""

    def __init__(self) -> None:
        self.branches: list[Branch] = []
        self.values: Floats = {}

    def add(self, owner: str, element: Element, a: str, b: str, **quantities: float) -> Board:
        self.branches.append(Branch(owner, element, (a, b)))
        self.values |= {(owner, name): value for name, value in quantities.items()}
        return self

    def res(self, owner: str, a: str, b: str, ohm: float) -> Board:
        return self.add(owner, "resistor", a, b, resistance=ohm)

    def coil(self, owner: str, a: str, b: str, henry: float, **more: float) -> Board:
        return self.add(owner, "inductor", a, b, inductance=henry, **more)

    def cap(self, owner: str, a: str, b: str, farad: float, **more: float) -> Board:
        return self.add(owner, "capacitor", a, b, capacitance=farad, **more)

    def driven(
        self, probes: Sequence[Pair], ends: Pair = ("in", "gnd"), ohm: float | None = None
    ) -> Network:
        """The network, driven behind `ohm`; None for an ideal EMF."""
        if ohm is not None:
            self.values[("source", "resistance")] = ohm
        drive = Drive(ends, None if ohm is None else "source")
        return Network(tuple(self.branches), drive, tuple(probes))


def three_way(ohm: float | None = 0.1) -> tuple[Network, Floats]:
    """A three-way of 12 nodes and 18 parts into three resistive drivers."""
    board = Board()
    board.coil("L1", "in", "w1", 3e-3, resistance=0.4, loss=0.02)
    board.cap("C1", "w1", "gnd", 68e-6, resistance=0.1)
    board.coil("L2", "w1", "w", 1e-3, resistance=0.3)
    board.cap("C2", "w", "wz", 30e-6).res("R2", "wz", "gnd", 8.0)
    board.res("woofer", "w", "gnd", 8.0)
    board.cap("C3", "in", "m1", 100e-6, loss=0.01)
    board.coil("L3", "m1", "gnd", 5e-3, resistance=0.5, winding_capacitance=2e-10)
    board.coil("L4", "m1", "m2", 0.5e-3, resistance=0.2)
    board.cap("C4", "m2", "gnd", 6.8e-6).res("R3", "m2", "m", 2.0)
    board.res("midrange", "m", "gnd", 8.0)
    board.cap("C5", "in", "t1", 5.6e-6).coil("L5", "t1", "gnd", 0.3e-3, resistance=0.2, loss=0.01)
    board.cap("C6", "t1", "t2", 10e-6, resistance=0.05)
    board.res("R4", "t2", "t", 3.0).res("R5", "t", "gnd", 10.0)
    board.res("tweeter", "t", "gnd", 6.0)
    probes = [("w", "gnd"), ("m", "gnd"), ("t", "gnd")]
    return board.driven(probes, ohm=ohm), board.values


def ladder(rungs: int, seed: int = 1) -> tuple[Network, Floats]:
    """Series coils and shunt capacitors, `rungs` of each, into 8 ohm."""
    rng = np.random.default_rng(seed)
    board = Board()
    for k in range(rungs):
        here, there = "in" if k == 0 else f"n{k}", f"n{k + 1}"
        board.coil(f"L{k}", here, there, 1e-3 * rng.uniform(0.5, 2.0), resistance=0.5)
        board.cap(f"C{k}", there, "gnd", 10e-6 * rng.uniform(0.5, 2.0))
    board.res("load", f"n{rungs}", "gnd", 8.0)
    middle = (f"n{rungs // 2}", f"n{rungs // 2 + 1}")
    return board.driven([(f"n{rungs}", "gnd"), (middle[0], "gnd"), middle], ohm=1.0), board.values


def decibels(transfer: NDArray[np.complex128]) -> NDArray[np.float64]:
    return np.asarray(20.0 * np.log10(np.abs(transfer)))
