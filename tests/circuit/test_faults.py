"""What cannot be is told by name before any arithmetic; shorts and opens are structure."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook.circuit import network_faults, respond, slopes
from ohmbook.circuit.network import Drive, Id, Network
from ohmbook.errors import CallError, CircuitError, ContradictionError, FloatingError

from .boards import Board, three_way


def divider() -> Board:
    return Board().res("R1", "in", "a", 10.0).res("R2", "a", "gnd", 30.0)


def test_a_probe_that_hangs_in_the_air() -> None:
    board = divider().cap("C9", "x", "y", 1e-6)
    network = board.driven([("a", "gnd"), ("x", "gnd"), ("y", "x")], ohm=50.0)
    with pytest.raises(FloatingError, match='nodes "x", "y" hang in the air: no path') as caught:
        respond(network, board.values, [100.0])
    assert caught.value.names == ("x", "y")


def test_a_part_that_hangs_in_the_air_does_no_harm() -> None:
    board = divider().cap("C9", "x", "y", 1e-6).coil("L9", "a", "z", 1e-3)
    network = board.driven([("a", "gnd"), ("z", "a")])
    found = respond(network, board.values, [100.0])
    assert found.transfer[:, 0, 0].tolist() == [0.75, 0.0]
    assert {fault.what: fault.names for fault in network_faults(network)} == {
        "floating node": ("x", "y"),
        "floating part": ("C9",),
    }


def test_an_unknown_probe() -> None:
    board = divider()
    with pytest.raises(FloatingError, match='"q" hangs in the air'):
        respond(board.driven([("q", "gnd")]), board.values, [100.0])


def test_a_source_on_a_node_of_no_part() -> None:
    board = divider()
    with pytest.raises(FloatingError, match='source terminal "q" hangs in the air: no part'):
        respond(board.driven([("a", "gnd")], ends=("q", "gnd")), board.values, [100.0])


def test_a_node_behind_capacitors_floats_at_0_hz_only() -> None:
    board = Board().cap("C1", "in", "a", 1e-6).cap("C2", "a", "gnd", 3e-6)
    network = board.driven([("a", "gnd")])
    assert respond(network, board.values, [100.0]).transfer[0, 0, 0] == pytest.approx(0.25)
    with pytest.raises(FloatingError, match='"a" hangs in the air at 0 Hz'):
        respond(network, board.values, [100.0, 0.0])


@pytest.mark.parametrize("ohm", [None, 0.0])
def test_an_ideal_source_across_a_short(ohm: float | None) -> None:
    board = divider().add("clip", "short", "in", "x").add("wire", "short", "x", "gnd")
    with pytest.raises(ContradictionError, match='short: "clip", "wire" join its terminals "in"'):
        respond(board.driven([("a", "gnd")], ohm=ohm), board.values, [100.0])


def test_an_ideal_source_with_both_terminals_on_one_node() -> None:
    board = divider()
    with pytest.raises(
        ContradictionError, match='Both terminals of the source are at the node "in"'
    ):
        respond(board.driven([("a", "gnd")], ends=("in", "in")), board.values, [100.0])


def test_an_ideal_source_across_an_ideal_coil_at_0_hz() -> None:
    board = divider().coil("L1", "in", "gnd", 1e-3)
    network = board.driven([("a", "gnd")])
    respond(network, board.values, [1.0])
    with pytest.raises(ContradictionError, match='a short at 0 Hz: "L1" joins'):
        respond(network, board.values, [0.0, 1.0])


def test_a_source_with_resistance_may_be_shorted() -> None:
    board = divider().add("wire", "short", "in", "gnd")
    network = board.driven([("a", "gnd"), ("in", "a")], ohm=50.0)
    found = respond(network, board.values, [0.0, 100.0])
    assert np.all(found.transfer == 0.0)
    assert np.all(found.input_impedance == 0.0)
    assert [f.what for f in network_faults(network)] == ["shorted source"]


def test_a_short_of_two_branches_of_one_owner() -> None:
    board = divider().add("bar", "short", "in", "a").add("bar", "short", "a", "gnd")
    with pytest.raises(ContradictionError, match='short: "bar" joins'):
        respond(board.driven([]), board.values, [100.0])


def test_a_short_in_some_draws_only() -> None:
    board = Board().res("R", "in", "gnd", 1.0)
    values = {("R", "resistance"): np.array([2.0, 0.0])}
    with pytest.raises(ContradictionError, match="short in draw 1"):
        respond(board.driven([("in", "gnd")]), values, [100.0])
    with pytest.raises(ContradictionError, match="short in draw 1"):
        slopes(board.driven([("in", "gnd")]), values, [100.0, 200.0])
    behind = {**values, ("source", "resistance"): np.array([0.0, 1.0])}
    found = respond(board.driven([("in", "gnd")], ohm=1.0), behind, [100.0])
    assert found.transfer[0, :, 0].tolist() == [1.0, 0.0]
    neither = {**values, ("source", "resistance"): np.array([1.0, 0.0])}
    with pytest.raises(ContradictionError, match="no finite value at 100 Hz"):
        respond(board.driven([("in", "gnd")], ohm=1.0), neither, [100.0])
    wire = Board().add("wire", "short", "in", "gnd").driven([], ohm=1.0)
    with pytest.raises(ContradictionError, match='resistance of "source" is 0 in some draws'):
        respond(wire, {("source", "resistance"): np.array([1.0, 0.0])}, [100.0])


def test_a_source_with_nothing_connected() -> None:
    found = respond(
        Network((), Drive(("in", "gnd")), (("in", "gnd"), ("gnd", "in"))), {}, [0.0, 9.0]
    )
    assert found.transfer[:, 0].tolist() == [[1.0, 1.0], [-1.0, -1.0]]
    assert found.open_circuit.all()
    assert np.all(found.input_admittance == 0.0)


def test_two_islands_of_which_each_has_one_terminal() -> None:
    board = Board().res("R1", "in", "a", 10.0).cap("C1", "gnd", "b", 1e-6)
    network = board.driven([("a", "b"), ("a", "in"), ("b", "gnd")], ohm=50.0)
    found = respond(network, board.values, [100.0])
    assert found.transfer[:, 0, 0].tolist() == [1.0, 0.0, 0.0]
    assert found.open_circuit.all()


def test_shorts_and_opens_are_structure() -> None:
    """A short joins its nodes, an open is not there, whatever else lies between."""
    board = divider().add("jumper", "short", "a", "b").cap("C1", "b", "gnd", 1e-6)
    board.res("over", "a", "b", 5.0).add("gap", "open", "in", "a")
    network = board.driven([("b", "gnd"), ("a", "b"), ("in", "b")], ohm=1.0)
    plain = divider().cap("C1", "a", "gnd", 1e-6)
    wanted = respond(plain.driven([("a", "gnd"), ("in", "a")], ohm=1.0), plain.values, [0.0, 5e3])
    found = respond(network, board.values, [0.0, 5e3])
    assert np.allclose(found.transfer[[0, 2]], wanted.transfer, rtol=1e-15, atol=0.0)
    assert np.all(found.transfer[1] == 0.0)
    assert [(f.what, f.names) for f in network_faults(network)] == [("shorted part", ("over",))]


@pytest.mark.parametrize(
    ("kind", "quantities", "like"),
    [
        ("resistor", {"resistance": 0.0}, "short"),
        ("inductor", {"inductance": 0.0}, "short"),
        ("inductor", {"inductance": 0.0, "winding_capacitance": 1e-9}, "short"),
        ("capacitor", {"capacitance": 0.0}, "open"),
        ("capacitor", {"capacitance": 0.0, "resistance": 1.0}, "open"),
    ],
)
@pytest.mark.parametrize("f_hz", [0.0, 1000.0])
def test_values_of_zero_are_shorts_and_opens(
    kind: str, quantities: dict[str, float], like: str, f_hz: float
) -> None:
    def with_part(element: str, more: dict[str, float]) -> np.ndarray:
        board = divider().res("R3", "a", "b", 5.0).res("R4", "b", "gnd", 7.0)
        board.add("part", element, "in", "b", **more)  # type: ignore[arg-type]
        found = respond(board.driven([("b", "gnd"), ("a", "b")], ohm=2.0), board.values, [f_hz])
        return np.append(found.transfer, found.input_impedance)

    assert np.allclose(with_part(kind, quantities), with_part(like, {}), rtol=1e-15, atol=0.0)


def test_zero_in_some_draws_is_as_zero_alone() -> None:
    board = (
        divider().cap("C", "a", "b", 1e-6).coil("L", "b", "gnd", 1e-3).res("R3", "b", "gnd", 4.0)
    )
    network = board.driven([("b", "gnd"), ("a", "b")], ohm=2.0)
    keys = [("C", "capacitance"), ("L", "inductance"), ("R1", "resistance"), ("R3", "resistance")]
    draws = {key: np.full(5, value) for key, value in board.values.items()}
    for k, key in enumerate(keys):
        draws[key][k] = 0.0
    many = respond(network, draws, [0.0, 700.0])
    for k in range(5):
        one = respond(network, {key: float(v[k]) for key, v in draws.items()}, [0.0, 700.0])
        assert np.allclose(many.transfer[:, k], one.transfer[:, 0], rtol=1e-14, atol=1e-16)
        assert np.allclose(many.input_impedance[k], one.input_impedance[0], rtol=1e-14)


def test_a_probe_between_a_node_and_itself() -> None:
    network, values = three_way()
    same = Network(network.branches, network.drive, (("w", "w"), ("gnd", "gnd")))
    assert np.all(respond(same, values, [10.0, 1000.0]).transfer == 0.0)


def test_dangling_parts_are_reported() -> None:
    board = divider().coil("L1", "a", "x", 1e-3).cap("C1", "x", "y", 1e-6).res("R3", "x", "z", 1.0)
    faults = network_faults(board.driven([("a", "gnd")]))
    assert [(fault.what, fault.names) for fault in faults] == [
        ("dangling part", ("L1", "C1", "R3"))
    ]
    assert faults[0].message.startswith('One end of "L1", "C1", "R3" leads nowhere')
    assert network_faults(board.driven([("z", "gnd"), ("y", "gnd")])) == ()
    assert network_faults(three_way()[0]) == ()


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (-1.0, 'The resistance of "R1" is -1: expected 0 or more'),
        (float("nan"), 'The resistance of "R1" is nan: expected 0 or more'),
        (float("inf"), 'The resistance of "R1" is inf: expected 0 or more'),
        (np.array([1.0, -2.0]), 'The resistance of "R1" is -2: expected 0 or more'),
    ],
)
def test_values_that_cannot_be(value: float | NDArray[np.float64], message: str) -> None:
    board = divider()
    values: dict[Id, float | NDArray[np.float64]] = {**board.values}
    values[("R1", "resistance")] = value
    with pytest.raises(CircuitError, match=message):
        respond(board.driven([]), values, [100.0])


def test_a_loss_may_be_negative_but_must_be_a_number() -> None:
    board = divider().cap("C", "a", "gnd", 1e-6, loss=-0.01)
    respond(board.driven([]), board.values, [100.0])
    board.values[("C", "loss")] = float("nan")
    with pytest.raises(CircuitError, match='The loss of "C" is nan: expected a number'):
        respond(board.driven([]), board.values, [100.0])


@pytest.mark.parametrize(
    "missing",
    [("R1", "resistance"), ("L", "inductance"), ("C", "capacitance"), ("source", "resistance")],
)
def test_a_missing_value_is_named(missing: tuple[str, str]) -> None:
    board = divider().coil("L", "a", "gnd", 1e-3).cap("C", "a", "gnd", 1e-6)
    network = board.driven([], ohm=1.0)
    del board.values[missing]
    with pytest.raises(CircuitError, match=f'"{missing[0]}" has no {missing[1]}'):
        respond(network, board.values, [100.0])


@pytest.mark.parametrize(
    ("f_hz", "message"),
    [
        ([1.0, -5.0], "A frequency is -5 Hz: expected 0 or more"),
        ([float("nan")], "A frequency is nan Hz"),
        ([float("inf")], "A frequency is inf Hz"),
        ("abc", "must be numbers"),
        (np.ones((2, 2, 2)), r"shape \(2, 2, 2\)"),
        (np.ones((3, 2)), "given for 3 draws, values for 2"),
    ],
)
def test_frequencies_that_cannot_be(f_hz: object, message: str) -> None:
    board = divider()
    values: dict[Id, float | NDArray[np.float64]] = {**board.values}
    values[("R1", "resistance")] = np.array([1.0, 2.0])
    with pytest.raises(CallError, match=message):
        respond(board.driven([]), values, f_hz)  # type: ignore[arg-type]


def test_draws_of_different_lengths() -> None:
    board = divider()
    values = {("R1", "resistance"): np.ones(2), ("R2", "resistance"): np.ones(3)}
    with pytest.raises(CallError, match=r'resistance of "R2" has the shape \(3,\)'):
        respond(board.driven([]), values, [100.0])


def test_0_hz_among_frequencies_by_draw() -> None:
    board = divider().coil("L", "a", "gnd", 1e-3, resistance=2.0)
    network = board.driven([("a", "gnd")])
    grid = np.array([[0.0, 100.0], [5000.0, 0.0], [0.0, 0.0]])
    found = respond(network, board.values, grid)
    assert found.transfer.shape == (1, 3, 2)
    for k, row in enumerate(grid):
        alone = respond(network, board.values, row)
        assert np.allclose(found.transfer[0, k], alone.transfer[0, 0], rtol=1e-14, atol=0.0)


def test_shapes() -> None:
    board = divider()
    network = board.driven([])
    assert respond(network, board.values, 100.0).input_impedance.tolist() == [[40.0]]
    assert respond(network, board.values, []).input_impedance.shape == (1, 0)
    assert respond(network, board.values, [1.0, 2.0]).transfer.shape == (0, 1, 2)
    one = {("R1", "resistance"): np.array([20.0]), ("R2", "resistance"): np.array([30.0])}
    assert respond(network, one, [1.0]).input_impedance.tolist() == [[50.0]]
