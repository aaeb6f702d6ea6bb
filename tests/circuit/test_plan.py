"""Plans: made once for a topology, immutable, small, and honest about digits."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from math import log10

import numpy as np
import pytest

from ohmbook.circuit import digits_lost, respond
from ohmbook.circuit.careful import careful_plan
from ohmbook.circuit.fast import fast_plan
from ohmbook.circuit.lines import lines
from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.response import ready_for
from ohmbook.circuit.rounding import ONCE
from ohmbook.circuit.topology import Topology
from ohmbook.circuit.values import inventory, tabulate
from ohmbook.errors import CallError

from .boards import Board, Floats, ladder, three_way
from .tableau import distance, precise


def topology(network: Network, values: Floats) -> Topology:
    return ready_for(inventory(network), tabulate(inventory(network), values), at_dc=False).topology


def multiplications(plan: Plan) -> int:
    return sum(code == "*" for code, _, _ in plan.operations)


def test_names_and_values_do_not_matter_to_a_plan() -> None:
    network, values = three_way()
    renamed = Network(
        tuple(
            Branch(f"x{b.owner}", b.element, (f"y{b.ends[0]}", f"y{b.ends[1]}"))
            for b in network.branches
        ),
        Drive(("yin", "ygnd"), "xsource"),
        tuple((f"y{a}", f"y{b}") for a, b in network.probes),
    )
    others = {(f"x{owner}", quantity): 1.5 * v for (owner, quantity), v in values.items()}
    assert topology(network, values) == topology(renamed, others)
    plan = fast_plan(topology(network, values))
    assert fast_plan(topology(renamed, others)) is plan
    with pytest.raises(FrozenInstanceError):
        plan.leaves = 3  # type: ignore[misc]


def test_a_plan_is_small() -> None:
    """Three-way, 18 parts, three outputs and the input impedance; the trial planner took 72
    operations without losses, and back-substitution must stay cheaper than terminals last."""
    network, values = three_way()
    plan = fast_plan(topology(network, values))
    assert len(plan.operations) <= 72
    assert len(careful_plan(topology(network, values), (0, 1, 2, 3)).operations) <= 280
    one = replace(network, probes=network.probes[:1])
    assert len(plan.operations) - len(fast_plan(topology(one, values)).operations) <= 20


def test_nothing_unneeded_is_computed() -> None:
    """A part that dangles, or a probe on the source, adds no operation."""
    board = Board().res("R1", "in", "a", 1.0).cap("C1", "a", "gnd", 1e-6)
    plain = board.driven([("a", "gnd")], ohm=1.0)
    before = len(fast_plan(topology(plain, board.values)).operations)
    board.coil("L1", "a", "x", 1e-3).cap("C2", "x", "y", 1e-6)
    more = board.driven([("a", "gnd"), ("in", "gnd")], ohm=1.0)
    assert len(fast_plan(topology(more, board.values)).operations) == before


def test_ladders_grow_in_proportion() -> None:
    sizes = np.array([12, 48, 200])
    counts = [multiplications(fast_plan(topology(*ladder(int(n))))) for n in sizes]
    exponent = np.polyfit(np.log(sizes), np.log(counts), 1)[0]
    assert exponent < 1.1


def test_buffers_are_used_again() -> None:
    plan = fast_plan(topology(*ladder(100)))
    buffers = lines(plan).places
    assert buffers < len(plan.operations) / 3
    assert lines(plan).steps


def test_digits_lost_of_an_ordinary_circuit_are_few() -> None:
    found = digits_lost(*three_way(), np.geomspace(20.0, 20e3, 100))
    assert found.digits < 2.5
    assert found.owner
    assert 20.0 <= found.f_hz <= 20e3


@pytest.mark.parametrize("off", [1e-3, 1e-6, 1e-9, 1e-12])
def test_digits_lost_at_a_bridge_near_balance(off: float) -> None:
    """By hand: V = off/4 to first order and each of four resistors moves it by 1/4, so that the
    rounding of four values makes 2 roundings over off; the arithmetic adds up to a digit."""
    board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 10.0)
    board.res("R3", "a", "gnd", 10.0 * (1.0 + off)).res("R4", "b", "gnd", 10.0)
    network = board.driven([("a", "b")])
    found = digits_lost(network, board.values, [50.0])
    by_values = log10(2.0 * ONCE**0.5 / off)
    assert by_values - 0.01 <= found.digits <= by_values + 1.0
    assert found.output == 0
    assert found.owner in {"R1", "R2", "R3", "R4"}
    wrong = distance(
        complex(respond(network, board.values, [50.0]).transfer[0, 0, 0]),
        precise(network, board.values, 50.0)[0],
    )
    assert wrong <= 10.0 ** (found.digits - 15.65)


def test_digits_lost_name_the_frequency_of_a_sharp_null() -> None:
    board = Board().coil("L", "a", "gnd", 1e-3).cap("C", "in", "b", 1e-6).res("R", "a", "b", 1e-9)
    board.res("load", "in", "gnd", 8.0)
    network = board.driven([], ohm=1.0)
    f0 = 1.0 / (2.0 * np.pi * np.sqrt(1e-9))
    board.values[("load", "resistance")] = 1e12
    found = digits_lost(network, board.values, [1000.0, f0, 9000.0])
    assert found.f_hz == f0
    assert found.digits > 8.0
    assert found.owner in {"L", "C"}


def test_digits_lost_of_one_draw() -> None:
    network, values = three_way()
    with pytest.raises(CallError, match="Digits lost are looked for at one frequency at least"):
        digits_lost(network, values, [])
    with pytest.raises(CallError, match="Digits lost are of one set of values"):
        digits_lost(network, {**values, ("R2", "resistance"): np.array([1.0, 2.0])}, [50.0])
    with pytest.raises(CallError, match="Digits lost are of one set of values"):
        digits_lost(network, values, [[50.0], [60.0]])
    shorted = Board().add("wire", "short", "in", "gnd")
    assert digits_lost(shorted.driven([], ohm=1.0), shorted.values, [0.0, 9.0]).digits == 0.0
