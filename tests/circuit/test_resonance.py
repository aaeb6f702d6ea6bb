"""Lossless circuits met exactly at their resonances, where other roads divide zero by zero.

The angular frequency is exactly 1 rad/s, and all values are small powers of two, so that sums
cancel to exactly nothing. The reference is `tableau.precise`, 60 digits with a pivoting solver.
"""

from __future__ import annotations

from math import pi
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ohmbook.circuit import digits_lost, respond, slopes
from ohmbook.circuit.careful import careful_plan
from ohmbook.circuit.exact import solve_exactly
from ohmbook.circuit.mend import mend
from ohmbook.circuit.network import QUANTITIES, Branch, Drive, Element, Network
from ohmbook.circuit.points import solve_points
from ohmbook.circuit.response import ready_for
from ohmbook.circuit.run import leaves_at
from ohmbook.circuit.values import inventory, tabulate
from ohmbook.errors import ContradictionError

from .boards import Board, Floats, three_way
from .tableau import distance, precise

AT_1 = 1.0 / (2.0 * pi)
"""Hertz; times 2 pi it is exactly 1.0 in floats, as the first test makes sure."""


def test_the_angular_frequency_is_exactly_1() -> None:
    assert 2.0 * pi * AT_1 == 1.0


@st.composite
def resonators(draw: st.DrawFn) -> tuple[Network, Floats]:
    """Up to six nodes, mostly L and C, values 1/2, 1 or 2, behind 1 ohm."""
    count = draw(st.integers(2, 6))
    node = st.integers(0, count - 1)
    different = st.tuples(node, node).filter(lambda pair: pair[0] != pair[1])
    pairs = [(draw(st.integers(0, k - 1)), k) for k in range(1, count)]
    pairs += draw(st.lists(different, max_size=count))
    elements: list[Element] = ["inductor", "capacitor", "inductor", "capacitor", "resistor"]
    branches, values = [], {("source", "resistance"): 1.0}
    for k, (a, b) in enumerate(pairs):
        element = draw(st.sampled_from(elements))
        branches.append(Branch(f"p{k}", element, (f"n{a}", f"n{b}")))
        values[(f"p{k}", QUANTITIES[element][0])] = draw(st.sampled_from([0.5, 1.0, 2.0]))
    plus, minus = draw(different)
    probes = draw(st.lists(st.tuples(node, node), min_size=1, max_size=3))
    named = tuple((f"n{a}", f"n{b}") for a, b in probes)
    return Network(tuple(branches), Drive((f"n{plus}", f"n{minus}"), "source"), named), values


@given(resonators())
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_exact_or_told(case: tuple[Network, Floats]) -> None:
    """Either the right answer, or the message that there is none: never a wrong one."""
    network, values = case
    try:
        found = respond(network, values, [AT_1])
    except ContradictionError:
        assert singular(network, values)
        return
    assert np.isfinite(found.transfer).all()
    solved = slopes(network, values, [AT_1])
    assert np.isfinite(solved.transfer).all()
    assert np.isfinite(solved.input_impedance).all()
    if not singular(network, values):
        wanted = precise(network, values, AT_1, omega=1)[:-1]
        for one, reference in zip(found.transfer[:, 0, 0], wanted, strict=True):
            if abs(reference) < 1e-40:
                assert abs(one) < 1e-14
            else:
                assert distance(complex(one), reference) < 1e-12


def singular(network: Network, values: Floats) -> bool:
    """Whether the equations, in 60 digits, have no single finite solution."""
    try:
        return any(abs(one) > 1e40 for one in precise(network, values, AT_1, omega=1))
    except ZeroDivisionError:
        return True


def series_resonance(ohm: float | None) -> tuple[Network, Floats]:
    board = Board().coil("L", "in", "x", 1.0).cap("C", "x", "gnd", 1.0)
    network = board.driven([("x", "gnd"), ("in", "x"), ("in", "gnd")], ohm=ohm)
    return network, board.values


def test_output_inside_a_series_resonance() -> None:
    """I = E/R; the coil and the capacitor stand at -+j/R, the terminals at nothing (textbook)."""
    network, values = series_resonance(ohm=50.0)
    found = respond(network, values, [AT_1])
    assert found.transfer[:, 0, 0].tolist() == [-0.02j, 0.02j, 0.0]
    assert found.input_impedance[0, 0] == 0.0
    assert found.input_admittance[0, 0] == complex(np.inf, 0.0)


def test_output_inside_a_series_resonance_of_ordinary_values() -> None:
    """5.6 mH and 47 uF, the frequency as near to the resonance as floats come."""
    board = Board().coil("L", "in", "x", 5.6e-3).cap("C", "x", "gnd", 47e-6)
    network = board.driven([("x", "gnd"), ("in", "x")], ohm=10.0)
    f_hz = 1.0 / (2.0 * pi * np.sqrt(5.6e-3 * 47e-6))
    found = respond(network, board.values, [f_hz])
    wanted = precise(network, board.values, f_hz)
    for one, reference in zip(found.transfer[:, 0, 0], wanted, strict=False):
        assert distance(complex(one), reference) < 1e-12
    assert abs(found.input_impedance[0, 0]) < 1e-13


def test_a_pole_of_the_output_is_told() -> None:
    network, values = series_resonance(ohm=None)
    with pytest.raises(
        ContradictionError, match=r'from "x" to "gnd" has no finite value at 0\.159'
    ):
        respond(network, values, [0.1, AT_1])


def test_a_trap_across_an_ideal_source_leaves_the_rest_alone() -> None:
    board = Board().coil("L", "in", "x", 1.0).cap("C", "x", "gnd", 1.0)
    board.res("R1", "in", "y", 1.0).res("R2", "y", "gnd", 3.0)
    found = respond(board.driven([("y", "gnd")]), board.values, [AT_1])
    assert found.transfer[0, 0, 0] == 0.75
    assert found.input_impedance[0, 0] == 0.0


def test_a_parallel_resonance_is_an_open_circuit() -> None:
    board = Board().coil("L", "in", "gnd", 1.0).cap("C", "in", "gnd", 1.0)
    found = respond(board.driven([("in", "gnd")], ohm=50.0), board.values, [AT_1, 0.5 * AT_1])
    assert found.transfer[0, 0, 0] == 1.0
    assert found.open_circuit.tolist() == [[True, False]]
    assert found.input_admittance[0, 0] == 0.0
    assert np.abs(found.input_impedance[0]).tolist() == [np.inf, pytest.approx(2.0 / 3.0)]
    solved = slopes(board.driven([("in", "gnd")], ohm=50.0), board.values, [AT_1])
    assert np.isfinite(solved.input_impedance).all()


def test_a_node_inside_that_resonates_with_all_its_neighbours() -> None:
    """A lossless T at the frequency where its middle node has no admittance left.

    With X = w L = 2 ohm twice and 1/(w C) = 1 ohm: Z_mesh = [[j, -j], [-j, j + 3]] (loop analysis).
    """
    board = Board().coil("L1", "in", "m", 2.0).coil("L2", "m", "out", 2.0).cap("C", "m", "gnd", 1.0)
    network = board.res("R", "out", "gnd", 3.0).driven([("out", "gnd")], ohm=2.0)
    found = respond(network, board.values, [AT_1])
    loops = np.array([[2.0 + 1j, 1j], [1j, 3.0 + 1j]])
    wanted = 3.0 * np.linalg.solve(loops, [1.0, 0.0])[1]
    assert found.transfer[0, 0, 0] == pytest.approx(wanted, rel=1e-14)
    assert digits_lost(network, board.values, [AT_1]).digits < 3.0
    draws = {key: np.full(300, value) for key, value in board.values.items()}
    many = respond(network, draws, [0.1, AT_1, 0.2])
    assert np.allclose(many.transfer[0, :, 1], wanted, rtol=1e-14, atol=0.0)


@pytest.mark.parametrize("detuning", [1e-3, 1e-6, 1e-9, 1e-12, 1e-14])
def test_near_a_resonance_no_more_is_lost_than_is_told(detuning: float) -> None:
    """A lossless filter fed at a hair's breadth from the resonance of two of its branches."""
    board = Board().coil("L1", "in", "a", 1e-3).cap("C1", "a", "gnd", 1e-5)
    board.coil("L2", "a", "b", 2e-3).cap("C2", "b", "gnd", 3e-5).res("R", "b", "gnd", 8.0)
    network = board.driven([("a", "gnd"), ("b", "gnd"), ("a", "b"), ("in", "b")], ohm=0.5)
    f_hz = (1.0 + detuning) / (2.0 * pi * np.sqrt(1e-3 * 1e-5))
    found = respond(network, board.values, [f_hz])
    wanted = precise(network, board.values, f_hz)
    lost = digits_lost(network, board.values, [f_hz])
    assert lost.digits < 3.0
    for one, reference in zip(found.transfer[:, 0, 0], wanted, strict=False):
        assert distance(complex(one), reference) < 1e-13


def test_a_balanced_bridge_is_a_null_with_slopes() -> None:
    """Wheatstone: V = 0 where R1 R4 = R2 R3; dV/d ln R1 = -R1 R3.../(...)^2, here by hand -1/4."""
    board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 20.0)
    board.res("R3", "a", "gnd", 10.0).res("R4", "b", "gnd", 20.0)
    network = board.driven([("a", "b")])
    solved = slopes(network, board.values, [100.0])
    assert solved.response.transfer[0, 0, 0] == 0.0
    by = dict(zip(solved.ids, solved.transfer[0, :, 0], strict=True))
    assert by[("R1", "resistance")] == pytest.approx(-0.25, rel=1e-14)
    assert by[("R4", "resistance")] == pytest.approx(-0.25, rel=1e-14)
    assert by[("R2", "resistance")] == pytest.approx(0.25, rel=1e-14)


@pytest.mark.parametrize("ohm", [1e-3, 1e-6, 1e-9])
def test_the_voltage_along_a_lead_keeps_all_its_digits(ohm: float) -> None:
    """A pair across a tiny resistance; as a difference of two voltages it would lose -lg(ohm)
    digits and more. Against 60 digits."""
    board = Board().coil("L", "in", "a", 1e-3, resistance=0.5).res("lead", "a", "b", ohm)
    board.cap("C", "b", "gnd", 1e-5).res("R", "b", "gnd", 8.0).cap("D", "a", "gnd", 1e-6)
    network = board.driven([("a", "b"), ("b", "a")], ohm=50.0)
    found = respond(network, board.values, [2000.0]).transfer[:, 0, 0]
    wanted = precise(network, board.values, 2000.0)[0]
    assert distance(complex(found[0]), wanted) < 1e-14
    assert found[1] == -found[0]


@pytest.mark.parametrize("off", [1e-4, 1e-8, 1e-12])
def test_a_bridge_near_balance_keeps_its_digits(off: float) -> None:
    """Against 60 digits: what is lost is only what the bridge itself makes of the last digit."""
    board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 20.0)
    board.res("R3", "a", "gnd", 10.0 * (1.0 + off)).res("R4", "b", "gnd", 20.0).res(
        "R5", "a", "b", 33.0
    )
    network = board.driven([("a", "b")], ohm=50.0)
    found = respond(network, board.values, [100.0]).transfer[0, 0, 0]
    assert distance(complex(found), precise(network, board.values, 100.0)[0]) < 1e-16 / off * 4.0


def test_both_plans_and_exact_arithmetic_agree() -> None:
    """Every point of an ordinary circuit sent down each road."""
    network, values = three_way()
    probes = (*network.probes, ("in", "t1"), ("m2", "t1"), ("gnd", "w"), ("w", "w"))
    network = Network(network.branches, network.drive, probes)
    table, f_hz = tabulate(inventory(network), values), np.array([30.0, 1000.0, 9000.0])
    ready = ready_for(inventory(network), table, at_dc=False)
    leaves, _ = leaves_at(ready, table, 2.0 * pi * f_hz)
    fast, careful = solve_points(ready, leaves, f_hz), mend(ready, leaves, f_hz)
    assert np.allclose(careful.values, fast.values, rtol=1e-13, atol=0.0)
    scale = np.abs(fast.slopes).max(axis=0)
    assert np.all(np.abs(careful.slopes - fast.slopes) <= 1e-13 * scale)
    for number in range(len(probes) + 1):
        exact = solve_exactly(ready.topology, leaves[:, 1], number)
        assert exact is not None
        assert exact.value is not None
        assert exact.value == pytest.approx(fast.values[number, 1], rel=1e-13)
        allowed = 1e-13 * max(scale[number, 1], 1e-300)
        assert np.all(np.abs(exact.slope - fast.slopes[:, number, 1]) <= allowed)


def test_the_careful_plan_is_not_asked_without_need() -> None:
    """An ordinary circuit with outputs against the datum never leaves the fast plan."""
    network, values = three_way()
    careful_plan.cache_clear()
    with patch("ohmbook.circuit.response.mend", side_effect=AssertionError("mended")):
        respond(network, values, np.geomspace(20.0, 20e3, 400))
    assert careful_plan.cache_info().currsize == 0
