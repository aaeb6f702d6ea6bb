"""Slopes by the reverse sweep against differences of the tests' own road.

The reference is the derivative by mpmath's `diff` in 50 digits of `tableau.precise`, and five-point
central differences (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 25.3.6).
"""

from __future__ import annotations

from math import exp, pi
from typing import Any

import mpmath
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from numpy.typing import NDArray

from ohmbook.circuit import respond, slopes, slopes_each
from ohmbook.circuit.network import Branch, Drive, Id, Network
from ohmbook.errors import CallError

from .boards import Board, Floats, ladder, three_way
from .random_nets import frequencies, networks
from .tableau import precise

Complexes = NDArray[np.complex128]
STEP = 1e-20


def every_quantity() -> tuple[Network, Floats]:
    """A small board in which each quantity of each element matters, pairs and a floating source."""
    board = Board()
    board.coil("L", "in", "a", 0.8e-3, resistance=0.5, loss=0.03, winding_capacitance=2e-9)
    board.cap("C", "a", "low", 8.2e-6, resistance=0.3, loss=0.01)
    board.res("R", "a", "b", 4.7).cap("D", "b", "low", 3.3e-6, loss=-0.005)
    board.coil("M", "b", "low", 2e-3, loss=0.0).res("lead", "low", "gnd", 0.03)
    probes = [("a", "low"), ("b", "gnd"), ("a", "b"), ("gnd", "a")]
    return board.driven(probes, ends=("in", "low"), ohm=6.0), board.values


def moved(values: Floats, one: Id, step: float) -> dict[Id, Any]:
    """The values with one of them moved: by a factor, or a loss by a sum."""
    value = mpmath.mpf(values.get(one, 0.0))
    there = value + step if one[1] == "loss" else value * mpmath.exp(step)
    return {**values, one: there}


def by_mpmath(network: Network, values: Floats, one: Id, f_hz: float) -> list[complex]:
    with mpmath.workdps(60):
        up = precise(network, moved(values, one, STEP), f_hz)
        down = precise(network, moved(values, one, -STEP), f_hz)
        return [complex((a - b) / (2 * STEP)) for a, b in zip(up, down, strict=True)]


@pytest.mark.parametrize("f_hz", [70.0, 3100.0])
def test_every_quantity_against_mpmath(f_hz: float) -> None:
    network, values = every_quantity()
    solved = slopes(network, values, [f_hz])
    assert solved.ids == network.ids
    found = np.concatenate([solved.transfer, solved.input_impedance[None]])[:, :, 0]
    for k, one in enumerate(solved.ids):
        wanted = np.array(by_mpmath(network, values, one, f_hz))
        scale = np.maximum(np.abs(wanted), 1e-9)
        assert np.all(np.abs(found[:, k] - wanted) <= 1e-9 * scale), one


@pytest.mark.parametrize("f_hz", [70.0, 3100.0])
def test_log_frequency_against_mpmath(f_hz: float) -> None:
    network, values = every_quantity()
    solved = slopes(network, values, [f_hz])
    with mpmath.workdps(60):
        up, down = (
            precise(network, values, mpmath.mpf(f_hz) * mpmath.exp(s)) for s in (STEP, -STEP)
        )
        wanted = [complex((a - b) / (2 * STEP)) for a, b in zip(up, down, strict=True)]
    assert solved.transfer_log_f[:, 0] == pytest.approx(wanted[:-1], rel=1e-10)
    assert solved.input_impedance_log_f[0] == pytest.approx(wanted[-1], rel=1e-10)


def five_points(network: Network, values: Floats, one: Id, f_hz: list[float]) -> Complexes:
    """d/d ln p, or d/d loss, by central differences of the engine's own responses."""
    step = 2e-3
    total = np.zeros((len(network.probes) + 1, len(f_hz)), np.complex128)
    for times, weight in ((-2, 1.0), (-1, -8.0), (1, 8.0), (2, -1.0)):
        value = values.get(one, 0.0)
        there = value + times * step if one[1] == "loss" else value * exp(times * step)
        found = respond(network, {**values, one: there}, f_hz)
        together = np.concatenate([found.transfer[:, 0], found.input_impedance])
        total += weight * together
    return total / (12.0 * step)


def check_against_differences(network: Network, values: Floats, f_hz: list[float]) -> None:
    solved = slopes(network, values, f_hz)
    here = respond(network, values, f_hz)
    assert np.allclose(solved.response.transfer, here.transfer, rtol=1e-12, atol=1e-15)
    assert np.allclose(solved.response.input_impedance, here.input_impedance, rtol=1e-12)
    found = np.concatenate([solved.transfer, solved.input_impedance[None]])
    size = np.concatenate([np.ones_like(here.transfer[:, 0].real), np.abs(here.input_impedance)])
    for k, one in enumerate(solved.ids):
        wanted = five_points(network, values, one, f_hz)
        assert np.all(np.abs(found[:, k] - wanted) <= 1e-8 * size), one


def test_a_three_way_against_differences() -> None:
    check_against_differences(*three_way(), [20.0, 350.0, 2500.0, 20e3])


@given(networks(most_nodes=6), frequencies)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_networks_scale_and_add_up(case: tuple[Network, Floats], f_hz: list[float]) -> None:
    """Euler: impedances larger by a factor together leave H and scale Z; a factor on L and C is a
    factor on frequency. Sums of slopes over all parts at once, at any network and frequency."""
    network, values = case
    solved = slopes(network, values, f_hz)
    quantity = np.array([one[1] for one in solved.ids])
    size = np.isin(quantity, ["resistance", "inductance"]).astype(float)
    size -= np.isin(quantity, ["capacitance", "winding_capacitance"])
    impedance = solved.response.input_impedance[0]
    allowed = 1e-11 * np.abs(solved.transfer).max(initial=1.0)
    assert np.all(np.abs(np.tensordot(solved.transfer, size, (1, 0))) < allowed)
    total = size @ solved.input_impedance
    span = np.abs(solved.input_impedance).max(axis=0) + np.abs(impedance)
    assert np.all(np.abs(total - impedance) <= 1e-11 * span)
    if all(values.get(one, 0.0) == 0.0 for one in solved.ids if one[1] == "loss"):
        stored = np.abs(size) * (quantity != "resistance")
        assert np.allclose(
            stored @ solved.input_impedance,
            solved.input_impedance_log_f,
            rtol=0.0,
            atol=1e-11 * span.max(),
        )


def test_the_sources_own_resistance() -> None:
    network, values = three_way(ohm=2.0)
    solved = slopes(network, values, [100.0, 1000.0])
    k = solved.ids.index(("source", "resistance"))
    assert np.all(solved.input_impedance[k] == 0.0)
    impedance = solved.response.input_impedance[0]
    # H = H0 Z/(Z + Rs), so dH/d ln Rs = -H Rs/(Z + Rs).
    wanted = -solved.response.transfer[:, 0] * 2.0 / (impedance + 2.0)
    assert np.allclose(solved.transfer[:, k], wanted, rtol=1e-13, atol=0.0)


def test_zero_values_have_zero_slope_and_losses_do_not() -> None:
    board = Board().coil("L", "in", "a", 1e-3, resistance=0.0).cap("C", "a", "gnd", 1e-5)
    board.res("R", "a", "gnd", 8.0).res("lead", "a", "b", 0.0).cap("none", "a", "gnd", 0.0)
    network = board.res("S", "b", "gnd", 20.0).driven([("b", "gnd")], ohm=0.0)
    solved = slopes(network, board.values, [1000.0])
    by = dict(zip(solved.ids, solved.transfer[0, :, 0], strict=True))
    for one in [
        ("L", "resistance"),
        ("lead", "resistance"),
        ("none", "capacitance"),
        ("source", "resistance"),
        ("L", "winding_capacitance"),
    ]:
        assert by[one] == 0.0
    wanted = five_points(network, board.values, ("L", "loss"), [1000.0])[0, 0]
    assert by[("L", "loss")] == pytest.approx(wanted, rel=1e-8)
    assert abs(wanted) > 0.1


def test_parts_that_share_an_owner_add_their_slopes() -> None:
    """Two branches with one value, as two halves of a made-of part: the slope is of both."""
    branches = (
        Branch("pair", "inductor", ("in", "a")),
        Branch("pair", "inductor", ("a", "b")),
        Branch("C", "capacitor", ("b", "gnd")),
        Branch("R", "resistor", ("b", "gnd")),
    )
    network = Network(branches, Drive(("in", "gnd")), (("b", "gnd"),))
    values = {
        ("pair", "inductance"): 0.5e-3,
        ("pair", "resistance"): 0.2,
        ("C", "capacitance"): 1e-5,
        ("R", "resistance"): 8.0,
    }
    check_against_differences(network, values, [500.0, 3000.0])
    one = Board().coil("pair", "in", "b", 1e-3, resistance=0.4).cap("C", "b", "gnd", 1e-5)
    single = one.res("R", "b", "gnd", 8.0).driven([("b", "gnd")])
    both, whole = slopes(network, values, [3000.0]), slopes(single, one.values, [3000.0])
    assert np.allclose(both.transfer, whole.transfer, rtol=1e-13, atol=1e-16)


def test_direct_current_among_other_frequencies() -> None:
    board = Board().coil("L", "in", "a", 1e-3, resistance=0.5).res("R", "a", "gnd", 8.0)
    network = board.cap("C", "a", "gnd", 1e-5).driven([("a", "gnd")], ohm=1.5)
    solved = slopes(network, board.values, [0.0, 1000.0, 0.0])
    by = dict(zip(solved.ids, solved.transfer[0, :, 0], strict=True))
    # V = 8/10: dV/d ln R = R (Rs + r)/(sum)^2, dV/d ln r = -R r/(sum)^2.
    assert by[("R", "resistance")] == pytest.approx(8.0 * 2.0 / 100.0, rel=1e-15)
    assert by[("L", "resistance")] == pytest.approx(-8.0 * 0.5 / 100.0, rel=1e-15)
    assert by[("L", "inductance")] == by[("C", "capacitance")] == by[("L", "loss")] == 0.0
    assert solved.transfer_log_f[0, 0] == 0.0
    assert np.array_equal(solved.transfer[:, :, 0], solved.transfer[:, :, 2])
    alone = slopes(network, board.values, [1000.0])
    assert np.array_equal(solved.transfer[:, :, 1:2], alone.transfer)
    assert solved.input_impedance[:, 0].sum() == pytest.approx(8.5)


def test_slopes_at_a_null_are_finite_and_right() -> None:
    """A bridged pair of arms that cancel at one frequency; the slope does not vanish there."""
    omega = 2.0 * pi * 1000.0
    board = Board().coil("L", "in", "a", 8.0 / omega).res("R", "a", "gnd", 8.0)
    board.res("S", "in", "b", 8.0).cap("C", "b", "gnd", 1.0 / (8.0 * omega))
    network = board.driven([("a", "b")])
    solved = slopes(network, board.values, [1000.0])
    assert abs(solved.response.transfer[0, 0, 0]) < 1e-15
    wanted = five_points(network, board.values, ("L", "inductance"), [1000.0])[0, 0]
    k = solved.ids.index(("L", "inductance"))
    assert solved.transfer[0, k, 0] == pytest.approx(wanted, rel=1e-8)
    assert abs(wanted) > 0.1


def test_many_frequencies_are_swept_output_by_output_alike() -> None:
    network, values = three_way()
    grid = np.geomspace(20.0, 20e3, 1000)
    many, few = slopes(network, values, grid), slopes(network, values, grid[::100])
    assert np.allclose(many.transfer[:, :, ::100], few.transfer, rtol=1e-13, atol=1e-18)
    assert np.allclose(many.input_impedance[:, ::100], few.input_impedance, rtol=1e-13, atol=1e-15)


def test_a_long_ladder() -> None:
    """Through the rescaling of high degrees: against differences."""
    network, values = ladder(60)
    f_hz = [100.0, 1000.0]
    solved = slopes(network, values, f_hz)
    for one in [("L3", "inductance"), ("C40", "capacitance"), ("load", "resistance")]:
        wanted = five_points(network, values, one, f_hz)
        k = solved.ids.index(one)
        assert np.allclose(solved.transfer[:, k], wanted[:-1], rtol=0.0, atol=1e-8)
        assert np.allclose(solved.input_impedance[k], wanted[-1], rtol=0.0, atol=1e-7)


def test_one_draw_at_a_time() -> None:
    network, values = three_way()
    with pytest.raises(CallError, match="one set of values"):
        slopes(network, {**values, ("R2", "resistance"): np.array([1.0, 2.0])}, [100.0])
    with pytest.raises(CallError, match="one set of values"):
        slopes(network, values, [[100.0], [200.0]])
    assert slopes(network, values, []).transfer.shape == (3, len(network.ids), 0)


def test_one_value_for_each_frequency() -> None:
    """Several cases of one network side by side, zeros and 0 Hz among them, as each alone."""
    network, values = every_quantity()
    f_hz = np.array([70.0, 0.0, 3100.0, 500.0])
    many: dict[Id, float | NDArray[np.float64]] = {**values}
    many[("L", "inductance")] = np.array([0.8e-3, 1e-3, 0.0, 2e-3])
    many[("C", "resistance")] = np.array([0.3, 0.2, 0.1, 0.0])
    solved = slopes(network, many, f_hz)
    for k, f in enumerate(f_hz):
        alone = {key: float(np.broadcast_to(value, 4)[k]) for key, value in many.items()}
        one = slopes(network, alone, [f])
        assert np.allclose(solved.transfer[:, :, k], one.transfer[:, :, 0], rtol=1e-12, atol=1e-15)
        assert np.allclose(solved.input_impedance[:, k], one.input_impedance[:, 0], rtol=1e-12)
        assert np.allclose(solved.transfer_log_f[:, k], one.transfer_log_f[:, 0], rtol=1e-12)


def test_one_output_at_each_point_is_what_all_of_them_are() -> None:
    """Pairs and the input impedance too, at two sets of values side by side, 0 Hz among them."""
    network, values = every_quantity()
    outputs = np.array([0, 1, 2, 3, 4, 0, 2, 4])
    for f_hz in (np.array([70.0, 70.0, 900.0, 900.0, 3100.0, 3100.0, 9e3, 70.0]), np.zeros(8)):
        points = {one: np.full(8, x) * np.repeat([1.0, 1.1], 4) for one, x in values.items()}
        every = slopes(network, points, f_hz)
        each, at = slopes_each(network, points, f_hz, outputs), np.arange(8)
        value = np.concatenate([every.response.transfer, every.response.input_impedance[None]])
        by_id = np.concatenate([every.transfer, every.input_impedance[None]])
        by_log_f = np.concatenate([every.transfer_log_f, every.input_impedance_log_f[None]])
        np.testing.assert_allclose(each.value, value[outputs, 0, at], rtol=1e-12)
        np.testing.assert_allclose(each.by_id, by_id[outputs, :, at].T, rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(each.by_log_f, by_log_f[outputs, at], rtol=1e-9, atol=1e-12)
