"""The engine against nodal analysis of the tests' own, on random networks.

Modified nodal analysis: Ho, Ruehli and Brennan, IEEE Trans. CAS 22, 1975; see `tableau`.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from numpy.typing import NDArray

from ohmbook.circuit import digits_lost, respond
from ohmbook.circuit.network import Branch, Drive, Network

from .boards import Board, Floats, ladder, three_way
from .random_nets import frequencies, networks
from .tableau import condition, dense, distance, precise

Case = tuple[Network, Floats]


def answers(network: Network, values: Floats, f_hz: object) -> NDArray[np.complex128]:
    """Probes and then the input impedance, shape (probes + 1, m)."""
    found = respond(network, values, np.asarray(f_hz))
    return np.concatenate([found.transfer[:, 0], found.input_impedance])


@given(networks(), frequencies)
@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_networks_agree_with_dense_nodal_algebra(case: Case, f_hz: list[float]) -> None:
    network, values = case
    assume(all(condition(network, values, f) < 1e7 for f in f_hz))
    found, wanted = answers(network, values, f_hz), dense(network, values, f_hz)
    scale = np.ones_like(wanted.real)
    scale[-1] = np.abs(wanted[-1])
    assert np.all(np.abs(found - wanted) <= 1e-10 * scale)


@given(networks(most_nodes=6, lossless=True), frequencies)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_lossless_networks_agree_with_many_digits(case: Case, f_hz: list[float]) -> None:
    """Resonances anywhere; what the circuit itself makes of the last digit is allowed for."""
    network, values = case
    lost = digits_lost(network, values, f_hz[:1]).digits
    found, wanted = answers(network, values, f_hz[:1])[:, 0], precise(network, values, f_hz[0])
    for one, reference in zip(found, wanted, strict=True):
        if abs(reference) < 1e-40:
            assert abs(one) <= 1e-15
        else:
            assert distance(complex(one), reference) <= max(1e-13, 10.0 ** (lost - 15.0))


def test_a_three_way_of_18_parts_agrees_with_many_digits() -> None:
    network, values = three_way()
    f_hz = [20.0, 356.0, 2345.0, 20e3]
    found = answers(network, values, f_hz)
    for k, f in enumerate(f_hz):
        wanted = precise(network, values, f)
        assert (
            max(distance(complex(*_parts(a)), b) for a, b in zip(found[:, k], wanted, strict=True))
            < 1e-13
        )


def _parts(number: np.complex128) -> tuple[float, float]:
    return float(number.real), float(number.imag)


@pytest.mark.parametrize("rungs", [6, 48, 400])
def test_long_ladders_do_not_overflow(rungs: int) -> None:
    """Against the chain of ABCD matrices in 60 digits (any text on two-ports)."""
    import mpmath

    network, values = ladder(rungs)
    f_hz = np.array([20.0, 700.0, 1500.0])
    found = answers(network, values, f_hz)
    for k, f in enumerate(f_hz):
        with mpmath.workdps(60):
            jw = 2j * mpmath.pi * mpmath.mpf(float(f))
            voltage, current = mpmath.mpc(1), mpmath.mpc(1) / 8
            at = {rungs: voltage}
            for rung in reversed(range(rungs)):
                current += jw * mpmath.mpf(values[(f"C{rung}", "capacitance")]) * voltage
                series = mpmath.mpf("0.5") + jw * mpmath.mpf(values[(f"L{rung}", "inductance")])
                voltage += series * current
                at[rung] = voltage
            emf, half = voltage + current, rungs // 2
            wanted = [at[rungs] / emf, at[half] / emf, (at[half] - at[half + 1]) / emf]
            wanted.append(voltage / current)
        for one, reference in zip(found[:, k], wanted, strict=True):
            assert distance(complex(*_parts(one)), reference) < 1e-12


@pytest.mark.parametrize("small", [1e-12, 1e-6])
@pytest.mark.parametrize("large", [1e9, 1e15])
def test_tiny_and_huge_parts_are_ordinary(small: float, large: float) -> None:
    board = Board().res("lead", "in", "a", small).coil("L", "a", "b", 1e-3, resistance=small)
    board.res("leak", "a", "gnd", large).cap("C", "b", "gnd", 4.7e-6, resistance=small)
    board.res("bridge", "a", "x", large).res("load", "x", "gnd", 8.0).res("bleed", "b", "x", large)
    network = board.driven([("b", "gnd"), ("x", "gnd"), ("a", "b"), ("in", "a")], ohm=small)
    f_hz = [0.01, 1e3, 1e7]
    found = answers(network, board.values, f_hz)
    for k, f in enumerate(f_hz):
        wanted = precise(network, board.values, f)
        for one, reference in zip(found[:, k], wanted, strict=True):
            assert distance(complex(*_parts(one)), reference) < 1e-12


@given(networks(most_nodes=6), frequencies)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example(
    (
        Network(
            (Branch("part 0", "resistor", ("n0", "n1")),), Drive(("n1", "n0")), (("n0", "n1"),)
        ),
        {("part 0", "resistance"): 1.0},
    ),
    [1000.0],
)
def test_draws_are_solved_as_each_alone(case: Case, f_hz: list[float]) -> None:
    """Values by draw, frequencies for all or by draw: the same as one at a time."""
    network, values = case
    rng = np.random.default_rng(3)
    draws = {key: value * np.exp(0.1 * rng.standard_normal(5)) for key, value in values.items()}
    grid = np.array(f_hz) * np.linspace(0.9, 1.1, 5)[:, None]
    together, shifted = respond(network, draws, f_hz), respond(network, draws, grid)
    for k in range(5):
        alone = {key: float(value[k]) for key, value in draws.items()}
        for many, f in ((together, np.array(f_hz)), (shifted, grid[k])):
            one = respond(network, alone, f)
            same = np.isclose(many.transfer[:, k], one.transfer[:, 0], rtol=1e-9, atol=1e-13)
            assert same.all()
            assert np.allclose(many.input_impedance[k], one.input_impedance[0], rtol=1e-9)


def test_many_draws_span_blocks() -> None:
    """More points than one block holds, a last block that is smaller, frequencies in pieces."""
    network, values = three_way()
    rng = np.random.default_rng(4)
    draws = {key: value * np.exp(0.1 * rng.standard_normal(37)) for key, value in values.items()}
    for count in (300, 5000):
        f_hz = np.geomspace(20.0, 20e3, count)
        many = respond(network, draws, f_hz)
        assert many.transfer.shape == (3, 37, count)
        for k in (0, 20, 36):
            alone = {key: float(value[k]) for key, value in draws.items()}
            one = respond(network, alone, f_hz)
            assert np.allclose(many.transfer[:, k], one.transfer[:, 0], rtol=1e-12, atol=0.0)
            assert np.allclose(many.input_impedance[k], one.input_impedance[0], rtol=1e-12)
