"""Coupled coils against the tests' own tableau, which has v1 = Z1 i1 + X i2 and nothing else."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import mpmath
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from ohmbook.circuit import bands, respond, slopes
from ohmbook.circuit.network import Coupling, Id, Network
from ohmbook.errors import CircuitError, FloatingError

from .boards import Board, Floats
from .tableau import distance, precise
from .test_slopes import by_mpmath

KS = [0.0, 0.3, 0.999, 1.0]
Case = tuple[Network, Floats]


def away(found: complex, wanted: object) -> float:
    """The relative distance; nothing but 0 is near a wanted 0."""
    return distance(found, wanted) if wanted else float(found != 0.0)


def coupled(board: Board, k: float, probes: list[tuple[str, str]], ohm: float = 2.0) -> Case:
    board.values[("K", "coupling")] = k
    return replace(board.driven(probes, ohm=ohm), couplings=(Coupling("K", ("P", "S")),)), (
        board.values
    )


def windings(p: tuple[str, str], s: tuple[str, str], ohm: float) -> Board:
    return Board().coil("P", *p, 0.9e-3, resistance=ohm).coil("S", *s, 2.3e-3, resistance=ohm)


def autotransformer(k: float, ohm: float) -> Case:
    """A tapped coil: driven at its top, loaded at its tap."""
    board = windings(("in", "tap"), ("tap", "gnd"), ohm).res("load", "tap", "gnd", 8.0)
    return coupled(board, k, [("tap", "gnd"), ("in", "tap")])


def opposed(k: float, ohm: float) -> Case:
    """A dotted end and an undotted one together, both ends of the second loaded."""
    board = windings(("in", "a"), ("b", "in"), ohm).res("R", "a", "gnd", 5.0)
    return coupled(board.cap("C", "b", "gnd", 4.7e-6, resistance=0.1), k, [("a", "b")])


def dots_together(k: float, ohm: float) -> Case:
    board = windings(("in", "gnd"), ("out", "gnd"), ohm).res("R", "out", "gnd", 6.0)
    return coupled(board, k, [("out", "gnd")])


def isolated(k: float, ohm: float) -> Case:
    """A secondary that nothing joins with the primary."""
    board = windings(("in", "gnd"), ("x", "y"), ohm).res("R", "x", "y", 6.0)
    network, values = coupled(board, k, [("x", "y")])
    return network, values


def apart(k: float, ohm: float) -> Case:
    """No common node, in one circuit: two coils of a crossover that lie too close."""
    board = windings(("in", "a"), ("b", "gnd"), ohm).cap("C", "a", "gnd", 33e-6, resistance=0.05)
    board.cap("D", "in", "b", 8.2e-6, resistance=0.05).res("R", "b", "gnd", 8.0)
    board.res("Q", "a", "gnd", 6.0)
    return coupled(board, k, [("a", "gnd"), ("b", "gnd"), ("a", "b")])


SHARED = [autotransformer, opposed, dots_together]


@pytest.mark.parametrize("k", KS)
@pytest.mark.parametrize("ohm", [0.0, 0.4])
@pytest.mark.parametrize("build", [*SHARED, apart])
def test_against_mpmath(build: object, ohm: float, k: float) -> None:
    network, values = build(k, ohm)  # type: ignore[operator]
    for f_hz in (30.0, 1000.0, 15e3):
        found = respond(network, values, [f_hz])
        every = [*found.transfer[:, 0, 0], found.input_impedance[0, 0]]
        for one, wanted in zip(every, precise(network, values, f_hz), strict=True):
            assert away(complex(one), wanted) < 1e-12


@pytest.mark.parametrize("k", KS)
def test_an_isolated_secondary_is_its_own_circuit(k: float) -> None:
    network, values = isolated(k, 0.4)
    grounded = replace(
        network,
        branches=tuple(
            replace(b, ends=tuple("gnd" if n == "y" else n for n in b.ends))  # type: ignore[arg-type]
            for b in network.branches
        ),
        probes=(("x", "gnd"),),
    )
    found = respond(network, values, [70.0, 2e3])
    assert np.all(np.isfinite(found.transfer))
    for at, f_hz in enumerate((70.0, 2e3)):
        wanted = precise(grounded, values, f_hz)
        assert away(complex(found.transfer[0, 0, at]), wanted[0]) < 1e-12
        assert distance(complex(found.input_impedance[0, at]), wanted[1]) < 1e-12


@pytest.mark.parametrize("k", [0.3, 0.999, 1.0])
@pytest.mark.parametrize("build", [*SHARED, apart])
def test_slopes_against_mpmath(build: object, k: float) -> None:
    network, values = build(k, 0.4)  # type: ignore[operator]
    values |= {("P", "loss"): 0.02, ("S", "loss"): 0.01}
    solved = slopes(network, values, [800.0])
    found = np.concatenate([solved.transfer, solved.input_impedance[None]])[:, :, 0]
    for number, one in enumerate(solved.ids):
        if one[1] == "winding_capacitance":
            continue
        wanted = np.array(by_mpmath(network, values, one, 800.0))
        scale = np.maximum(np.abs(wanted), 1e-9)
        assert np.all(np.abs(found[:, number] - wanted) <= 1e-9 * scale), one


def test_ideal_transformer_by_hand() -> None:
    """k = 1 and no losses: V2/V1 = n, Zin = jwL1 parallel to R/n^2, whatever else."""
    board = Board().coil("P", "in", "gnd", 1e-3).coil("S", "x", "y", 4e-3).res("R", "x", "y", 16.0)
    network, values = coupled(board, 1.0, [("x", "y"), ("in", "gnd")])
    found = respond(network, values, [500.0])
    assert found.transfer[0] / found.transfer[1] == pytest.approx(2.0, rel=1e-14)
    reactance = 2j * np.pi * 500.0 * 1e-3
    assert found.input_impedance[0, 0] == pytest.approx(
        1.0 / (1.0 / reactance + 1.0 / 4.0), rel=1e-13
    )


def test_two_windings_in_series_aid_and_oppose() -> None:
    """L1 + L2 +- 2M, as every handbook has it."""
    for ends, sign in ((("a", "gnd"), 1.0), (("gnd", "a"), -1.0)):
        board = Board().coil("P", "in", "a", 1e-3).coil("S", *ends, 4e-3)
        network, values = coupled(board, 0.5, [])
        found = respond(network, values, [1000.0]).input_impedance[0, 0]
        wanted = 2e3j * np.pi * (5e-3 + sign * 2 * 0.5 * sqrt(4e-6))
        assert found == pytest.approx(wanted, rel=1e-14)


@pytest.mark.parametrize("k", [*KS, 0.99999])
def test_two_windings_in_parallel_aid_and_oppose(k: float) -> None:
    """(L1 L2 - M^2) / (L1 + L2 -+ 2M): F. W. Grover, Inductance Calculations, 1946."""
    for ends, sign in ((("in", "gnd"), 1.0), (("gnd", "in"), -1.0)):
        board = Board().coil("P", "in", "gnd", 1e-3).coil("S", *ends, 4e-3)
        network, values = coupled(board, k, [])
        found = respond(network, values, [1000.0]).input_impedance[0, 0]
        with mpmath.workdps(60):
            one, other, share = mpmath.mpf(1e-3), mpmath.mpf(4e-3), mpmath.mpf(k)
            mutual = share * mpmath.sqrt(one * other)
            wanted = (one * other - mutual**2) / (one + other - 2 * sign * mutual)
            reactance = 2000j * mpmath.pi * wanted
        # 1 - k^2 magnifies the last digit of M by its reciprocal.
        if k == 1.0:
            assert abs(found) < 1e-12
        else:
            near = max(1e-15 / (1.0 - k), 1e-14)
            assert abs(complex(found) - complex(reactance)) <= near * abs(found)


@pytest.mark.parametrize("k", [0.3, 0.999, 1.0])
def test_a_tapped_coil_without_load_divides_by_its_inductances(k: float) -> None:
    """(L2 + M) / (L1 + L2 + 2M), with k = 1 the ratio of turns; closed form."""
    board = Board().coil("P", "in", "tap", 1e-3).coil("S", "tap", "gnd", 4e-3)
    network, values = coupled(board, k, [("tap", "gnd"), ("in", "gnd")])
    found = respond(network, values, [1000.0]).transfer[:, 0, 0]
    wanted = (4e-3 + k * 2e-3) / (5e-3 + 2 * k * 2e-3)
    assert found[0] / found[1] == pytest.approx(wanted, rel=1e-14)


def test_a_shorted_winding_leaves_the_leakage() -> None:
    board = (
        Board().coil("P", "in", "gnd", 1e-3).coil("S", "x", "x", 4e-3).res("R", "in", "gnd", 1e9)
    )
    network, values = coupled(board, 0.9, [])
    found = respond(network, values, [1000.0]).input_impedance[0, 0]
    assert found.imag == pytest.approx(2e3 * np.pi * 1e-3 * (1 - 0.81), rel=1e-12)


# below 1e-250 the answer itself is too small for a float, and 0 is right
@given(
    st.one_of(st.just(0.0), st.floats(1e-250, 1.0)),
    st.sampled_from([*SHARED, apart]),
    st.floats(1.0, 4.3),
    st.floats(0.01, 2.0),
)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_coupling(k: float, build: object, decades: float, ohm: float) -> None:
    network, values = build(k, ohm)  # type: ignore[operator]
    found = respond(network, values, [10.0**decades])
    every = np.append(found.transfer[:, 0, 0], found.input_impedance[0, 0])
    wanted = precise(network, values, 10.0**decades)
    assert max(away(complex(a), b) for a, b in zip(every, wanted, strict=True)) < 1e-11


def test_draws_bands_and_direct_current() -> None:
    network, values = apart(0.5, 0.4)
    ks = np.array([0.0, 0.2, 0.7, 1.0])
    many: dict[Id, float | NDArray[np.float64]] = {**values, ("K", "coupling"): ks}
    many[("P", "loss")] = np.full(4, 0.02)
    f_hz = np.array([0.0, 300.0, 4000.0])
    found = respond(network, many, f_hz)
    for draw, k in enumerate(ks):
        alone = respond(network, {**values, ("K", "coupling"): k, ("P", "loss"): 0.02}, f_hz)
        assert np.allclose(found.transfer[:, draw], alone.transfer[:, 0], rtol=1e-12, atol=1e-15)
    top = bands(network, many, f_hz, quantiles=(1.0,))
    assert np.allclose(top.transfer[:, 0], np.abs(found.transfer).max(axis=1), rtol=1e-12)


def test_what_cannot_be_coupled_is_told() -> None:
    network, values = autotransformer(0.5, 0.4)
    for wrong in (-0.1, 1.0001, float("nan")):
        with pytest.raises(CircuitError, match=r'coupling of "K" is .*: expected 0 to 1'):
            respond(network, {**values, ("K", "coupling"): wrong}, [100.0])
    with pytest.raises(CircuitError, match='"K" has no coupling'):
        respond(network, {k: v for k, v in values.items() if k[0] != "K"}, [100.0])
    stranger = replace(network, couplings=(Coupling("K", ("P", "load")),))
    with pytest.raises(CircuitError, match='"K" couples "load": expected an inductor'):
        respond(stranger, values, [100.0])
    twice = replace(network, couplings=(*network.couplings, Coupling("J", ("P", "S"))))
    with pytest.raises(CircuitError, match='"P" and "S" are coupled more than once'):
        respond(twice, {**values, ("J", "coupling"): 0.1}, [100.0])
    alone = replace(network, couplings=(Coupling("K", ("P", "P")),))
    with pytest.raises(CircuitError, match='"K" couples "P" with itself'):
        respond(alone, values, [100.0])
    secondary, values = isolated(0.5, 0.4)
    across = replace(secondary, probes=(("x", "gnd"),))
    with pytest.raises(FloatingError, match="only a coupling lies between"):
        respond(across, values, [100.0])


def test_mutual_sign_of_the_reference() -> None:
    """The tests' own tableau, by hand: open secondary, V2 = jwM i1."""
    board = (
        Board().coil("P", "in", "gnd", 1e-3).coil("S", "x", "gnd", 4e-3).res("R", "x", "gnd", 1e9)
    )
    network, values = coupled(board, 0.5, [("x", "gnd"), ("in", "gnd")])
    v2, v1, _ = precise(network, values, 1000.0)
    with mpmath.workdps(30):
        assert abs(v2 / v1 - 1) < 1e-3
