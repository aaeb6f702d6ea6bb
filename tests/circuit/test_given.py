"""Semi-inductors and given impedances, against formulas and the tests' own tableau."""

from __future__ import annotations

from dataclasses import replace

import mpmath
import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook.circuit import bands, respond, slopes
from ohmbook.circuit.network import Id, Network
from ohmbook.errors import CallError, CircuitError, ContradictionError

from .boards import Board, Floats
from .test_slopes import by_mpmath

F_HZ = np.array([30.0, 500.0, 1000.0, 12e3])
REACTANCE = 2.0 * np.pi * F_HZ


def driver() -> tuple[Network, Floats]:
    """A loudspeaker's coil with a semi-inductance, after a capacitor."""
    board = Board().cap("C", "in", "a", 10e-6, resistance=0.1).res("Re", "a", "b", 5.6)
    board.add("Le", "semi-inductor", "b", "gnd", modulus=0.031, exponent=0.67)
    return board.driven([("a", "gnd"), ("b", "gnd")], ohm=0.2), board.values


def test_a_semi_inductor_is_k_jw_to_the_n() -> None:
    """W. M. Leach, J. Audio Eng. Soc. 50 (6), 2002: Z = K (jw)^n."""
    network, values = driver()
    found = respond(network, values, F_HZ)
    with mpmath.workdps(30):
        for k, f_hz in enumerate(F_HZ):
            jw = mpmath.mpc(0, 2 * mpmath.pi * mpmath.mpf(float(f_hz)))
            semi = mpmath.mpf(0.031) * jw ** mpmath.mpf(0.67)
            wanted = mpmath.mpf(5.6) + mpmath.mpf(0.1) + 1 / (jw * mpmath.mpf(10e-6)) + semi
            got = found.input_impedance[0, k]
            assert abs(complex(got) - wanted) < 1e-13 * abs(wanted)
            voltage = semi / (wanted + mpmath.mpf(0.2))
            assert abs(complex(found.transfer[1, 0, k]) - voltage) < 1e-13 * abs(voltage)


@pytest.mark.parametrize("exponent", [0.5, 1.0])
def test_exponent_of_one_is_an_inductor_and_half_is_at_45_degrees(exponent: float) -> None:
    board = Board().add("Le", "semi-inductor", "in", "gnd", modulus=2e-3, exponent=exponent)
    found = respond(board.driven([]), board.values, F_HZ).input_impedance[0]
    assert np.allclose(np.degrees(np.angle(found)), 90.0 * exponent, rtol=1e-14)
    assert np.allclose(np.abs(found), 2e-3 * REACTANCE**exponent, rtol=1e-14)


def test_slopes_of_a_semi_inductor() -> None:
    network, values = driver()
    solved = slopes(network, values, F_HZ)
    for quantity in ("modulus", "exponent"):
        k = solved.ids.index(("Le", quantity))
        for at, f_hz in enumerate(F_HZ.tolist()):
            wanted = by_mpmath(network, values, ("Le", quantity), f_hz)
            assert solved.transfer[:, k, at] == pytest.approx(wanted[:-1], rel=1e-9)
            assert solved.input_impedance[k, at] == pytest.approx(wanted[-1], rel=1e-9)


def test_draws_of_a_semi_inductor_and_direct_current() -> None:
    network, values = driver()
    many = {one: np.full(3, value) for one, value in values.items()}
    many[("Le", "exponent")] = np.array([0.5, 0.7, 1.0])
    many[("Le", "modulus")] = np.array([0.0, 0.03, 2e-4])
    f_hz = [0.0, *F_HZ]
    found = respond(network, many, f_hz)
    for k in range(3):
        alone = respond(network, {one: float(v[k]) for one, v in many.items()}, f_hz)
        assert np.allclose(found.transfer[:, k], alone.transfer[:, 0], rtol=1e-13)


def split() -> tuple[Network, Network, Floats]:
    """A two-way whose woofer is given, and the same with the woofer spelled out."""
    board = Board().coil("L", "in", "w", 1e-3, resistance=0.3, loss=0.02)
    board.cap("C", "w", "gnd", 22e-6)
    spelled = Board()
    spelled.branches, spelled.values = list(board.branches), board.values
    spelled.res("woofer", "w", "x", 5.5).coil("W", "x", "gnd", 0.4e-3)
    board.add("woofer", "given", "w", "gnd")
    probes = [("w", "gnd"), ("in", "w")]
    return board.driven(probes, ohm=0.1), spelled.driven(probes, ohm=0.1), spelled.values


def woofer(f_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
    return np.asarray(5.5 + 2j * np.pi * f_hz * 0.4e-3)


def test_a_given_impedance_is_as_its_parts() -> None:
    network, spelled, values = split()
    wanted = respond(spelled, values, F_HZ)
    for handed in (woofer(F_HZ), woofer):
        found = respond(network, {**values, ("woofer", "impedance"): handed}, F_HZ)  # type: ignore[dict-item]
        assert np.allclose(found.transfer, wanted.transfer, rtol=1e-14)
        assert np.allclose(found.input_impedance, wanted.input_impedance, rtol=1e-14)


def test_a_given_impedance_beside_draws() -> None:
    network, spelled, values = split()
    many: dict[Id, NDArray[np.float64]] = {one: np.full(7, v) for one, v in values.items()}
    many[("C", "capacitance")] = np.linspace(10e-6, 40e-6, 7)
    wanted = respond(spelled, many, F_HZ)
    found = respond(network, {**many, ("woofer", "impedance"): woofer(F_HZ)}, F_HZ)  # type: ignore[dict-item]
    assert found.transfer.shape == (2, 7, 4)
    assert np.allclose(found.transfer, wanted.transfer, rtol=1e-13)
    assert np.allclose(found.input_impedance, wanted.input_impedance, rtol=1e-13)
    top = bands(network, {**many, ("woofer", "impedance"): woofer(F_HZ)}, F_HZ)  # type: ignore[dict-item]
    assert np.allclose(top.transfer, bands(spelled, many, F_HZ).transfer, rtol=1e-13)


def test_a_capacitive_given_impedance() -> None:
    board = Board().res("R", "in", "a", 10.0).add("Z", "given", "a", "gnd")
    z = np.array([3.0 - 4.0j, -2.0j, 0.0, 5.0])
    handed = {**board.values, ("Z", "impedance"): z}
    found = respond(board.driven([("a", "gnd")]), handed, F_HZ)  # type: ignore[arg-type]
    assert np.allclose(found.transfer[0, 0], z / (10.0 + z), rtol=1e-15, atol=0.0)


def test_slopes_beside_and_of_a_given_impedance() -> None:
    network, spelled, values = split()
    solved = slopes(network, {**values, ("woofer", "impedance"): woofer(F_HZ)}, F_HZ)  # type: ignore[dict-item]
    wanted = slopes(spelled, values, F_HZ)
    assert solved.ids == network.ids
    for k, one in enumerate(solved.ids):
        same = (
            [wanted.ids.index(one)]
            if one[0] != "woofer"
            else [
                wanted.ids.index(("woofer", "resistance")),
                wanted.ids.index(("W", "inductance")),
            ]
        )
        total = wanted.transfer[:, same].sum(axis=1)
        assert np.allclose(solved.transfer[:, k], total, rtol=1e-11, atol=1e-15)
    coil = wanted.ids.index(("W", "inductance"))
    moved = wanted.transfer_log_f - wanted.transfer[:, coil]
    assert np.allclose(solved.transfer_log_f, moved, rtol=1e-11, atol=1e-15)


def test_what_cannot_be_is_told() -> None:
    network, _, values = split()
    with pytest.raises(CircuitError, match='"woofer" has no impedance'):
        respond(network, values, F_HZ)
    for bad, why in (
        (np.array([1.0, -1.0 + 2j, 1.0, 1.0]), "real part is 0 or more"),
        (np.array([1.0, np.nan, 1.0, 1.0]), "real part is 0 or more"),
    ):
        with pytest.raises(CircuitError, match=why):
            respond(network, {**values, ("woofer", "impedance"): bad}, F_HZ)
    with pytest.raises(CallError, match="expected one number for each of 4"):
        respond(network, {**values, ("woofer", "impedance"): np.ones(3)}, F_HZ)
    with pytest.raises(CircuitError, match="at 0 Hz is complex"):
        respond(network, {**values, ("woofer", "impedance"): np.array([1j])}, [0.0])
    semi, values = driver()
    for wrong in (0.0, -0.5, 1.2):
        with pytest.raises(CircuitError, match=r'exponent of "Le" is .*: expected above 0'):
            respond(semi, {**values, ("Le", "exponent"): wrong}, F_HZ)
    with pytest.raises(CircuitError, match='"Le" has no exponent'):
        respond(semi, {k: v for k, v in values.items() if k[1] != "exponent"}, F_HZ)
    ideal = Board().add("Z", "given", "in", "gnd").driven([])
    with pytest.raises(ContradictionError, match="short"):
        respond(ideal, {("Z", "impedance"): np.zeros(4)}, F_HZ)
    assert replace(ideal, probes=()) == ideal
