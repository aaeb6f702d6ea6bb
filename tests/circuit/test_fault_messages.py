"""Every fault of a circuit by its whole message, as a person would read it.

The messages are the project's own; no outside source.
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
import pytest

from ohmbook.circuit import bands, digits_lost, network_faults, respond, slopes
from ohmbook.circuit.network import Coupling, Drive, Network
from ohmbook.errors import CallError, CircuitError, ContradictionError, FloatingError, OhmbookError

from .boards import Board

AT_1 = 1.0 / (2.0 * pi)
"""Hertz; exactly 1 rad/s."""


def divider() -> Board:
    return Board().res("R1", "in", "a", 10.0).res("R2", "a", "gnd", 30.0)


def told(kind: type[OhmbookError], network: Network, values: Any, f_hz: Any = (100.0,)) -> str:
    """The message of `respond`, which slopes, bands and digits lost give too."""
    with pytest.raises(kind) as caught:
        respond(network, values, f_hz)
    for door in (slopes, bands, digits_lost):
        with pytest.raises(kind) as again:
            door(network, values, f_hz)
        assert str(again.value) == str(caught.value)
    return str(caught.value)


def test_nodes_that_float() -> None:
    board = divider().cap("C9", "x", "y", 1e-6)
    values = board.values
    assert (
        told(FloatingError, board.driven([("a", "gnd"), ("x", "gnd"), ("y", "x")]), values)
        == 'The nodes "x", "y" hang in the air: no path leads from there to the source.'
    )
    assert (
        told(FloatingError, board.driven([("q", "gnd")]), values)
        == 'The node "q" hangs in the air: no path leads from there to the source.'
    )
    assert (
        told(FloatingError, board.driven([("a", "gnd")], ends=("q", "gnd")), values)
        == 'The source terminal "q" hangs in the air: no part is connected there.'
    )


def test_a_node_that_floats_at_0_hz() -> None:
    board = Board().cap("C1", "in", "a", 1e-6).cap("C2", "a", "gnd", 3e-6)
    assert (
        told(FloatingError, board.driven([("a", "gnd")]), board.values, [0.0])
        == 'The node "a" hangs in the air at 0 Hz: no path leads from there to the source.'
    )


def test_nodes_that_only_a_field_joins() -> None:
    board = divider().coil("L1", "in", "gnd", 1e-3).coil("L2", "x", "y", 1e-3)
    board.res("R3", "x", "y", 8.0).values[("K", "coupling")] = 0.5
    network = Network(
        tuple(board.branches),
        Drive(("in", "gnd")),
        (("x", "gnd"),),
        (Coupling("K", ("L1", "L2")),),
    )
    assert (
        told(FloatingError, network, board.values)
        == 'The nodes "x", "gnd" hang in the air: only a coupling lies between them.'
    )


def test_a_source_across_a_short() -> None:
    advice = "without resistance either. Give the part or the source the resistance it has."
    one = divider().add("wire", "short", "in", "gnd")
    assert told(ContradictionError, one.driven([]), one.values) == (
        'A source without resistance stands across a short: "wire" joins its terminals "in" and '
        f'"gnd", {advice}'
    )
    two = divider().add("clip", "short", "in", "x").res("R0", "x", "gnd", 0.0)
    assert told(ContradictionError, two.driven([], ohm=0.0), two.values) == (
        'A source without resistance stands across a short: "clip", "R0" join its terminals "in" '
        f'and "gnd", {advice}'
    )
    coil = divider().coil("L1", "in", "gnd", 1e-3)
    assert told(ContradictionError, coil.driven([]), coil.values, [0.0]) == (
        'A source without resistance stands across a short at 0 Hz: "L1" joins its terminals "in" '
        f'and "gnd", {advice}'
    )
    board = divider()
    assert (
        told(ContradictionError, board.driven([], ends=("in", "in")), board.values)
        == 'Both terminals of the source are at the node "in": expected two nodes.'
    )


def test_a_source_across_a_short_in_one_draw() -> None:
    board = Board().res("R", "in", "gnd", 1.0)
    values = {("R", "resistance"): np.array([2.0, 0.0])}
    with pytest.raises(ContradictionError) as caught:
        respond(board.driven([("in", "gnd")]), values, [100.0])
    assert str(caught.value) == (
        "An ideal source stands across a short in draw 1: give the source or the parts some "
        "resistance."
    )
    wire = Board().add("wire", "short", "in", "gnd").driven([], ohm=1.0)
    with pytest.raises(ContradictionError) as caught:
        respond(wire, {("source", "resistance"): np.array([1.0, 0.0])}, [100.0])
    assert str(caught.value) == (
        'The resistance of "source" is 0 in some draws, and a short joins its terminals.'
    )


def test_an_ideal_source_across_a_lossless_resonance() -> None:
    board = Board().coil("L", "in", "x", 1.0).cap("C", "x", "gnd", 1.0)
    assert told(ContradictionError, board.driven([("x", "gnd")]), board.values, [AT_1]) == (
        'The voltage from "x" to "gnd" has no finite value at 0.159155 Hz: the source drives a '
        "short or a lossless resonance there, and nothing limits it. Give the parts or the source "
        "some resistance."
    )


def test_two_of_anything() -> None:
    board = divider().coil("P", "in", "a", 1e-3).coil("S", "a", "gnd", 1e-3)
    board.coil("T", "a", "gnd", 2e-3)
    board.values |= {("K", "coupling"): 0.5, ("J", "coupling"): 0.5}

    def coupled(*couplings: Coupling) -> Network:
        return Network(tuple(board.branches), Drive(("in", "gnd")), (), couplings)

    twice = coupled(Coupling("K", ("P", "S")), Coupling("J", ("S", "P")))
    assert told(CircuitError, twice, board.values) == (
        '"S" and "P" are coupled more than once: expected one coupling of them.'
    )
    itself = coupled(Coupling("K", ("P", "P")))
    assert told(CircuitError, itself, board.values) == (
        '"K" couples "P" with itself: expected two.'
    )
    wrong = coupled(Coupling("K", ("P", "R1")))
    assert told(CircuitError, wrong, board.values) == (
        '"K" couples "R1": expected an inductor of this network that has one branch.'
    )
    board.coil("S", "in", "gnd", 1e-3)
    assert told(CircuitError, coupled(Coupling("K", ("P", "S"))), board.values) == (
        '"K" couples "S": expected an inductor of this network that has one branch.'
    )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({("R1", "resistance"): -1.0}, 'The resistance of "R1" is -1: expected 0 or more.'),
        ({("R1", "resistance"): np.nan}, 'The resistance of "R1" is nan: expected 0 or more.'),
        ({("C", "loss"): np.inf}, 'The loss of "C" is inf: expected a number.'),
        ({("C", "capacitance"): None}, '"C" has no capacitance: expected a value for it.'),
        ({("S", "exponent"): 0.0}, 'The exponent of "S" is 0: expected above 0, at most 1.'),
        ({("S", "exponent"): 1.5}, 'The exponent of "S" is 1.5: expected above 0, at most 1.'),
        ({("S", "modulus"): None}, '"S" has no modulus: expected a value for it.'),
    ],
)
def test_values_that_cannot_be(change: dict[Any, Any], message: str) -> None:
    board = divider().cap("C", "a", "gnd", 1e-6)
    board.add("S", "semi-inductor", "a", "gnd", modulus=0.03, exponent=0.7)
    values = {key: value for key, value in (board.values | change).items() if value is not None}
    assert told(CircuitError, board.driven([]), values) == message


@pytest.mark.parametrize(
    ("handed", "message"),
    [
        (None, '"Z" has no impedance: expected a value for it.'),
        (
            np.array([-1.0 + 2j]),
            'The impedance of "Z" is -1+2j: expected numbers whose real part is 0 or more.',
        ),
    ],
)
def test_given_impedances_that_cannot_be(handed: Any, message: str) -> None:
    board = divider().add("Z", "given", "a", "gnd")
    values: dict[Any, Any] = dict(board.values)
    if handed is not None:
        values[("Z", "impedance")] = handed
    assert told(CircuitError, board.driven([]), values) == message


def test_a_given_impedance_of_another_length() -> None:
    board = divider().add("Z", "given", "a", "gnd")
    values: dict[Any, Any] = {**board.values, ("Z", "impedance"): np.array([1.0, 2.0])}
    for door in (respond, slopes, digits_lost):
        with pytest.raises(CallError) as caught:
            door(board.driven([]), values, [100.0])
        assert str(caught.value) == (
            'The impedance of "Z" has the shape (2,): expected one number for each of 1 '
            "frequencies."
        )


def test_what_is_wrong_with_a_structure() -> None:
    """All that stops nothing, in sentences."""
    board = divider().cap("C9", "x", "y", 1e-6).coil("L9", "a", "z", 1e-3)
    board.add("jumper", "short", "in", "k").res("over", "in", "k", 5.0)
    assert [one.message for one in network_faults(board.driven([("a", "gnd")]))] == [
        'No path leads from the source to "x", "y".',
        'No path leads from the source to either end of "C9".',
        'One end of "L9" leads nowhere, so no current flows there.',
        'Both ends of "over" are joined, so no voltage stands there.',
    ]
    shorted = divider().add("wire", "short", "in", "gnd").driven([], ohm=50.0)
    assert 'The terminals of the source, "in", "gnd", are joined by a short.' in [
        one.message for one in network_faults(shorted)
    ]


def test_nothing_is_computed_where_something_floats(monkeypatch: pytest.MonkeyPatch) -> None:
    """Found before any arithmetic: no leaf is worked out."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError("computed")

    monkeypatch.setattr("ohmbook.circuit.response.leaves_at", never)
    board = divider()
    with pytest.raises(FloatingError):
        respond(board.driven([("q", "gnd")]), board.values, [100.0])
    board.add("wire", "short", "in", "gnd")
    with pytest.raises(ContradictionError):
        respond(board.driven([]), board.values, [100.0])
