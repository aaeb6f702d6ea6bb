"""Bands against NumPy's own quantiles of every draw, and within their memory."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook.circuit import bands, respond
from ohmbook.circuit.network import Network
from ohmbook.errors import CallError, CircuitError, ContradictionError

from .boards import Board, Draws, spread, three_way


def by_numpy(network: Network, values: Draws, f_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    found = respond(network, values, f_hz)
    every = np.concatenate([found.transfer, found.input_impedance[None]])
    with np.errstate(invalid="ignore"):
        return np.asarray(np.quantile(np.abs(every), (0.05, 0.5, 0.95), axis=1)).swapaxes(0, 1)


@pytest.mark.parametrize("threads", [1, 2, 3])
@pytest.mark.parametrize("draws", [2, 37, 1000])
def test_bands_are_quantiles_of_every_draw(threads: int, draws: int) -> None:
    network, values = three_way()
    many, f_hz = spread(values, draws), np.geomspace(20.0, 20e3, 60)
    found = bands(network, many, f_hz, threads=threads)
    wanted = by_numpy(network, many, f_hz)
    assert np.allclose(found.transfer, wanted[:-1], rtol=1e-13, atol=0.0)
    assert np.allclose(found.input_impedance, wanted[-1], rtol=1e-13, atol=0.0)


def test_threads_change_nothing() -> None:
    network, values = three_way()
    many, f_hz = spread(values, 501), np.geomspace(20.0, 20e3, 40)
    one, two = (respond(network, many, f_hz, threads=k) for k in (1, 2))
    assert np.array_equal(one.transfer, two.transfer)
    assert np.array_equal(one.input_impedance, two.input_impedance)


def test_direct_current_pairs_and_one_draw() -> None:
    board = Board().coil("L", "in", "a", 1e-3, resistance=0.5, loss=0.03).res("R", "a", "b", 8.0)
    network = (
        board.cap("C", "b", "gnd", 1e-5)
        .res("S", "b", "gnd", 4.0)
        .driven([("a", "b"), ("b", "gnd")], ohm=0.5)
    )
    f_hz = np.array([1000.0, 0.0, 50.0])
    found = bands(network, board.values, f_hz)
    single = respond(network, board.values, f_hz)
    for k in range(3):
        assert np.allclose(found.transfer[:, k], np.abs(single.transfer[:, 0]), rtol=1e-13)
    many = spread(board.values, 99)
    assert np.allclose(bands(network, many, f_hz).transfer, by_numpy(network, many, f_hz)[:-1])


def test_a_resonance_in_one_draw_is_met_exactly() -> None:
    """A lossless series resonance, hit by one draw: |V| across it is 0 there, Zin 0 + R."""
    omega = 2.0 * np.pi * 1000.0
    board = Board().coil("L", "in", "a", 1e-3).cap("C", "a", "gnd", 1.0)
    network = board.driven([("in", "gnd")], ohm=1.0)
    exact = 1.0 / (omega**2 * 1e-3)
    many: Draws = {
        ("L", "inductance"): np.full(3, 1e-3),
        ("C", "capacitance"): np.array([exact, 2.0 * exact, 3.0 * exact]),
        ("source", "resistance"): np.ones(3),
    }
    found = bands(network, many, [1000.0], quantiles=(0.0, 1.0))
    wanted = np.abs(respond(network, many, [1000.0]).transfer[0, :, 0])
    assert found.transfer[0, :, 0] == pytest.approx([wanted.min(), wanted.max()], rel=1e-12)
    assert wanted.min() < 1e-12


def test_open_circuit_has_an_infinite_band() -> None:
    board = Board().res("R", "in", "a", 1.0).add("gap", "open", "a", "gnd")
    network = board.driven([("a", "gnd")], ohm=1.0)
    found = bands(network, {one: np.full(5, v) for one, v in board.values.items()}, [10.0])
    assert np.all(np.isinf(found.input_impedance))
    assert np.all(found.transfer == 1.0)


def test_memory_is_bounded_by_the_block_not_by_the_draws() -> None:
    network, values = three_way()
    f_hz = np.geomspace(20.0, 20e3, 400)
    peaks = []
    for draws in (2_000, 10_000):
        many = spread(values, draws)
        tracemalloc.start()
        bands(network, many, f_hz)
        peaks.append(tracemalloc.get_traced_memory()[1] / 1e6)
        tracemalloc.stop()
    # All answers of 10,000 draws would be 256 MB.
    assert max(peaks) < 60.0


def test_what_cannot_be_is_told() -> None:
    network, values = three_way()
    with pytest.raises(CallError, match="from 0 to 1"):
        bands(network, values, [100.0], quantiles=(0.5, 1.1))
    with pytest.raises(CallError, match=r"shape \(m,\)"):
        bands(network, values, [[100.0]])
    with pytest.raises(CircuitError, match="no resistance"):
        bands(network, {k: v for k, v in values.items() if k != ("R2", "resistance")}, [100.0])
    board = Board().res("wire", "in", "gnd", 0.0)
    ideal = board.driven([])
    with pytest.raises(ContradictionError, match="in draw 1"):
        bands(ideal, {("wire", "resistance"): np.array([1.0, 0.0])}, [100.0])


def test_a_given_impedance_longer_than_the_grid_is_refused() -> None:
    board = Board().res("R", "in", "a", 8.0)
    board.add("Z", "given", "a", "gnd")
    network = board.driven([("a", "gnd")], ohm=1.0)
    many: Draws = {one: np.full(3, value) for one, value in board.values.items()}
    held = {**many, ("Z", "impedance"): np.full((3, 5), 4.0 + 1.0j)}
    with pytest.raises(
        CallError, match=r'"Z" has the shape \(3, 5\): expected one number for each'
    ):
        bands(network, held, [100.0, 200.0])
