"""The nouns of the circuit room: a network by names, and which quantities each element has.

A network is hashable and immutable, so that plans can be cached by it. Values are handed in
separately, as a mapping from `(owner, quantity)` to a float or to an array of draws.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Id = tuple[str, str]
Node = str
Pair = tuple[Node, Node]
Element = Literal[
    "resistor", "inductor", "capacitor", "semi-inductor", "given", "point", "short", "open"
]
Values = Mapping[Id, "float | NDArray[np.float64]"]

REFERENCE_HZ = 1000.0
"""Frequency at which `inductance` and `capacitance` hold where a loss exponent is given, Hz."""

QUANTITIES: dict[Element, tuple[str, ...]] = {
    "resistor": ("resistance",),
    "inductor": ("inductance", "resistance", "loss", "winding_capacitance"),
    "capacitor": ("capacitance", "resistance", "loss"),
    "semi-inductor": ("modulus", "exponent"),
    "given": ("impedance",),
    "point": ("inductance", "resistance"),
    "short": (),
    "open": (),
}
"""The quantities of each element, the main one first. Any but the first may be absent from the
values handed in; it is then zero (ideal)."""


@dataclass(frozen=True, slots=True)
class Branch:
    """One element between two nodes.

    Args:
        owner: whose values it takes (a part's name, a lead's, a probe's).
        element: what it is. "short" and "open" are structural: no value, exact. A "semi-inductor"
            is K (jw)^n, its modulus K in ohm at 1 rad/s and its exponent n above 0, at most 1. A
            "given" one has its `impedance` handed in for each frequency; "point" is what it is
            made into, a resistance and an inductance of either sign.
        ends: its two nodes.
    """

    owner: str
    element: Element
    ends: Pair


@dataclass(frozen=True, slots=True)
class Drive:
    """The source: an EMF of 1 between two nodes, behind a resistance.

    Args:
        ends: (plus, minus) nodes at its terminals; neither need be the ground.
        owner: whose `resistance` stands in series; None for an ideal EMF.
    """

    ends: Pair
    owner: str | None = None


@dataclass(frozen=True, slots=True)
class Coupling:
    """Two coils that share some of their field: two windings, or two parts of a tapped one.

    Its one quantity is `coupling`, k from 0 to 1 inclusive, with the mutual reactance
    X_M = k sqrt(X1 X2). The first end of each coil's branch is its dotted one: currents that enter
    at both dots help each other.

    Args:
        owner: whose value k is.
        coils: the owners of the two coils, each with one branch.
    """

    owner: str
    coils: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Network:
    """A driven network and where it is looked at.

    Args:
        branches: the elements.
        drive: the source.
        probes: pairs of nodes; the voltage of the first against the second is what is read.
        couplings: which coils share their field; of each two coils there is one at most. More than
            two may be on one core, each two of them with a coupling of their own.
    """

    branches: tuple[Branch, ...]
    drive: Drive
    probes: tuple[Pair, ...] = ()
    couplings: tuple[Coupling, ...] = ()
    _hash: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        # A network is looked up by every reading of it: hashed once, not each time.
        whole = (self.branches, self.drive, self.probes, self.couplings)
        object.__setattr__(self, "_hash", hash(whole))

    def __hash__(self) -> int:
        return self._hash

    def __reduce__(self) -> tuple[object, ...]:
        # Made anew on the other side: strings hash otherwise there.
        return Network, (self.branches, self.drive, self.probes, self.couplings)

    @property
    def ids(self) -> tuple[Id, ...]:
        """Every (owner, quantity) that can matter here, in order, each once."""
        found: dict[Id, None] = {}
        if self.drive.owner is not None:
            found[(self.drive.owner, "resistance")] = None
        for branch in self.branches:
            for quantity in QUANTITIES[branch.element]:
                found[(branch.owner, quantity)] = None
        for coupling in self.couplings:
            found[(coupling.owner, "coupling")] = None
        return tuple(found)
