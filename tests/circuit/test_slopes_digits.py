"""Slopes against derivatives in 60 digits, to 1e-9 of each and of nothing else.

The reference is `test_slopes.by_mpmath`: central differences of nodal analysis in 60 digits with
a step of 1e-20, so that neither truncation (1e-40) nor rounding (1e-40) is seen. Every quantity,
every output and the input impedance; where a slope is exactly zero it must be given as zero, or as
what the rounding of its largest neighbour leaves.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import mpmath
import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook.circuit import slopes
from ohmbook.circuit.network import Coupling, Network

from .boards import Board, Floats, three_way
from .tableau import precise
from .test_slopes import STEP, by_mpmath

Complexes = NDArray[np.complex128]
WITHIN = 1e-9


def by_log_frequency(network: Network, values: Floats, f_hz: float) -> Complexes:
    with mpmath.workdps(60):
        up, down = (
            precise(network, values, mpmath.mpf(f_hz) * mpmath.exp(step)) for step in (STEP, -STEP)
        )
        return np.array([complex((a - b) / (2 * STEP)) for a, b in zip(up, down, strict=True)])


def matches(network: Network, values: Floats, f_hz: float, every: int = 1) -> Complexes:
    """Hold all slopes, or one in so many, against mpmath's; gives them back, (outputs, ids)."""
    solved = slopes(network, values, [f_hz])
    found = np.concatenate([solved.transfer, solved.input_impedance[None]])[:, :, 0]
    assert solved.ids == network.ids
    moving = [k for k, one in enumerate(solved.ids) if values.get(one) or one[1] == "loss"]
    moving = moving[::every]
    held = moving if every > 1 else list(range(len(solved.ids)))
    wanted = np.zeros_like(found)
    for k in moving:
        wanted[:, k] = by_mpmath(network, values, solved.ids[k], f_hz)
    largest = np.abs(found).max(axis=1, keepdims=True)
    # Below a millionth of the largest there is nothing but rounding to compare.
    allowed = WITHIN * np.maximum(np.abs(wanted), 1e-6 * largest)
    assert np.all((np.abs(found - wanted) <= allowed)[:, held])
    log_f = np.append(solved.transfer_log_f[:, 0], solved.input_impedance_log_f[0])
    assert log_f == pytest.approx(by_log_frequency(network, values, f_hz), rel=WITHIN)
    return found


@pytest.mark.parametrize(("f_hz", "every"), [(85.0, 4), (2750.0, 1)])
def test_the_ordinary_three_way(f_hz: float, every: int) -> None:
    """12 nodes, 18 parts, with loss exponents and a winding capacitance: 46 quantities."""
    network, values = three_way()
    found = matches(network, values, f_hz, every)
    assert found.shape == (4, 46)
    assert np.abs(found[-1]).max() > 1.0


@pytest.mark.parametrize("k", [0.3, 0.999, 1.0])
@pytest.mark.parametrize("shared", [True, False])
def test_coupled_coils_with_losses(k: float, shared: bool) -> None:
    """A transformer whose coils have a loss exponent each, with a common node and without."""
    board = Board().res("R", "in", "a", 4.7).coil("L1", "a", "gnd", 3e-3, resistance=0.2, loss=0.03)
    far = "gnd" if shared else "b"
    board.coil("L2", "c", far, 1.5e-3, resistance=0.1, loss=0.03).cap("C", "c", far, 2e-6)
    board.res("load", "c", far, 8.0)
    if not shared:
        board.res("tie", "b", "a", 12.0)
        board.res("back", "b", "gnd", 3.0)
    board.values[("K", "coupling")] = k
    plain = board.driven([("c", far), ("a", "gnd"), ("a", "c")], ohm=0.5)
    network = Network(plain.branches, plain.drive, plain.probes, (Coupling("K", ("L1", "L2")),))
    found = matches(network, board.values, 1300.0)
    assert np.abs(found[:, network.ids.index(("K", "coupling"))]).min() > 1e-3


@pytest.mark.parametrize("f_hz", [60.0, 4000.0])
def test_semi_inductor_and_loss_exponents(f_hz: float) -> None:
    """A driver with a semi-inductance after lossy parts, all quantities at once."""
    board = Board().coil("L", "in", "a", 0.7e-3, resistance=0.4, loss=0.05)
    board.cap("C", "a", "gnd", 6.8e-6, resistance=0.2, loss=0.015).res("Re", "a", "b", 5.6)
    board.add("Le", "semi-inductor", "b", "c", modulus=0.031, exponent=0.67)
    board.coil("M", "c", "gnd", 20e-3, resistance=1e-3).cap("D", "c", "gnd", 300e-6)
    board.res("S", "c", "gnd", 30.0)
    network = board.driven([("a", "gnd"), ("b", "c"), ("gnd", "c")], ohm=0.2)
    found = matches(network, board.values, f_hz)
    for quantity in ("modulus", "exponent"):
        assert np.abs(found[:, network.ids.index(("Le", quantity))]).max() > 1e-3


def nulled(case: str) -> tuple[Network, dict[Any, float], float]:
    """Circuits whose first output is nothing, or as near to it as floats come."""
    if case == "bridge":
        board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 20.0)
        board.res("R3", "a", "gnd", 15.0).res("R4", "b", "gnd", 30.0).res("R5", "a", "b", 7.0)
        return board.driven([("a", "b")], ohm=1.0), board.values, 100.0
    if case == "twin-T":
        farad = 1.0 / (1570.0 * 2.0 * pi * 1000.0)
        board = Board().res("R1", "in", "x", 1570.0).res("R2", "x", "out", 1570.0)
        board.cap("C3", "x", "gnd", 2.0 * farad).cap("C1", "in", "y", farad)
        board.cap("C2", "y", "out", farad).res("R3", "y", "gnd", 785.0)
        board.res("load", "out", "gnd", 47e3)
        return board.driven([("out", "gnd")], ohm=50.0), board.values, 1000.0
    board = Board().res("R", "in", "out", 8.0).coil("L", "out", "x", 0.5e-3)
    board.cap("C", "x", "gnd", 3.3e-6).res("load", "out", "gnd", 6.0)
    f_hz = 1.0 / (2.0 * pi * sqrt(0.5e-3 * 3.3e-6))
    return board.driven([("out", "gnd"), ("x", "gnd")], ohm=0.3), board.values, f_hz


@pytest.mark.parametrize("case", ["bridge", "twin-T", "trap"])
def test_at_a_null(case: str) -> None:
    network, values, f_hz = nulled(case)
    found = matches(network, values, f_hz)
    null = slopes(network, values, [f_hz]).response.transfer[0, 0, 0]
    assert abs(null) < 1e-13
    assert np.abs(found[0]).max() > 1e-3
