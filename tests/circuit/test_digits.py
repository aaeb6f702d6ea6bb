"""Digits lost, as predicted and as 60 digits show them.

Measured are the root mean squares of relative errors over some tiny moves of all values and the
frequency, so that the luck of one rounding does not decide; the moves are drawn in 60 digits, so
that a float is as far from what was meant as it is for any decimal number.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import mpmath
import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook.circuit import digits_lost, losses, respond
from ohmbook.circuit.digits import ALL_DIGITS
from ohmbook.circuit.element import omega_of
from ohmbook.circuit.network import Branch
from ohmbook.circuit.response import ready_for
from ohmbook.circuit.road import roads
from ohmbook.circuit.rounding import UNIT
from ohmbook.circuit.run import keep, leaves_at, ratios
from ohmbook.circuit.topology import Compiled
from ohmbook.circuit.values import inventory, tabulate
from ohmbook.errors import CallError

from .boards import Board, three_way
from .hard_cases import Case, hard_cases
from .many_digits import as_they_are, precise_leaves, relative, run_precisely
from .tableau import precise

MOVES, SHARE = 20, 2.0**-46
CASES = hard_cases()
Digits = NDArray[np.float64]


def moved(case: Case, rng: np.random.Generator) -> tuple[dict[Any, Any], Any]:
    """Values and frequency a hundred units of rounding away or less, in 60 digits."""

    def move(value: float) -> Any:
        coarse, fine = rng.uniform(-1.0, 1.0, 2)
        return mpmath.mpf(value) * (1 + SHARE * (coarse + mpmath.mpf(fine) * 2.0**-45))

    values = {key: move(value) for key, value in case.values.items()}
    for key, value in values.items():
        if key[1] == "coupling":
            # Its distance from 1 is what matters.
            values[key] = min(value, mpmath.mpf(1))
    return values, move(case.f_hz)


def made_ready(case: Case) -> tuple[Compiled, NDArray[np.float64]]:
    needs = inventory(case.network)
    table = tabulate(needs, case.values)
    return ready_for(needs, table, at_dc=case.f_hz == 0.0), table


def by_plan(ready: Compiled, values: Any, f_hz: float) -> list[float | None]:
    """How far each output by the first road is from exact arithmetic on the same leaves."""
    table = tabulate(ready.needs, values)
    leaves, _ = leaves_at(ready, table, omega_of(np.array([f_hz])))
    found: list[float | None] = [None] * (len(ready.topology.probes) + 1)
    for road in roads(ready):
        floats = ratios(road.plan, keep(road.plan, leaves))[:, 0]
        wanted = run_precisely(road.plan, as_they_are(leaves[:, 0]))
        for number, k in zip(road.numbers, road.within, strict=True):
            if wanted[k]:
                found[number] = relative(complex(floats[k]), wanted[k])
    return found


def in_answer(case: Case, ready: Compiled, values: Any, f_hz: Any) -> list[float | None]:
    """How far what is handed out is from exact arithmetic on the values as meant."""
    floats = {key: float(value) for key, value in values.items()}
    answer = respond(case.network, floats, [float(f_hz)])
    together = [*answer.transfer[:, 0, 0], answer.input_impedance[0, 0]]
    wanted = exactly(ready, values, f_hz)
    return [
        relative(complex(one), right) if right else None
        for one, right in zip(together, wanted, strict=True)
    ]


def exactly(ready: Compiled, values: Any, f_hz: Any) -> list[Any]:
    leaves, found = precise_leaves(ready, values, f_hz), [None] * (len(ready.topology.probes) + 1)
    for road in roads(ready):
        wanted = run_precisely(road.plan, leaves)
        for number, k in zip(road.numbers, road.within, strict=True):
            found[number] = wanted[k]
    return found


def digits(errors: list[list[float | None]]) -> Digits:
    """Digits lost by output from errors by move; NaN for an output that is a constant."""
    table = np.array(errors, np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        lost = np.log10(np.sqrt(np.mean(np.square(table), axis=0)) / UNIT)
    return np.asarray(np.clip(lost, 0.0, ALL_DIGITS))


def measured(case: Case) -> tuple[Digits, Digits]:
    """Digits lost by the plan, and in the answer."""
    rng = np.random.default_rng(1)
    ready, _ = made_ready(case)
    plain, handed = [], []
    with mpmath.workdps(60):
        for _ in range(MOVES):
            values, f_hz = moved(case, rng)
            floats = {key: float(value) for key, value in values.items()}
            plain.append(by_plan(ready, floats, float(f_hz)))
            handed.append(in_answer(case, ready, values, f_hz))
    return digits(plain), digits(handed)


def test_there_are_a_hundred_and_most_are_hard() -> None:
    """By the prediction, which the next test holds against 60 digits."""
    assert len(CASES) == len({case.name for case in CASES}) == 100
    worst = [losses(one.network, one.values, [one.f_hz]).in_answer.max() for one in CASES]
    assert sum(one > 2.0 for one in worst) >= 70
    assert sum(one > 8.0 for one in worst) >= 25


@pytest.mark.parametrize(
    "case",
    [case for case in CASES if len(case.network.branches) < 30],
    ids=lambda case: case.name.replace(" ", "-"),
)
def test_the_reference_is_nodal_analysis(case: Case) -> None:
    """The plan in 60 digits, by which digits are measured, against `tableau` in 60 digits."""
    ready, _ = made_ready(case)
    network = case.network
    if any("cold" in branch.ends for branch in network.branches):
        # Nodal analysis wants one circuit; the tie carries no current.
        tie = Branch("tie", "short", ("cold", "gnd"))
        network = replace(network, branches=(*network.branches, tie))
    with mpmath.workdps(60):
        exact = {key: mpmath.mpf(value) for key, value in case.values.items()}
        found = exactly(ready, exact, mpmath.mpf(case.f_hz))
        wanted = precise(network, case.values, case.f_hz)
        known = [number for number, one in enumerate(found) if one is not None]
        assert known
        for number in known:
            assert abs(found[number] - wanted[number]) <= mpmath.mpf(1e-30) * abs(wanted[number])


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.replace(" ", "-"))
def test_predicted_within_one_digit(case: Case) -> None:
    found = losses(case.network, case.values, [case.f_hz])
    plain, handed = measured(case)
    for predicted, seen in ((found.by_plan[:, 0], plain), (found.in_answer[:, 0], handed)):
        known = ~np.isnan(seen)
        assert known.any()
        assert np.abs(predicted - seen)[known].max() <= 1.0


def test_digits_lost_beside_given_impedances() -> None:
    """A bridge with a given arm near balance, as with the arm's parts spelled out; the only
    difference is that a given reactance does not move with frequency."""
    f_hz = np.array([300.0, 1000.0, 0.0])
    arm = 17.9 + 2j * np.pi * f_hz * 1.3e-3 * (1.0 + 1e-9)
    board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 20.0)
    board.res("R4", "b", "y", 2.0 * 17.9).coil("L4", "y", "gnd", 2.6e-3)
    given = Board()
    given.branches, given.values = list(board.branches), dict(board.values)
    given.add("Z", "given", "a", "gnd")
    board.res("R3", "a", "x", 17.9).coil("L3", "x", "gnd", 1.3e-3 * (1.0 + 1e-9))
    handed: dict[Any, Any] = {**given.values, ("Z", "impedance"): arm}
    network = given.driven([("a", "b")], ohm=1.0)
    handed[("source", "resistance")] = 1.0
    found = losses(network, handed, f_hz)
    spelled = losses(board.driven([("a", "b")], ohm=1.0), board.values, f_hz)
    assert found.in_answer.shape == (2, 3)
    assert np.abs(found.in_answer - spelled.in_answer)[:, :2].max() < 0.3
    assert found.in_answer[0, :2].min() > 8.0
    assert found.in_answer[0, 2] == ALL_DIGITS
    handed[("Z", "impedance")] = arm[:2]
    worst = digits_lost(network, handed, f_hz[:2])
    assert worst.digits == found.in_answer[:, :2].max()
    assert worst.owner in {"Z", "R1", "R2", "R4", "L4"}
    handed[("Z", "impedance")] = np.array([arm, arm])
    with pytest.raises(CallError, match="Digits lost are of one set of values"):
        losses(network, handed, f_hz)


def test_a_given_arm_is_predicted_within_one_digit() -> None:
    """The same against 60 digits: the given impedance and all values rounded once."""
    f_hz, errors = 700.0, list[list[float | None]]()
    rng = np.random.default_rng(5)
    board = Board().res("R1", "in", "a", 10.0).res("R2", "in", "b", 20.0)
    board.res("R4", "b", "y", 35.8).coil("L4", "y", "gnd", 2.6e-3).add("Z", "given", "a", "gnd")
    network = board.driven([("a", "b")], ohm=1.0)
    arm = 17.9 + 2j * np.pi * f_hz * 1.3e-3 * (1.0 + 1e-7)
    found = losses(network, {**board.values, ("Z", "impedance"): np.array([arm])}, [f_hz])
    with mpmath.workdps(60):
        for _ in range(MOVES):
            case = Case("given", network, {**board.values}, f_hz)
            values, at = moved(case, rng)
            real, imag = (
                mpmath.mpf(one) * (1 + SHARE * mpmath.mpf(rng.uniform(-1.0, 1.0)) * 1.1)
                for one in (arm.real, arm.imag)
            )
            floats: dict[Any, Any] = {key: float(value) for key, value in values.items()}
            floats[("Z", "impedance")] = np.array([complex(float(real), float(imag))])
            answer = respond(network, floats, [float(at)]).transfer[0, 0, 0]
            other = (
                values[("R4", "resistance")] + 2j * mpmath.pi * at * values[("L4", "inductance")]
            )
            one, far = values[("R1", "resistance")], values[("R2", "resistance")]
            both = 1 / (1 / (one + real + 1j * imag) + 1 / (far + other))
            share = both / (both + values[("source", "resistance")])
            wanted = share * ((real + 1j * imag) / (one + real + 1j * imag) - other / (far + other))
            errors.append([relative(complex(answer), wanted)])
    assert abs(digits(errors)[0] - found.in_answer[0, 0]) <= 1.0
    assert found.in_answer[0, 0] > 6.0


def test_a_quick_look_clears_what_is_sound_and_nothing_else() -> None:
    """Above 8 digits the quick look leaves out no point of any hard case."""
    for case in CASES:
        whole = losses(case.network, case.values, [case.f_hz])
        quick = losses(case.network, case.values, [case.f_hz], above=8.0)
        grave = whole.in_answer > 8.0
        assert np.array_equal(whole.in_answer[grave], quick.in_answer[grave])
    network, values = three_way()
    assert not losses(network, values, np.geomspace(20.0, 20e3, 50), above=8.0).in_answer.any()
