"""Boards with closed forms, as networks and values.

Prototypes: singly terminated ladders, Weinberg, Network Analysis and Synthesis (1962), table of
Butterworth elements, values from memory, reproduced by continued fractions; Linkwitz-Riley from
Linkwitz, JAES 24 (1), 1976. g runs from the source to the load.
"""

from __future__ import annotations

from math import pi, sqrt

from ohmbook.circuit.network import Branch, Drive, Id, Network

R_OHM = 8.0
FC_HZ = 3000.0

BUTTERWORTH: dict[int, tuple[float, ...]] = {
    1: (1.0,),
    2: (sqrt(2.0), 1.0 / sqrt(2.0)),
    3: (3.0 / 2.0, 4.0 / 3.0, 1.0 / 2.0),
    4: (1.530733729460, 1.577161014949, 1.082392200292, 0.382683432365),
    5: (1.545084971875, 1.694427190999, 1.381966011250, 0.894427191000, 0.309016994375),
}
LINKWITZ_RILEY: dict[int, tuple[float, ...]] = {
    2: (2.0, 0.5),
    4: (4 * sqrt(2) / 3, 9 * sqrt(2) / 8, 2 * sqrt(2) / 3, sqrt(2) / 4),
}

Arm = tuple[list[Branch], dict[Id, float]]


def low_pass(g: tuple[float, ...], load: str = "woofer", fc_hz: float = FC_HZ) -> Arm:
    """Series coils, shunt capacitors: L = g R/w, C = g/(R w)."""
    return _ladder(g, load, ("inductor", "capacitor"), fc_hz)


def high_pass(g: tuple[float, ...], load: str = "tweeter", fc_hz: float = FC_HZ) -> Arm:
    """Series capacitors, shunt coils: C = 1/(g R w), L = R/(g w)."""
    return _ladder(g, load, ("capacitor", "inductor"), fc_hz)


def _ladder(g: tuple[float, ...], load: str, kinds: tuple[str, str], fc_hz: float) -> Arm:
    w = 2.0 * pi * fc_hz
    low = kinds[0] == "inductor"
    branches: list[Branch] = []
    values: dict[Id, float] = {(load, "resistance"): R_OHM}
    here = "in"
    for k, one in enumerate(g):
        series = k % 2 == 0
        owner = f"{load} {k + 1}"
        there = f"{load} n{k}" if series else "gnd"
        if kinds[0 if series else 1] == "inductor":
            branches.append(Branch(owner, "inductor", (here, there)))
            values[(owner, "inductance")] = one * R_OHM / w if low else R_OHM / (one * w)
        else:
            branches.append(Branch(owner, "capacitor", (here, there)))
            values[(owner, "capacitance")] = one / (R_OHM * w) if low else 1.0 / (one * R_OHM * w)
        here = there if series else here
    branches.append(Branch(load, "resistor", (here, "gnd")))
    return branches, values


def network(*arms: Arm, owner: str | None = None) -> tuple[Network, dict[Id, float]]:
    """The arms in parallel at the input; each load is an output across itself."""
    branches = [branch for arm in arms for branch in arm[0]]
    probes = tuple(arm[0][-1].ends for arm in arms)
    values = {key: value for arm in arms for key, value in arm[1].items()}
    return Network(tuple(branches), Drive(("in", "gnd"), owner), probes), values
