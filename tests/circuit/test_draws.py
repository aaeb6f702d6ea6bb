"""Many draws run in blocks, against 60 digits and against the same draws one by one."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from ohmbook.circuit import Response, bands, respond
from ohmbook.circuit.network import Network

from .boards import Board, Draws, Floats, spread, three_way
from .tableau import distance, precise

FEW_HZ = np.array([20.0, 333.0, 1000.0, 4700.0, 20e3])


def every(found: Response) -> np.ndarray[tuple[int, ...], np.dtype[np.complex128]]:
    """Outputs and the input impedance, shape (outputs + 1, draws, m)."""
    return np.concatenate([found.transfer, found.input_impedance[None]])


def worst(network: Network, many: Draws, draws: list[int]) -> float:
    """The largest distance of some draws from their answers in 60 digits."""
    found = every(respond(network, many, FEW_HZ))
    apart = 0.0
    for draw in draws:
        values: Floats = {one: float(value[draw]) for one, value in many.items()}
        for k, f_hz in enumerate(FEW_HZ):
            wanted = precise(network, values, f_hz)
            pairs = zip(found[:, draw, k], wanted, strict=True)
            apart = max(apart, *(distance(one, other) for one, other in pairs))
    return apart


@pytest.mark.parametrize("lossless", [True, False])
def test_draws_of_a_three_way(lossless: bool) -> None:
    network, values = three_way()
    many = spread(values, 60)
    if lossless:
        many = {one: value for one, value in many.items() if one[1] != "loss"}
    assert worst(network, many, [0, 1, 30, 59]) < 1e-13


def test_losses_that_vary_too_much_to_share_what_they_are_interpolated_between() -> None:
    network, values = three_way()
    many, rng = spread(values, 40), np.random.default_rng(4)
    many[("L1", "loss")] = rng.uniform(0.0, 0.3, 40)
    many[("C3", "loss")] = rng.uniform(0.2, 0.9, 40)
    assert worst(network, many, [0, 20, 39]) < 1e-13


def test_losses_that_vary_too_much_to_be_interpolated() -> None:
    network, values = three_way()
    many = spread(values, 40)
    many[("L1", "loss")] = np.linspace(-1.0, 1.0, 40)
    assert worst(network, many, [0, 20, 39]) < 1e-13


def trap(resistance: float) -> Board:
    """A node inside a parallel resonance that nothing but `resistance` damps."""
    board = Board().res("R1", "in", "a", 10.0)
    board.coil("L", "a", "b", 1e-3, resistance=resistance).cap("C", "b", "a", 10e-6)
    return board.res("R2", "b", "gnd", 5.0)


@pytest.mark.parametrize("resistance", [0.0, 1e-9])
def test_a_resonance_without_losses_met_in_one_draw_only(resistance: float) -> None:
    """The output is behind a lossless trap: near its frequency nearly all digits cancel."""
    board = trap(resistance)
    network = board.driven([("b", "gnd"), ("a", "b")], ohm=1.0)
    f_hz = np.geomspace(100.0, 10e3, 41)
    many = {one: np.full(30, value) for one, value in board.values.items()}
    many[("C", "capacitance")] = 10e-6 * np.linspace(0.9, 1.1, 30)
    for draw, near in ((7, 0.0), (20, 1e-7), (21, 1e-12)):
        resonant = 1.0 / (1e-3 * (2.0 * pi * f_hz[25]) ** 2)
        many[("C", "capacitance")][draw] = resonant * (1.0 + near)
    found = every(respond(network, many, f_hz))
    held = bands(network, many, f_hz, (0.0, 1.0))
    for draw in range(30):
        values = {one: float(value[draw]) for one, value in many.items()}
        single = every(respond(network, values, f_hz))[:, 0]
        assert np.allclose(found[:, draw], single, rtol=1e-12, atol=1e-15)
    size = np.abs(found)
    extremes = np.stack([size.min(axis=1), size.max(axis=1)], axis=1)
    assert np.allclose(held.transfer, extremes[:-1], rtol=1e-12, atol=1e-15)
    assert np.allclose(held.input_impedance, extremes[-1], rtol=1e-12)
