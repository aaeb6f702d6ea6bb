"""Closed forms and published figures: pads, compensation, resonance, lossy coils, drivers."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from ohmbook.circuit import respond

from .boards import Board, decibels


@pytest.mark.parametrize(
    ("db", "series", "shunt"),
    [
        (1.0, 0.86999, 65.5639),
        (2.0, 1.64537, 30.8969),
        (3.0, 2.33643, 19.3922),
        (6.0, 3.99050, 8.03808),
        (10.0, 5.47018, 3.69980),
    ],
)
@pytest.mark.parametrize("load", [8.0, 4.0])
def test_l_pads(db: float, series: float, shunt: float, load: float) -> None:
    """R(1-k) in series and R k/(1-k) across, k = 10^(-dB/20): common formula, recomputed table."""
    board = Board().res("series", "in", "out", series * load / 8.0)
    board.res("shunt", "out", "gnd", shunt * load / 8.0).res("load", "out", "gnd", load)
    found = respond(board.driven([("out", "gnd")]), board.values, [0.0, 1000.0])
    assert decibels(found.transfer[0, 0]) == pytest.approx([-db, -db], abs=2e-5)
    assert found.input_impedance[0] == pytest.approx([load, load], rel=2e-6)


def test_a_series_rc_makes_a_voice_coil_a_resistance() -> None:
    """Across Re + jwLe put Rc = Re and C = Le/Re^2 (O. J. Zobel's constant-resistance pair; exact,
    recomputed): 6 ohm, 0.5 mH, 13.888889 uF."""
    board = Board().res("Re", "in", "a", 6.0).coil("Le", "a", "gnd", 0.5e-3)
    board.cap("C", "in", "gnd", 0.5e-3 / 36.0, resistance=6.0)
    assert board.values[("C", "capacitance")] == pytest.approx(13.888889e-6, rel=1e-7)
    found = respond(board.driven([]), board.values, [0.0, 100.0, 1e3, 1e4])
    assert np.allclose(found.input_impedance[0], 6.0, rtol=1e-14, atol=0.0)


def driver(board: Board, henry: float | None = None) -> Board:
    """Re 5.6, fs 32, Qms 3.5, Qes 0.42 as an electrical circuit (R. H. Small, J. Audio Eng. Soc.
    20 (5), 1972): Cmes 373.0194 uF, Lces 66.31456 mH, Res 46.666667 ohm."""
    after = "a" if henry is None else "e"
    board.res("Re", "in", after, 5.6)
    if henry is not None:
        board.coil("Le", "e", "a", henry)
    board.cap("Cmes", "a", "gnd", 373.0194e-6).coil("Lces", "a", "gnd", 66.31456e-3)
    return board.res("Res", "a", "gnd", 46.666667)


def test_a_drivers_impedance_curve() -> None:
    """Its peak and the two frequencies where |Z| = Re sqrt(r0) (Small 1972; recomputed)."""
    network, values = (board := driver(Board())).driven([]), board.values
    found = np.abs(respond(network, values, [32.0, 20.948917463, 48.880807413]).input_impedance[0])
    assert found == pytest.approx([52.266667, 17.108283, 17.108283], rel=1e-6)


def test_a_drivers_full_dual_makes_it_a_resistance() -> None:
    """Re in series with [C = Le/Re^2 across the motional dual] (recomputed, exact)."""
    re, le = 5.6, 0.8e-3
    board = driver(Board(), le)
    board.res("Rc", "in", "z", re).cap("Cc", "z", "gnd", le / re**2)
    board.res("Rd", "z", "z1", re**2 / 46.666667).coil("Ld", "z1", "z2", re**2 * 373.0194e-6)
    board.cap("Cd", "z2", "gnd", 66.31456e-3 / re**2)
    found = respond(board.driven([]), board.values, [10.0, 32.0, 100.0, 1000.0])
    assert np.allclose(found.input_impedance[0], 5.6, rtol=1e-13, atol=0.0)


def test_the_motional_branch_alone() -> None:
    """The series branch that answers for the motional part (exact where Le = 0; recomputed):
    11.69789 mH, 2114.622 uF, 6.272 ohm."""
    board = driver(Board()).res("Rn", "in", "x", 6.272).coil("Ln", "x", "y", 11.69789e-3)
    board.cap("Cn", "y", "gnd", 2114.622e-6)
    found = respond(board.driven([]), board.values, [10.0, 32.0, 100.0, 1000.0])
    assert np.allclose(found.input_impedance[0], 5.6, rtol=1e-6, atol=0.0)


@pytest.mark.parametrize(
    ("f_hz", "real", "imaginary", "henry"),
    [
        (100.0, 0.825663, 1.620454, 2.579033e-3),
        (1000.0, 4.138116, 8.121510, 1.292578e-3),
        (10000.0, 20.739709, 40.703972, 0.647824e-3),
    ],
)
def test_a_lossy_coil(f_hz: float, real: float, imaginary: float, henry: float) -> None:
    """Z = K (jw)^n (W. M. Leach, J. Audio Eng. Soc. 50 (6), 2002), K 0.02, n 0.7: recomputed
    figures. Here n = 1 - loss and K = L w0^loss, w0 at 1 kHz."""
    loss = 0.3
    board = Board().coil("coil", "in", "gnd", 0.02 / (2.0 * pi * 1000.0) ** loss, loss=loss)
    found = respond(board.driven([]), board.values, [f_hz]).input_impedance[0, 0]
    assert found.real == pytest.approx(real, abs=6e-7)
    assert found.imag == pytest.approx(imaginary, abs=6e-7)
    assert np.angle(found, deg=True) == pytest.approx(63.0, abs=1e-12)
    assert found.imag / (2.0 * pi * f_hz) == pytest.approx(henry, abs=6e-10)


@pytest.mark.parametrize("f_hz", [50.0, 1000.0, 12e3])
def test_a_lossy_capacitor(f_hz: float) -> None:
    """Y = jwC (jw/w0)^(-loss): a constant loss angle of loss * 90 degrees (Curie and von
    Schweidler's law; from memory), and the stated capacitance at 1 kHz but for its cosine."""
    board = Board().cap("cap", "in", "gnd", 4.7e-6, loss=0.02, resistance=0.1)
    found = respond(board.driven([]), board.values, [f_hz]).input_impedance[0, 0] - 0.1
    wanted = 1.0 / (2j * pi * f_hz * 4.7e-6) * (1j * f_hz / 1000.0) ** 0.02
    assert found == pytest.approx(wanted, rel=1e-13)
    assert np.angle(found, deg=True) == pytest.approx(-90.0 + 0.02 * 90.0, abs=1e-11)


def test_a_coil_with_winding_capacitance() -> None:
    """Its own resonance: |Z| = L/(C r) there, but for 1/Q^2 (any text on tuned circuits)."""
    board = Board().coil("coil", "in", "gnd", 1e-3, resistance=0.5, winding_capacitance=100e-12)
    f0 = 1.0 / (2.0 * pi * sqrt(1e-3 * 100e-12))
    found = respond(board.driven([]), board.values, [f0]).input_impedance[0, 0]
    assert abs(found) == pytest.approx(1e-3 / (100e-12 * 0.5), rel=1e-6)


def series_circuit() -> Board:
    return Board().coil("L", "in", "x", 1e-3).cap("C", "x", "y", 1e-6).res("R", "y", "gnd", 2.0)


def test_series_resonance() -> None:
    """2 ohm, 1 mH, 1 uF (textbook formulas, recomputed): f0 5032.921210 Hz, Q 15.811388301,
    half-power points 4876.282099 and 5194.591985 Hz."""
    board = series_circuit()
    network = board.driven([("y", "gnd"), ("x", "y")])
    f0, f1, f2 = 5032.921210, 4876.282099, 5194.591985
    found = respond(network, board.values, [f0, f1, f2])
    across = np.abs(found.transfer[0, 0])
    assert across == pytest.approx([1.0, sqrt(0.5), sqrt(0.5)], rel=2e-7)
    assert abs(found.transfer[1, 0, 0]) == pytest.approx(15.811388301, rel=1e-7)
    assert found.input_impedance[0, 0] == pytest.approx(2.0, abs=1e-6)

    def above(f_hz: float) -> float:
        return float(np.abs(respond(network, board.values, [f_hz]).transfer[0, 0, 0])) - sqrt(0.5)

    edges = [brentq(above, 4000.0, f0, xtol=1e-9), brentq(above, f0, 6000.0, xtol=1e-9)]
    assert edges == pytest.approx([f1, f2], abs=1e-5)
    assert edges[1] - edges[0] == pytest.approx(318.309886, abs=1e-5)


@pytest.mark.parametrize(
    ("source", "coil", "reactance"),
    [(50.0, 0.0, 28.867513459), (50.0, 2.0, 29.933259094), (100.0, 0.8, 58.189575240)],
)
def test_half_amplitude(source: float, coil: float, reactance: float) -> None:
    """Across a coil behind R the amplitude is half where X^2 = ((R + r)^2 - 4 r^2)/3 (the method
    is G. Rico's, The Technology Interface, fall 1996; figures recomputed)."""
    board = Board().coil("coil", "in", "gnd", reactance / (2.0 * pi * 5000.0), resistance=coil)
    found = respond(board.driven([("in", "gnd")], ohm=source), board.values, [5000.0])
    assert abs(found.transfer[0, 0, 0]) == pytest.approx(0.5, rel=1e-10)


def test_a_dummy_cell() -> None:
    """Resistor, coil and parallel RC in series, as complex algebra has it."""
    board = Board().coil("lead", "in", "a", 2.97e-6, resistance=29.117)
    board.res("R1", "a", "gnd", 46.666).cap("C1", "a", "gnd", 10.394e-6)
    f_hz = np.geomspace(1.0, 50e3, 48)
    found = respond(board.driven([]), board.values, f_hz).input_impedance[0]
    jw = 2j * pi * f_hz
    wanted = 29.117 + jw * 2.97e-6 + 1.0 / (1.0 / 46.666 + jw * 10.394e-6)
    assert np.allclose(found, wanted, rtol=1e-13, atol=0.0)
