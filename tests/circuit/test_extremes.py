"""Values from 1e-12 to 1e15 ohm thrown together: what is lost is what was told, and no more.

The reference is `tableau.precise`, nodal analysis in 60 digits.
"""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook.circuit import digits_lost, respond, slopes
from ohmbook.circuit.network import QUANTITIES, Branch, Drive, Element, Network

from .boards import Floats
from .tableau import distance, precise

ELEMENTS: tuple[Element, ...] = ("resistor", "inductor", "capacitor")


def thrown_together(rng: np.random.Generator) -> tuple[Network, Floats]:
    """Up to seven nodes; each main value has, at 1 kHz, an impedance from anywhere."""
    count = int(rng.integers(2, 8))
    pairs = [(int(rng.integers(0, k)), k) for k in range(1, count)]
    pairs += [(int(a), int(b)) for a, b in rng.integers(0, count, (count, 2)) if a != b]
    branches, values = [], {("source", "resistance"): float(10.0 ** rng.uniform(-12.0, 3.0))}
    for k, (a, b) in enumerate(pairs):
        element = ELEMENTS[rng.integers(0, 3)]
        ohm = float(10.0 ** rng.uniform(-12.0, 15.0))
        main = {"resistor": ohm, "inductor": ohm / 6283.0, "capacitor": 1.0 / (6283.0 * ohm)}
        branches.append(Branch(f"p{k}", element, (f"n{a}", f"n{b}")))
        values[(f"p{k}", QUANTITIES[element][0])] = main[element]
        if element != "resistor" and rng.random() < 0.5:
            values[(f"p{k}", "resistance")] = float(10.0 ** rng.uniform(-12.0, 2.0))
        if element == "inductor" and rng.random() < 0.3:
            values[(f"p{k}", "winding_capacitance")] = float(10.0 ** rng.uniform(-12.0, -6.0))
    plus, minus = rng.permutation(count)[:2]
    probes = tuple((f"n{a}", f"n{b}") for a, b in rng.integers(0, count, (3, 2)))
    return Network(tuple(branches), Drive((f"n{plus}", f"n{minus}"), "source"), probes), values


@pytest.mark.parametrize("seed", range(60))
def test_no_more_is_lost_than_is_told(seed: int) -> None:
    rng = np.random.default_rng(seed)
    network, values = thrown_together(rng)
    f_hz = float(10.0 ** rng.uniform(0.0, 5.0))
    found, lost = respond(network, values, [f_hz]), digits_lost(network, values, [f_hz])
    solved = slopes(network, values, [f_hz])
    assert np.isfinite(solved.transfer).all()
    assert np.isfinite(solved.input_impedance).all()
    together = [*found.transfer[:, 0, 0], found.input_impedance[0, 0]]
    for one, wanted in zip(together, precise(network, values, f_hz), strict=True):
        if abs(wanted) < 1e-40:
            assert abs(one) < 1e-40
        else:
            assert distance(complex(one), wanted) <= 10.0 ** (lost.digits - 15.2)
