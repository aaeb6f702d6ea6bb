"""Ladders fed from a voltage and loaded with a resistance, and pairs of them as crossovers.

Element values: singly terminated tables (L. Weinberg, Network Analysis and Synthesis, 1962;
A. I. Zverev, Handbook of Filter Synthesis, 1967; values from memory, recomputed by continued
fractions). The responses they must have: `scipy.signal`.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Literal

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from ohmbook.circuit import respond

from .boards import Board, decibels

BUTTERWORTH = {
    1: [1.0],
    2: [1.414214, 0.707107],
    3: [1.5, 1.333333, 0.5],
    4: [1.530734, 1.577161, 1.082392, 0.382683],
    5: [1.545085, 1.694427, 1.381966, 0.894427, 0.309017],
}
BESSEL_DELAY = {
    2: [1.0, 0.333333],
    3: [0.833333, 0.48, 0.166667],
    4: [0.710145, 0.462682, 0.289855, 0.1],
}
BESSEL = {2: [1.361654, 0.453885], 3: [1.463060, 0.842723, 0.292612]}
CHEBYSHEV = {
    (0.1, 2): [0.715851, 0.421522],
    (0.1, 3): [1.089479, 1.086399, 0.515780],
    (0.1, 4): [1.245335, 1.457564, 1.199418, 0.554394],
    (0.5, 2): [0.940260, 0.701447],
    (0.5, 3): [1.346486, 1.300145, 0.798140],
    (0.5, 4): [1.313751, 1.727895, 1.391574, 0.835153],
}
LINKWITZ = {2: [2.0, 0.5], 4: [1.885618, 1.590990, 0.942809, 0.353553]}
OHM, CORNER_HZ = 8.0, 3000.0
W = 2.0 * pi * CORNER_HZ
GRID = np.geomspace(30.0, 60e3, 120)

Complexes = NDArray[np.complex128]


def low_pass(board: Board, elements: list[float], prefix: str = "lp") -> str:
    """Series coil first, to 8 ohm; the name of the output."""
    return arm(
        board,
        prefix,
        [OHM / W * g if k % 2 == 0 else g / (OHM * W) for k, g in enumerate(elements)],
        coil_first=True,
    )


def high_pass(board: Board, elements: list[float], prefix: str = "hp") -> str:
    """The dual: series C = 1/(g R w), shunt L = R/(g w)."""
    return arm(
        board,
        prefix,
        [1.0 / (g * OHM * W) if k % 2 == 0 else OHM / (g * W) for k, g in enumerate(elements)],
        coil_first=False,
    )


def arm(board: Board, prefix: str, parts: list[float], coil_first: bool) -> str:
    here = "in"
    for k, value in enumerate(parts):
        series, coil = k % 2 == 0, (k % 2 == 0) == coil_first
        there = f"{prefix}{k + 1}" if series else "gnd"
        (board.coil if coil else board.cap)(f"{prefix} part {k}", here, there, value)
        here = there if series else here
    board.res(f"{prefix} load", here, "gnd", OHM)
    return here


def transfers(*arms: tuple[str, list[float]]) -> tuple[Complexes, Complexes]:
    """The transfer of each arm, side by side on one source, and the input impedance, on GRID."""
    board = Board()
    build = {"lp": low_pass, "hp": high_pass}
    outputs = [build[kind](board, elements, kind) for kind, elements in arms]
    found = respond(board.driven([(one, "gnd") for one in outputs]), board.values, GRID)
    return found.transfer[:, 0], found.input_impedance[0]


def sides(low: Complexes, high: Complexes) -> list[tuple[Literal["low", "high"], Complexes]]:
    return [("low", low), ("high", high)]


def analog(b: NDArray[np.float64], a: NDArray[np.float64]) -> Complexes:
    return np.asarray(signal.freqs(b, a, GRID / CORNER_HZ)[1])


@pytest.mark.parametrize("order", [1, 2, 3, 4, 5])
def test_butterworth(order: int) -> None:
    (low, high), _ = transfers(("lp", BUTTERWORTH[order]), ("hp", BUTTERWORTH[order]))
    for kind, found in sides(low, high):
        wanted = analog(*signal.butter(order, 1.0, kind, analog=True))
        assert decibels(found) == pytest.approx(decibels(wanted), abs=0.001)
        assert np.allclose(found, wanted, rtol=0.0, atol=2e-5)
    assert np.allclose(np.abs(low) ** 2 + np.abs(high) ** 2, 1.0, rtol=0.0, atol=1e-5)


@pytest.mark.parametrize("order", [2, 3, 4])
def test_bessel_of_unit_delay(order: int) -> None:
    (low,), _ = transfers(("lp", BESSEL_DELAY[order]))
    wanted = analog(*signal.bessel(order, 1.0, "low", analog=True, norm="delay"))
    assert decibels(low) == pytest.approx(decibels(wanted), abs=0.001)


@pytest.mark.parametrize("order", [2, 3])
def test_bessel_down_3_db(order: int) -> None:
    (low, high), _ = transfers(("lp", BESSEL[order]), ("hp", BESSEL[order]))
    for kind, found in sides(low, high):
        wanted = analog(*signal.bessel(order, 1.0, kind, analog=True, norm="mag"))
        assert decibels(found) == pytest.approx(decibels(wanted), abs=0.001)


@pytest.mark.parametrize(("ripple_db", "order"), CHEBYSHEV)
def test_chebyshev(ripple_db: float, order: int) -> None:
    """scipy puts an even order's 0 Hz at -ripple; a ladder without loss has it at 0 dB."""
    (low,), _ = transfers(("lp", CHEBYSHEV[(ripple_db, order)]))
    wanted = decibels(analog(*signal.cheby1(order, ripple_db, 1.0, "low", analog=True)))
    wanted += ripple_db if order % 2 == 0 else 0.0
    assert decibels(low) == pytest.approx(wanted, abs=0.001)


@pytest.mark.parametrize("order", [2, 4])
def test_linkwitz_riley(order: int) -> None:
    """The square of a Butterworth of half the order (S. Linkwitz, J. Audio Eng. Soc.
    24 (1), 1976)."""
    (low, high), _ = transfers(("lp", LINKWITZ[order]), ("hp", LINKWITZ[order]))
    for kind, found in sides(low, high):
        wanted = analog(*signal.butter(order // 2, 1.0, kind, analog=True)) ** 2
        assert decibels(found) == pytest.approx(decibels(wanted), abs=0.001)


CLOSED = {
    1: [1.0],
    2: [sqrt(2.0), sqrt(0.5)],
    3: [1.5, 4.0 / 3.0, 0.5],
}


def butterworth_exactly(order: int) -> list[float]:
    """Element values of full precision, by the continued fraction of the polynomial's halves."""
    coefficients = np.real(np.poly(signal.buttap(order)[1]))
    upper, lower = coefficients.copy(), coefficients.copy()
    upper[1::2], lower[0::2] = 0.0, 0.0
    lower = lower[1:]
    found = []
    for _ in range(order):
        found.append(float(upper[0] / lower[0]))
        shifted = np.zeros_like(upper)
        shifted[: lower.size] = found[-1] * lower
        upper, lower = lower, (upper - shifted)[2:]
    return found[::-1]


@pytest.mark.parametrize("order", [1, 2, 3, 4, 5])
def test_paired_butterworth_arms_are_a_resistance(order: int) -> None:
    """Low-pass and high-pass of one order side by side present R at every frequency (recomputed
    identity of complementary singly terminated ladders)."""
    elements = butterworth_exactly(order)
    assert elements == pytest.approx(BUTTERWORTH[order], abs=6e-7)
    _, impedance = transfers(("lp", elements), ("hp", elements))
    assert np.allclose(impedance, OHM, rtol=3e-14, atol=0.0)


@pytest.mark.parametrize("order", [2, 4])
def test_paired_linkwitz_riley_arms_are_not(order: int) -> None:
    """|Z| is 2 R and purely real at the corner, and goes to R far away (recomputed)."""
    exactly = {2: LINKWITZ[2], 4: [4 * sqrt(2) / 3, 9 * sqrt(2) / 8, 2 * sqrt(2) / 3, sqrt(2) / 4]}
    board = Board()
    outputs = [low_pass(board, exactly[order]), high_pass(board, exactly[order])]
    network = board.driven([(one, "gnd") for one in outputs])
    found = respond(network, board.values, [CORNER_HZ, 1.0, 1e7]).input_impedance[0]
    assert found[0] == pytest.approx(2.0 * OHM, rel=1e-13)
    assert np.abs(found[1:]) == pytest.approx([OHM, OHM], rel=1e-3)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("B1", [0.424413], [6.631456]),
        ("B2", [0.600211, 4.689147], [4.689147, 0.600211]),
        ("B3", [0.636620, 8.841941, 0.212207], [4.420971, 0.318310, 13.262912]),
        (
            "B4",
            [0.649664, 10.458874, 0.459382, 2.537748],
            [4.332207, 0.269099, 6.126666, 1.109045],
        ),
        ("LR2", [0.848826, 3.315728], [3.315728, 0.848826]),
        (
            "LR4",
            [0.800281, 10.550582, 0.400141, 2.344574],
            [3.516861, 0.266760, 7.033721, 1.200422],
        ),
    ],
)
def test_networks_of_8_ohm_at_3_khz(name: str, low: list[float], high: list[float]) -> None:
    """Values in mH and uF (recomputed; the constants of V. Dickason, The Loudspeaker Design
    Cookbook, 4th ed. 1991, agree to their digits, from memory): level and phase at the corner."""
    order = len(low)
    board = Board()
    lows = [v * (1e-3 if k % 2 == 0 else 1e-6) for k, v in enumerate(low)]
    highs = [v * (1e-6 if k % 2 == 0 else 1e-3) for k, v in enumerate(high)]
    outputs = [arm(board, "lp", lows, coil_first=True), arm(board, "hp", highs, coil_first=False)]
    network = board.driven([(one, "gnd") for one in outputs])
    found = respond(network, board.values, [CORNER_HZ]).transfer[:, 0, 0]
    level = -6.0206 if name.startswith("LR") else -3.0103
    assert decibels(found) == pytest.approx([level, level], abs=1e-4)
    assert np.angle(found * np.array([1j, -1j]) ** order, deg=True) == pytest.approx(
        [45.0 * order, -45.0 * order], abs=1e-3
    )


@pytest.mark.parametrize(
    ("elements", "added", "subtracted"),
    [
        (CLOSED[1], 0.0, 0.0),
        (CLOSED[2], None, 3.0103),
        (CLOSED[3], 0.0, 0.0),
        (LINKWITZ[2], None, 0.0),
        ([4 * sqrt(2) / 3, 9 * sqrt(2) / 8, 2 * sqrt(2) / 3, sqrt(2) / 4], 0.0, None),
    ],
    ids=["B1", "B2", "B3", "LR2", "LR4"],
)
def test_sums_at_the_corner(
    elements: list[float], added: float | None, subtracted: float | None
) -> None:
    """Ideal, equal, coincident drivers (S. Linkwitz 1976; R. H. Small, J. Audio Eng. Soc. 19 (1),
    1971; figures exact). None is a null. The pair probe reads the difference itself."""
    board = Board()
    lp, hp = low_pass(board, elements), high_pass(board, elements)
    network = board.driven([(lp, "gnd"), (hp, "gnd"), (lp, hp)])
    low, high, difference = respond(network, board.values, [CORNER_HZ]).transfer[:, 0, 0]
    for found, wanted in ((low + high, added), (difference, subtracted)):
        if wanted is None:
            assert abs(found) < 1e-13
        else:
            assert 20.0 * np.log10(abs(found)) == pytest.approx(wanted, abs=1e-4)


@pytest.mark.parametrize(
    ("elements", "sign"),
    [(CLOSED[1], 1), (CLOSED[3], 1), (CLOSED[3], -1), (LINKWITZ[2], -1)],
)
def test_flat_sums(elements: list[float], sign: int) -> None:
    """B1 and B3 sum flat, B3 either way, LR2 as a difference, at every frequency."""
    (low, high), _ = transfers(("lp", elements), ("hp", elements))
    assert np.allclose(np.abs(low + sign * high), 1.0, rtol=0.0, atol=1e-13)


def test_each_section_loads_the_one_before() -> None:
    """A loaded ladder is not the product of its sections: the engine must not treat it so."""
    (low,), _ = transfers(("lp", [*BUTTERWORTH[2], *BUTTERWORTH[2]]))
    (one,), _ = transfers(("lp", BUTTERWORTH[2]))
    assert np.abs(decibels(low) - 2.0 * decibels(one)).max() > 1.0
