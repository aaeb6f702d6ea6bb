"""Behaviour against closed forms; the circuit is solved by the room below."""

from __future__ import annotations

from math import exp, log10, pi

import numpy as np
import pytest

from ohmbook.circuit.network import Branch, Drive, Id, Network
from ohmbook.crossover import Behaviour, behave

from .boards import BUTTERWORTH, FC_HZ, LINKWITZ_RILEY, R_OHM, high_pass, low_pass, network

NAMES = ("woofer", "tweeter")


def _two_way(g: tuple[float, ...]) -> Behaviour:
    circuit, values = network(low_pass(g), high_pass(g))
    return behave(circuit, NAMES, values)


@pytest.mark.parametrize("order", BUTTERWORTH)
def test_butterworth_arms_cross_at_half_power(order: int) -> None:
    # Small, JAES 19 (1), 1971, from memory: each arm at -3.0103 dB at the crossing frequency.
    (crossing,) = _two_way(BUTTERWORTH[order]).crossings
    assert crossing.between == NAMES
    assert crossing.frequency_hz.value == pytest.approx(FC_HZ, rel=1e-9)
    assert crossing.gain_db == pytest.approx(-3.0103, abs=5e-5)


@pytest.mark.parametrize("order", LINKWITZ_RILEY)
def test_linkwitz_riley_arms_cross_at_half_voltage(order: int) -> None:
    # Linkwitz, JAES 24 (1), 1976, from memory: each arm at -6.0206 dB.
    (crossing,) = _two_way(LINKWITZ_RILEY[order]).crossings
    assert crossing.frequency_hz.value == pytest.approx(FC_HZ, rel=1e-9)
    assert crossing.gain_db == pytest.approx(-6.0206, abs=5e-5)


@pytest.mark.parametrize("order", BUTTERWORTH)
def test_paired_butterworth_arms_are_a_resistor(order: int) -> None:
    # The constant-resistance identity of complementary Butterworth arms: recomputed, orders 1-5.
    shown = _two_way(BUTTERWORTH[order])
    np.testing.assert_allclose(shown.input_impedance.magnitude_ohm, R_OHM, rtol=1e-10)
    np.testing.assert_allclose(shown.input_impedance.phase_deg, 0.0, atol=1e-8)
    assert shown.minimum_impedance.ohm.value == pytest.approx(R_OHM, rel=1e-10)


@pytest.mark.parametrize("order", LINKWITZ_RILEY)
def test_linkwitz_riley_input_doubles_at_the_crossing(order: int) -> None:
    # Recomputed from the closed form: |Zin| = 2 R, real, at fc.
    circuit, values = network(low_pass(LINKWITZ_RILEY[order]), high_pass(LINKWITZ_RILEY[order]))
    shown = behave(circuit, NAMES, values, f_hz=np.array([FC_HZ / 2, FC_HZ, FC_HZ * 2]))
    assert shown.input_impedance.magnitude_ohm[1] == pytest.approx(2.0 * R_OHM, rel=1e-9)
    assert shown.input_impedance.phase_deg[1] == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("order", BUTTERWORTH)
def test_gain_of_each_arm_is_the_butterworth_modulus(order: int) -> None:
    # |H|^2 = 1/(1 + (f/fc)^2n), Butterworth, Experimental Wireless 7, 1930, from memory.
    shown = _two_way(BUTTERWORTH[order])
    ratio = (shown.frequency_hz / FC_HZ) ** (2 * order)
    np.testing.assert_allclose(shown.outputs[0].gain_db, -10 * np.log10(1 + ratio), atol=1e-6)
    np.testing.assert_allclose(shown.outputs[1].gain_db, -10 * np.log10(1 + 1 / ratio), atol=1e-6)


@pytest.mark.parametrize("order", [2, 3, 4, 5])
def test_corners_and_slopes_of_butterworth_arms(order: int) -> None:
    # 6.0206 dB per octave and order, and the -6.0206 dB corner at fc 3^(1/2n): the modulus above.
    traits = _two_way(BUTTERWORTH[order]).traits
    for name, side, sign in (("woofer", "above", 1), ("tweeter", "below", -1)):
        three, six = traits[name].corners
        assert (three.depth, six.depth) == ("minus_3_db", "minus_6_db")
        assert three.side == six.side == side
        assert three.frequency_hz.value == pytest.approx(FC_HZ, rel=1e-3)
        expected = FC_HZ * 3.0 ** (sign / (2 * order))
        assert six.frequency_hz.value == pytest.approx(expected, rel=1e-3)
        (slope,) = traits[name].slopes
        assert slope.db_per_octave == pytest.approx(-6.0206 * order, abs=0.1)
        assert slope.words.startswith(f"falls {6 * order} dB per octave {side} ")


def test_first_order_slope_in_words() -> None:
    slopes = _two_way(BUTTERWORTH[1]).traits["woofer"].slopes
    assert [one.words.split(" above ")[0] for one in slopes] == ["falls 6 dB per octave"]


def test_no_slope_where_the_grid_ends_near_the_corner() -> None:
    arm = low_pass(BUTTERWORTH[2], fc_hz=18000.0)
    circuit, values = network(arm)
    traits = behave(circuit, ("woofer",), values).traits["woofer"]
    assert [one.depth for one in traits.corners] == ["minus_3_db"]
    assert traits.slopes == ()


def test_pad_attenuates_and_keeps_the_load() -> None:
    # L-pad for 8 ohm and 6 dB: series 3.99050, shunt 8.03808 ohm (k = 10^(-dB/20)), recomputed.
    series, shunt, load = (("R1", ("in", "t")), ("R2", ("t", "gnd")), ("tweeter", ("t", "gnd")))
    circuit = Network(
        tuple(Branch(name, "resistor", ends) for name, ends in (series, shunt, load)),
        Drive(("in", "gnd")),
        (("t", "gnd"),),
    )
    values = {
        ("R1", "resistance"): 3.99050,
        ("R2", "resistance"): 8.03808,
        ("tweeter", "resistance"): 8.0,
    }
    shown = behave(circuit, ("tweeter",), values)
    np.testing.assert_allclose(shown.outputs[0].gain_db, -6.0, atol=2e-5)
    np.testing.assert_allclose(shown.input_impedance.magnitude_ohm, 8.0, rtol=2e-6)
    level = shown.traits["tweeter"].level_db
    assert level is not None
    assert level.value == pytest.approx(-6.0, abs=2e-5)
    assert shown.traits["tweeter"].corners == ()


def test_series_resistor_and_capacitor_make_a_voice_coil_a_resistor() -> None:
    # Rc = Re, C = Le/Re^2: 6 ohm, 0.5 mH -> 13.888889 uF; Zin 6 ohm at every frequency.
    circuit = Network(
        (
            Branch("coil", "inductor", ("in", "x")),
            Branch("woofer", "resistor", ("x", "gnd")),
            Branch("R1", "resistor", ("in", "z")),
            Branch("C1", "capacitor", ("z", "gnd")),
        ),
        Drive(("in", "gnd")),
        (("x", "gnd"),),
    )
    values: dict[Id, float] = {
        ("coil", "inductance"): 0.5e-3,
        ("woofer", "resistance"): 6.0,
        ("R1", "resistance"): 6.0,
        ("C1", "capacitance"): 0.5e-3 / 36.0,
    }
    shown = behave(circuit, ("woofer",), values)
    np.testing.assert_allclose(shown.input_impedance.magnitude_ohm, 6.0, rtol=1e-10)
    assert shown.minimum_impedance.frequency_hz == 20.0


def test_lowest_impedance_of_a_series_resonance() -> None:
    # R + jwL + 1/jwC has its minimum R at 1/(2 pi sqrt(LC)) = 5032.921210 Hz, recomputed.
    circuit = Network(
        (
            Branch("L1", "inductor", ("in", "a")),
            Branch("C1", "capacitor", ("a", "b")),
            Branch("R1", "resistor", ("b", "gnd")),
        ),
        Drive(("in", "gnd")),
        (("b", "gnd"),),
    )
    values = {
        ("L1", "inductance"): 1e-3,
        ("C1", "capacitance"): 1e-6,
        ("R1", "resistance"): 20.0,
    }
    lowest = behave(circuit, ("b",), values).minimum_impedance
    assert lowest.frequency_hz == pytest.approx(5032.921210, rel=1e-4)
    assert lowest.ohm.value == pytest.approx(20.0, rel=1e-3)


def test_amplifier_resistance_divides_against_a_constant_input() -> None:
    g = BUTTERWORTH[2]
    circuit, values = network(low_pass(g), high_pass(g), owner="amplifier")
    behind = behave(circuit, NAMES, {**values, ("amplifier", "resistance"): 0.5})
    bare = _two_way(g)
    lost = 20 * log10(8.0 / 8.5)
    np.testing.assert_allclose(behind.outputs[0].gain_db - bare.outputs[0].gain_db, lost, atol=1e-9)
    np.testing.assert_allclose(behind.input_impedance.magnitude_ohm, 8.0, rtol=1e-10)


def test_a_driver_turned_round_is_half_a_turn_of_phase() -> None:
    circuit, values = network(low_pass(BUTTERWORTH[2]))
    turned = Network(circuit.branches, circuit.drive, (circuit.probes[0][::-1],))
    plain = behave(circuit, ("woofer",), values).outputs[0]
    other = behave(turned, ("woofer",), values).outputs[0]
    np.testing.assert_allclose(other.gain_db, plain.gain_db, rtol=1e-12)
    np.testing.assert_allclose(np.abs(other.phase_deg - plain.phase_deg), 180.0, atol=1e-9)


def test_phase_of_a_first_order_low_pass() -> None:
    circuit, values = network(low_pass(BUTTERWORTH[1]))
    shown = behave(circuit, ("woofer",), values)
    expected = -np.degrees(np.arctan(shown.frequency_hz / FC_HZ))
    np.testing.assert_allclose(shown.outputs[0].phase_deg, expected, atol=1e-9)


def test_grid_doubled_in_a_decade_agrees() -> None:
    # Frequency scaling: the same board an octave lower crosses an octave lower.
    g = BUTTERWORTH[3]
    circuit, values = network(low_pass(g, fc_hz=1500.0), high_pass(g, fc_hz=1500.0))
    (crossing,) = behave(circuit, NAMES, values).crossings
    assert crossing.frequency_hz.value == pytest.approx(1500.0, rel=1e-9)
    assert 2 * pi * crossing.frequency_hz.value == pytest.approx(exp(np.log(3000 * pi)), rel=1e-9)
