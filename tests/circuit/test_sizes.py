"""The lean road to absolute values gives what the careful one gives, values and slopes."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook.circuit import Sizes, respond, slopes_each
from ohmbook.circuit.network import Branch, Drive, Id, Network

F_HZ = np.geomspace(30.0, 20e3, 9)


def board(*more: Branch) -> Network:
    """A two-way board with a probe's load at either output."""
    parts = (
        Branch("L1", "inductor", ("in", "w")),
        Branch("C1", "capacitor", ("w", "gnd")),
        Branch("R1", "resistor", ("w", "gnd")),
        Branch("C2", "capacitor", ("in", "t")),
        Branch("R2", "resistor", ("t", "gnd")),
        Branch("P1", "capacitor", ("w", "gnd")),
        Branch("P2", "capacitor", ("t", "gnd")),
    )
    drive = Drive(("in", "gnd"), "G")
    return Network((*parts, *more), drive, (("w", "gnd"), ("t", "gnd")))


VALUES: dict[Id, float] = {
    ("L1", "inductance"): 1e-3,
    ("L1", "resistance"): 0.4,
    ("L1", "loss"): 0.02,
    ("C1", "capacitance"): 10e-6,
    ("C1", "resistance"): 0.1,
    ("C1", "loss"): 0.01,
    ("R1", "resistance"): 22.0,
    ("C2", "capacitance"): 5e-6,
    ("R2", "resistance"): 8.0,
    ("P1", "capacitance"): 15e-12,
    ("P2", "capacitance"): 15e-12,
    ("G", "resistance"): 50.0,
}


def looks(network: Network) -> tuple[Sizes, np.ndarray, np.ndarray, np.ndarray]:
    """Both probes and the input impedance at every frequency, the probe's load where it was."""
    f_hz = np.tile(F_HZ, 3)
    outputs = np.repeat(np.arange(3), F_HZ.size)
    present = np.ones((len(VALUES), f_hz.size))
    for k, one in enumerate(VALUES):
        if one[0] == "P1":
            present[k] = outputs == 0
        if one[0] == "P2":
            present[k] = outputs == 1
    return Sizes(network, tuple(VALUES), present, f_hz, outputs), present, f_hz, outputs


def drawn(draws: int, seed: int = 3) -> np.ndarray:
    """Values about a factor of two around those above."""
    rng = np.random.default_rng(seed)
    spread = np.exp(0.7 * rng.standard_normal((draws, len(VALUES))))
    return np.asarray(np.array(list(VALUES.values())) * spread)


@pytest.mark.parametrize("draws", [1, 7, 60])
def test_sizes_and_slopes_are_those_of_the_careful_road(draws: int) -> None:
    network = board()
    sizes, present, f_hz, outputs = looks(network)
    values = drawn(draws)
    stretch = 1.0 + 1e-3 * np.random.default_rng(4).standard_normal((draws, f_hz.size))
    found = sizes.sizes(values, stretch, with_slopes=True)
    assert found is not None
    for k in range(draws):
        at = {one: values[k, j] * present[j] for j, one in enumerate(VALUES)}
        solved = slopes_each(network, at, f_hz * stretch[k], outputs)
        size = np.abs(solved.value)
        np.testing.assert_allclose(found.value[k], size, rtol=1e-12)
        turn = np.conj(solved.value) / size
        np.testing.assert_allclose(
            found.by_log_f[k], (turn * solved.by_log_f).real, rtol=1e-10, atol=1e-14 * size.max()
        )
        slope = {one: np.zeros(f_hz.size) for one in VALUES}
        for owner, row in zip(found.owners, found.by_row[:, k], strict=True):
            if owner >= 0:
                slope[tuple(VALUES)[owner]] += row
        for j, one in enumerate(network.ids):
            if one not in VALUES:
                continue
            by_id = (turn * solved.by_id[j]).real
            given = slope[one] if one[1] == "loss" else slope[one] * at[one]
            np.testing.assert_allclose(given, by_id, rtol=1e-9, atol=1e-12 * size.max())


def test_slopes_are_those_of_finite_differences() -> None:
    network = board()
    sizes, _, f_hz, _ = looks(network)
    values, still = drawn(1), np.ones((1, f_hz.size))
    found = sizes.sizes(values, still, with_slopes=True)
    assert found is not None
    for j in range(len(VALUES)):
        step = 1e-5 * values[0, j]
        either = np.repeat(values, 2, axis=0)
        either[:, j] += [-step, step]
        ends = sizes.sizes(either, np.repeat(still, 2, axis=0), with_slopes=False)
        assert ends is not None
        slope = found.by_row[found.owners == j][:, 0].sum(axis=0)
        expected = (ends.value[1] - ends.value[0]) / (2.0 * step)
        np.testing.assert_allclose(
            slope * values[0, j], expected * values[0, j], rtol=1e-5, atol=1e-8
        )


def test_what_it_cannot_answer_is_given_back() -> None:
    pair = Network(board().branches, board().drive, (("w", "t"), ("t", "gnd")))
    sizes, _, f_hz, _ = looks(pair)
    assert sizes.sizes(drawn(1), np.ones((1, f_hz.size)), with_slopes=False) is None
    sizes, _, f_hz, _ = looks(board())
    below = drawn(1)
    below[0, 0] = -1e-3
    assert sizes.sizes(below, np.ones((1, f_hz.size)), with_slopes=False) is None


def test_the_answer_itself_is_that_of_respond() -> None:
    network = board()
    sizes, _, f_hz, outputs = looks(network)
    found = sizes.sizes(drawn(5), np.ones((5, f_hz.size)), with_slopes=False)
    assert found is not None
    for k in range(5):
        at = dict(zip(VALUES, drawn(5)[k], strict=True))
        for output, absent in ((0, "P2"), (1, "P1")):
            here = {one: 0.0 if one[0] == absent else value for one, value in at.items()}
            answer = np.abs(respond(network, here, F_HZ).transfer[output, 0])
            np.testing.assert_allclose(found.value[k, outputs == output], answer, rtol=1e-12)
