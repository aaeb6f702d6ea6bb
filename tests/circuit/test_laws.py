"""Laws that every network of resistors, coils and capacitors obeys, whatever its values.

Reciprocity, passivity and scaling: any text on networks, e.g. L. Weinberg, Network Analysis and
Synthesis, 1962.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ohmbook.circuit import respond
from ohmbook.circuit.network import Branch, Drive, Network, Pair

from .boards import Board, Floats, three_way
from .random_nets import frequencies, networks

Case = tuple[Network, Floats]
laws = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(networks(), frequencies, st.data())
@laws
def test_reciprocity(case: Case, f_hz: list[float], data: st.DataObject) -> None:
    """The current that an EMF in series with one resistor drives through another is the same when
    they change places."""
    network, values = case
    names = sorted({node for branch in network.branches for node in branch.ends})
    one = network.drive.ends
    pairs = [(a, b) for a in names for b in names if a != b and {a, b} != set(one)]
    other: Pair = data.draw(st.sampled_from(pairs)) if pairs else one[::-1]
    values = {**values, ("first", "resistance"): 3.0, ("second", "resistance"): 7.0}

    def current(owner: str, ends: Pair, load: str, at: Pair) -> np.ndarray:
        loaded = (*network.branches, Branch(load, "resistor", at))
        found = respond(Network(loaded, Drive(ends, owner), (at,)), values, f_hz)
        return np.asarray(found.transfer[0, 0] / values[(load, "resistance")])

    there, back = current("first", one, "second", other), current("second", other, "first", one)
    assert np.all(np.abs(there - back) <= 1e-12 * np.maximum(np.abs(there), 1e-3))


@given(networks(), frequencies)
@laws
def test_passivity(case: Case, f_hz: list[float]) -> None:
    """No network of these gives power back: Re Z >= 0 (loss exponents from 0 up)."""
    network, values = case
    passive = {key: abs(value) for key, value in values.items()}
    found = respond(network, passive, f_hz).input_impedance[0]
    assert np.all(found.real >= -1e-12 * np.abs(found))


@given(networks(), frequencies, st.sampled_from([0.25, 3.0, 1000.0]))
@laws
def test_frequency_scaling(case: Case, f_hz: list[float], factor: float) -> None:
    """Coils and capacitors smaller by a factor do the same at frequencies higher by it."""
    network, values = case
    plain = {key: value for key, value in values.items() if key[1] != "loss"}
    still = {"resistance"}
    shrunk = {k: v if k[1] in still else v / factor for k, v in plain.items()}
    here = respond(network, plain, f_hz)
    there = respond(network, shrunk, np.array(f_hz) * factor)
    assert np.allclose(here.transfer, there.transfer, rtol=1e-9, atol=1e-12)
    assert np.allclose(here.input_impedance, there.input_impedance, rtol=1e-9)


@given(networks(), frequencies, st.sampled_from([0.5, 10.0]))
@laws
def test_impedance_scaling(case: Case, f_hz: list[float], factor: float) -> None:
    """Every impedance larger by a factor: the same voltages, the input impedance larger by it."""
    network, values = case
    up, down = {"resistance", "inductance"}, {"capacitance", "winding_capacitance"}
    scaled = {
        key: value * factor if key[1] in up else value / factor if key[1] in down else value
        for key, value in values.items()
    }
    here, there = respond(network, values, f_hz), respond(network, scaled, f_hz)
    assert np.allclose(here.transfer, there.transfer, rtol=1e-9, atol=1e-12)
    assert np.allclose(here.input_impedance * factor, there.input_impedance, rtol=1e-9)


@given(networks(), frequencies)
@laws
def test_turned_round(case: Case, f_hz: list[float]) -> None:
    """Source the other way round, probes the other way round: the same numbers."""
    network, values = case
    turned = replace(
        network,
        drive=Drive(network.drive.ends[::-1], network.drive.owner),
        probes=tuple(probe[::-1] for probe in network.probes),
    )
    here, there = respond(network, values, f_hz), respond(turned, values, f_hz)
    assert np.allclose(here.transfer, there.transfer, rtol=1e-10, atol=1e-13)
    assert np.allclose(here.input_impedance, there.input_impedance, rtol=1e-10)


def test_voltages_add_up_around_a_loop() -> None:
    """Kirchhoff's voltage law, pairs and single nodes together."""
    network, values = three_way()
    probes = (("t1", "w"), ("w", "m"), ("m", "t1"), ("t1", "gnd"), ("gnd", "t1"))
    network = Network(network.branches, network.drive, probes)
    found = respond(network, values, np.geomspace(20.0, 20e3, 50)).transfer[:, 0]
    assert np.all(np.abs(found[0] + found[1] + found[2]) < 1e-14)
    assert np.array_equal(found[3], -found[4])


def test_low_and_high_frequency_limits() -> None:
    """Towards 0 Hz coils are their resistance and capacitors open; far up, the other way round."""
    board = Board().coil("L", "in", "a", 1e-3, resistance=0.5).cap("C", "a", "gnd", 1e-5)
    board.res("R", "a", "b", 3.0).cap("D", "b", "out", 1e-5, resistance=0.2).res(
        "S", "out", "gnd", 8.0
    )
    board.res("T", "b", "gnd", 6.0)
    network = board.driven([("a", "gnd"), ("out", "gnd"), ("b", "out")], ohm=1.0)
    low = respond(network, board.values, [0.0, 1e-6])
    by_hand = np.array([9.0 / 10.5, 0.0, 6.0 / 10.5])
    assert np.allclose(low.transfer[:, 0, 0], by_hand, rtol=1e-14, atol=0.0)
    assert np.allclose(low.transfer[:, 0, 1], by_hand, rtol=0.0, atol=1e-8)
    assert low.input_impedance[0, 0] == 9.5
    assert abs(low.input_impedance[0, 1] - 9.5) < 1e-7
    high = respond(network, board.values, [1e12])
    assert np.all(np.abs(high.transfer[:, 0, 0]) < 1e-9)
    board.values[("L", "winding_capacitance")] = 1e-10
    # Now C and the winding divide, whatever else there is.
    through = respond(board.driven([("a", "gnd")]), board.values, [1e12])
    assert through.transfer[0, 0, 0] == pytest.approx(1e-10 / (1e-5 + 1e-10), rel=1e-5)
