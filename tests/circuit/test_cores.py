"""More than two coils on one core, against the tests' own tableau and closed forms.

F. W. Grover, Inductance Calculations, 1946 (series and parallel coils), and any textbook of
networks: v_i = sum of Z_ij i_j, with M_ij = k_ij sqrt(L_i L_j).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from ohmbook.circuit import bands, digits_lost, network_faults, respond, slopes
from ohmbook.circuit.network import Branch, Coupling, Id, Network, Pair
from ohmbook.errors import CircuitError

from .boards import Board, Floats
from .tableau import distance, precise
from .test_slopes import by_mpmath

KS = [0.0, 0.3, 0.999, 0.99999, 1.0]
Case = tuple[Network, Floats]


def core(board: Board, k: dict[str, float], probes: list[Pair], ohm: float = 2.0) -> Case:
    """Couplings by the last letters of two coils: "ab" couples "Wa" and "Wb"."""
    board.values |= {(f"K{pair}", "coupling"): value for pair, value in k.items()}
    couplings = tuple(Coupling(f"K{pair}", (f"W{pair[0]}", f"W{pair[1]}")) for pair in k)
    return replace(board.driven(probes, ohm=ohm), couplings=couplings), board.values


def alike(count: int, k: float) -> dict[str, float]:
    return {f"{i}{j}": k for i, j in combinations(range(count), 2)}


def tapped(count: int, k: float, ohm: float) -> Case:
    """One coil with a load at every tap."""
    board = Board()
    for i in range(count):
        there = "gnd" if i == count - 1 else f"t{i}"
        board.coil(f"W{i}", "in" if i == 0 else f"t{i - 1}", there, 1e-3 * (1 + i), resistance=ohm)
    for i in range(count - 1):
        board.res(f"R{i}", f"t{i}", "gnd", 5.0 + i)
    probes = [(f"t{i}", "gnd") for i in range(count - 1)]
    return core(board, alike(count, k), [*probes, ("in", "t0")])


def separate(count: int, k: float, ohm: float) -> Case:
    """A transformer with a load on every secondary, none joined with another."""
    board = Board().coil("W0", "in", "gnd", 1e-3, resistance=ohm)
    for i in range(1, count):
        board.coil(f"W{i}", f"x{i}", f"y{i}", 1e-3 * (1 + i) ** 2, resistance=ohm)
        board.res(f"R{i}", f"x{i}", f"y{i}", 6.0 * i)
    return core(board, alike(count, k), [(f"x{i}", f"y{i}") for i in range(1, count)])


def one_common(count: int, k: float, ohm: float) -> Case:
    """Undotted ends together on the second coil, dotted ones on the others."""
    board = Board().coil("W0", "in", "gnd", 0.7e-3, resistance=ohm)
    for i in range(1, count):
        ends = ("gnd", f"x{i}") if i == 1 else (f"x{i}", "gnd")
        board.coil(f"W{i}", *ends, 1e-3 * (1 + i), resistance=ohm)
        board.cap(f"C{i}", f"x{i}", "gnd", 4.7e-6 * i, resistance=0.1)
    return core(board, alike(count, k), [("x1", "gnd"), ("x1", "x2")])


def grounded(network: Network) -> Network:
    """The same with every y at the datum, for a tableau that has no circuits apart."""

    def moved(ends: Pair) -> Pair:
        one, other = ("gnd" if node.startswith("y") else node for node in ends)
        return one, other

    branches = tuple(Branch(b.owner, b.element, moved(b.ends)) for b in network.branches)
    return replace(network, branches=branches, probes=tuple(map(moved, network.probes)))


def away(network: Network, values: Floats, f_hz: float) -> float:
    """The largest relative distance from 60 digits."""
    found = respond(network, values, [f_hz])
    every = [*found.transfer[:, 0, 0], found.input_impedance[0, 0]]
    wanted = precise(grounded(network), values, f_hz)
    return max(
        distance(complex(a), b) if abs(b) > 1e-40 else float(abs(a))
        for a, b in zip(every, wanted, strict=True)
    )


@pytest.mark.parametrize("k", KS)
@pytest.mark.parametrize("ohm", [0.0, 0.4])
@pytest.mark.parametrize("count", [3, 4, 6])
@pytest.mark.parametrize("build", [tapped, separate, one_common])
def test_against_mpmath(build: object, count: int, ohm: float, k: float) -> None:
    network, values = build(count, k, ohm)  # type: ignore[operator]
    for f_hz in (30.0, 15e3):
        assert away(network, values, f_hz) < 1e-12


@st.composite
def fields(draw: st.DrawFn) -> tuple[list[float], dict[str, float]]:
    """Inductances and couplings that can be, from directions all within a right angle."""
    count = draw(st.integers(3, 4))
    part = st.floats(0.0, 1.0)
    ways = np.array([[draw(part) for _ in range(count)] for _ in range(count)]) + 1e-3
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    k = np.minimum(ways @ ways.T, 1.0)
    henry = [10.0 ** draw(st.floats(-4.0, -1.0)) for _ in range(count)]
    return henry, {f"{i}{j}": float(k[i, j]) for i, j in combinations(range(count), 2)}


@given(fields(), st.floats(1.0, 4.3), st.booleans(), st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_core_between_any_nodes(
    field: tuple[list[float], dict[str, float]], decades: float, lossy: bool, data: st.DataObject
) -> None:
    henry, k = field
    nodes = [f"n{i}" for i in range(5)]
    board = Board().res("R0", "in", "n0", 1.0)
    for i, node in enumerate(nodes):
        board.res(f"R{i + 1}", node, "gnd", 3.0 + 2.0 * i)
    two = st.lists(st.sampled_from(["in", "gnd", *nodes]), min_size=2, max_size=2, unique=True)
    for i, one in enumerate(henry):
        a, b = data.draw(two)
        board.coil(f"W{i}", a, b, one, resistance=0.3, loss=0.01 * i if lossy else 0.0)
    network, values = core(board, k, [("n0", "gnd"), ("n1", "n2"), ("n3", "in")])
    lost = digits_lost(network, values, [10.0**decades]).digits
    assert away(network, values, 10.0**decades) <= max(1e-12, 10.0 ** (lost - 15.0))


@pytest.mark.parametrize("k", [0.3, 0.999, 1.0])
@pytest.mark.parametrize("build", [tapped, one_common])
def test_slopes_against_mpmath(build: object, k: float) -> None:
    network, values = build(3, k, 0.4)  # type: ignore[operator]
    values |= {("W0", "loss"): 0.02, ("W2", "loss"): 0.01}
    solved = slopes(network, values, [800.0])
    found = np.concatenate([solved.transfer, solved.input_impedance[None]])[:, :, 0]
    for number, one in enumerate(solved.ids):
        if one[1] == "winding_capacitance":
            continue
        wanted = np.array(by_mpmath(network, values, one, 800.0))
        scale = np.maximum(np.abs(wanted), 1e-9)
        assert np.all(np.abs(found[:, number] - wanted) <= 1e-9 * scale), one


def test_slopes_where_only_the_exact_road_answers() -> None:
    """k = 1 and no loss: the fast plans stand at 0/0."""
    network, values = tapped(3, 1.0, 0.0)
    solved = slopes(network, values, [800.0])
    for one in (("W1", "inductance"), ("R1", "resistance")):
        number = solved.ids.index(one)
        wanted = np.array(by_mpmath(network, values, one, 800.0))
        found = np.append(solved.transfer[:, number, 0], solved.input_impedance[number, 0])
        assert np.all(np.abs(found - wanted) <= 1e-9 * np.maximum(np.abs(wanted), 1e-9))


@pytest.mark.parametrize("k", [0.0, 0.3, 0.999, 1.0])
def test_three_in_series_aid_and_oppose(k: float) -> None:
    """L1 + L2 + L3 +- 2 M12 +- 2 M13 +- 2 M23; closed form."""
    henry = np.array([1e-3, 4e-3, 9e-3])
    for signs in ((1, 1, 1), (1, -1, 1), (1, 1, -1)):
        board, at = Board(), ["in", "a", "b", "gnd"]
        for i, sign in enumerate(signs):
            ends = (at[i], at[i + 1])[::sign]
            board.coil(f"W{i}", ends[0], ends[1], float(henry[i]))
        network, values = core(board, alike(3, k), [])
        turns = np.array(signs) * np.sqrt(henry)
        total = (1.0 - k) * henry.sum() + k * turns.sum() ** 2
        found = respond(network, values, [1000.0]).input_impedance[0, 0]
        if total < 1e-15:
            # 1 + 2 turns against 3 with k = 1: nothing is left.
            assert abs(found) < 1e-12
        else:
            assert found == pytest.approx(2e3j * np.pi * total, rel=1e-12)


def test_a_tapped_coil_of_coupling_1_has_the_ratio_of_its_turns() -> None:
    """An autotransformer with two taps, 1 + 2 + 3 turns, no loss: exact, loads on both taps."""
    board = Board().coil("W0", "in", "a", 1e-3).coil("W1", "a", "b", 4e-3)
    board.coil("W2", "b", "gnd", 9e-3).res("R", "a", "gnd", 25.0).res("Q", "b", "gnd", 9.0)
    network, values = core(board, alike(3, 1.0), [("a", "gnd"), ("b", "gnd"), ("in", "gnd")])
    for f_hz in (10.0, 1e3, 20e3):
        found = respond(network, values, [f_hz])
        ratio = found.transfer[:2, 0, 0] / found.transfer[2, 0, 0]
        assert ratio == pytest.approx([5.0 / 6.0, 3.0 / 6.0], rel=1e-14)
        admittance = 1.0 / (2j * np.pi * f_hz * 36e-3) + 1.0 / 36.0 + 1.0 / 36.0
        assert found.input_impedance[0, 0] == pytest.approx(1.0 / admittance, rel=1e-13)


def test_the_ideal_transformer_is_the_limit() -> None:
    """1 : 2 : 3 with k = 1: as L grows the loads come in by the squares of the turns."""
    for scale, near in ((1.0, 1e-3), (1e3, 1e-6)):
        board = Board().coil("W0", "in", "gnd", scale)
        board.coil("W1", "x1", "y1", 4.0 * scale).res("R1", "x1", "y1", 32.0)
        board.coil("W2", "x2", "y2", 9.0 * scale).res("R2", "x2", "y2", 72.0)
        network, values = core(board, alike(3, 1.0), [("x1", "y1"), ("x2", "y2"), ("in", "gnd")])
        found = respond(network, values, [1000.0])
        ratio = found.transfer[:2, 0, 0] / found.transfer[2, 0, 0]
        # A last digit of wL is a leakage beside the load: 2^-52 of 56.5 kohm, to 72 ohm.
        assert ratio == pytest.approx([2.0, 3.0], rel=1e-14 + 4.0 * 2.0**-52 * 56.5e3 / 72 * scale)
        assert abs(found.input_impedance[0, 0] - 4.0) <= 4.0 * near


def test_draws_bands_and_direct_current() -> None:
    network, values = tapped(3, 0.5, 0.4)
    many: dict[Id, NDArray[np.float64]] = {one: np.full(5, value) for one, value in values.items()}
    many[("K01", "coupling")] = np.array([0.0, 0.2, 0.5, 0.9, 1.0])
    many[("K12", "coupling")] = np.array([0.0, 0.0, 0.5, 0.6, 0.5])
    f_hz = np.array([0.0, 300.0, 4000.0])
    found = respond(network, many, f_hz)
    for draw in range(5):
        alone = respond(network, {one: float(v[draw]) for one, v in many.items()}, f_hz)
        assert np.allclose(found.transfer[:, draw], alone.transfer[:, 0], rtol=1e-12, atol=1e-15)
    top = bands(network, many, f_hz, quantiles=(1.0,))
    assert np.allclose(top.transfer[:, 0], np.abs(found.transfer).max(axis=1), rtol=1e-12)


def test_draws_of_which_only_some_have_a_coupling_of_1() -> None:
    network, values = separate(3, 0.9, 0.0)
    many: dict[Id, NDArray[np.float64]] = {one: np.full(3, value) for one, value in values.items()}
    for pair in ("01", "02", "12"):
        many[(f"K{pair}", "coupling")] = np.array([0.9, 1.0, 0.9999999])
    f_hz = np.array([300.0, 4000.0])
    found = respond(network, many, f_hz)
    for draw in range(3):
        alone = {one: float(v[draw]) for one, v in many.items()}
        for at, f in enumerate(f_hz.tolist()):
            wanted = precise(grounded(network), alone, f)
            for a, b in zip(found.transfer[:, draw, at], wanted, strict=False):
                assert distance(complex(a), b) < 1e-12
    held = bands(network, many, f_hz, (0.0, 0.5, 1.0))
    size = np.sort(np.abs(found.transfer), axis=1)
    assert np.allclose(held.transfer, size, rtol=1e-12, atol=0.0)


def test_couplings_that_contradict_each_other_are_told() -> None:
    """Closed form: k_bc is at least k_ab k_ac - sqrt((1 - k_ab^2) (1 - k_ac^2))."""
    network, values = tapped(4, 0.5, 0.4)
    least = 0.9 * 0.8 - np.sqrt((1 - 0.81) * (1 - 0.64))
    tied = {**values, ("K01", "coupling"): 0.9, ("K02", "coupling"): 0.8}
    tied |= {(f"K{i}3", "coupling"): 0.0 for i in range(3)}
    respond(network, {**tied, ("K12", "coupling"): least}, [100.0])
    wrong = 'between "W0", "W1", "W2" contradict each other: 0.9 of "W0" and "W1"'
    with pytest.raises(CircuitError, match=wrong):
        respond(network, {**tied, ("K12", "coupling"): least - 1e-6}, [100.0])
    draws: dict[Id, float | NDArray[np.float64]] = {
        **tied,
        ("K12", "coupling"): np.array([0.7, 0.1]),
    }
    with pytest.raises(CircuitError, match=r'0\.1 of "W1" and "W2"'):
        respond(network, draws, [100.0])
    two = replace(network, couplings=tuple(c for c in network.couplings if c.owner != "K12"))
    with pytest.raises(CircuitError, match=r"0 of .* \(0 where none is given\)"):
        respond(two, tied, [100.0])


def test_faults_see_through_a_core() -> None:
    network, _ = separate(4, 0.5, 0.4)
    assert network_faults(network) == ()
    assert network_faults(replace(network, couplings=network.couplings[:3])) == ()
    assert network_faults(replace(network, couplings=network.couplings[:1]))


def test_two_couplings_of_one_owner() -> None:
    """Two pairs of coils whose couplings have one value in common, each by its own T."""
    board = Board().coil("Wa", "in", "p", 1e-3, resistance=0.1)
    board.coil("Wb", "p", "gnd", 2e-3, resistance=0.2).coil("Wc", "p", "q", 3e-3, resistance=0.3)
    board.coil("Wd", "q", "gnd", 1e-3, resistance=0.1).res("R", "q", "gnd", 4.0)
    board.values[("K", "coupling")] = 0.6
    network = board.driven([("p", "gnd"), ("q", "gnd")], ohm=1.0)
    pairs = (Coupling("K", ("Wa", "Wb")), Coupling("K", ("Wc", "Wd")))
    assert away(replace(network, couplings=pairs), board.values, 700.0) < 1e-12
