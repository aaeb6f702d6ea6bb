"""Whole boards: small runs of the studies in benchmarks/, and what no reading can tell."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.boards import FACTOR, Study, study
from benchmarks.boards_bound import foreseen
from benchmarks.bound import ratios
from benchmarks.simulate import Bench, Board, Lie, TruePart, check, grid, sheet, take, two_way

from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet


@pytest.mark.parametrize(("real", "median"), [(False, 0.012), (True, 0.017)])
def test_boards_are_settled_from_a_plain_grid(real: bool, median: float) -> None:
    """10 boards of the study's 300: about 170 intervals, so 93 to 97 % is not yet to be had."""
    found = study(10, 11, real=real)
    assert found.cover > 0.88
    assert 0.6 < found.rms_z < 1.3
    assert found.median < median
    assert found.flagged == 0
    assert found.share("within") == 1.0


def _right_answers(found: Study) -> float:
    """Share of boards that are not in a wrong answer: nothing is farther off than 5 u."""
    return float(np.mean([max(abs(t.z) for t in one.told) < 5.0 for one in found.outcomes]))


def test_errors_on_many_boards_are_what_the_bound_foresees() -> None:
    """10 ideal boards, 70 coils and capacitors: their median error scatters by some 15 %. It may
    lie below the bound, since such boards' losses are in the middle of what is believed."""
    found = study(10, 13)
    least = [one.least for one in found.outcomes if one.least is not None]
    assert len(least) == 10
    assert 0.5 < found.median / foreseen(least, FACTOR)["all"] < 1.5


@pytest.mark.parametrize("lie", ["far", "scattered"])
def test_the_right_answer_is_found_far_from_what_is_believed(lie: Lie) -> None:
    found = study(8, 12, lie=lie)
    assert _right_answers(found) == 1.0
    assert found.flagged == 0
    assert sum(one.unforeseen for one in found.outcomes) == 0


def test_a_walked_bound_is_found_past_a_worse_valley() -> None:
    """Far board 10 of a seed, a bound at which a check met worse values than the walk leads to.

    By many small steps outwards, each fit begun at the one before, its root is reached at 6.26 ohm;
    a walk that trusts the check ends at 6.61.
    """
    rng = np.random.default_rng(2)
    for _ in range(10):
        board, bench = two_way(rng, lie="far"), Bench(rng)
        text = sheet(board, bench, [check(board, bench), grid(board, bench)])
    found = settle(read_sheet(text=text)).estimate("R2", "resistance")
    assert found.low == pytest.approx(6.26, abs=0.03)


def test_a_null_does_not_freeze_a_wrong_answer_in() -> None:
    """Real-like boards whose smallest readings decide: the answers left and right of a null."""
    found = study(11, 3, real=True)
    assert _right_answers(found) == 1.0


def test_errors_are_at_the_bayesian_bound() -> None:
    """40 replicates; rms errors of seven parts then scatter by some 5 %."""
    assert 0.85 < ratios(40, 2)["all"].own < 1.15


def test_intervals_hold_the_truth_where_losses_are_as_believed() -> None:
    """Drawn from the beliefs themselves: 95 %, of some 170 intervals."""
    found = study(12, 14, believed=True)
    assert found.cover > 0.88
    assert 0.7 < found.rms_z < 1.4


def _settled(board: Board, *blanks: dict[str, object], grids: bool = True) -> Settled:
    bench = Bench(np.random.default_rng(4))
    taken = [check(board, bench), *(take(board, bench, one) for one in blanks)]
    if grids:
        taken.append(grid(board, bench, (100, 300, 1000, 3000, 10000)))
    return settle(read_sheet(text=sheet(board, bench, taken)))


def _told(settled: Settled, kind: str) -> str:
    return " ".join(one.message for one in settled.findings if one.kind == kind)


def _board(nodes: tuple[str, ...], **parts: TruePart) -> Board:
    return Board(parts, nodes)


def test_two_capacitors_in_parallel_are_known_by_their_sum() -> None:
    settled = _settled(
        _board(
            ("in",),
            R1=TruePart("resistor", ("in", "a"), 10.0),
            C1=TruePart("capacitor", ("a", "gnd"), 6e-6, 0.02),
            C2=TruePart("capacitor", ("a", "gnd"), 4e-6, 0.02),
        )
    )
    for name in ("C1", "C2"):
        one = settled.estimate(name, "capacitance")
        assert not one.determined
        assert one.low < {"C1": 6e-6, "C2": 4e-6}[name] < one.high
    told = _told(settled, "not determined")
    assert "C1 and C2 in sum are" in told


def test_two_resistors_in_series_without_a_node_between_are_known_by_their_sum() -> None:
    settled = _settled(
        _board(
            ("in",),
            R1=TruePart("resistor", ("in", "a"), 7.0),
            R2=TruePart("resistor", ("a", "gnd"), 13.0),
        )
    )
    assert not settled.estimate("R1", "resistance").determined
    assert not settled.estimate("R2", "resistance").determined
    assert "R1 and R2 in sum are" in _told(settled, "not determined")


def test_a_part_at_a_node_that_is_never_driven_is_told() -> None:
    """The tweeter's arm has an input of its own, which the source is not clipped to."""
    settled = _settled(
        _board(
            ("in", "w"),
            L1=TruePart("inductor", ("in", "w"), 1e-3, 0.3),
            R1=TruePart("resistor", ("w", "gnd"), 8.0),
            C2=TruePart("capacitor", ("high", "t"), 5e-6, 0.02),
            R2=TruePart("resistor", ("t", "gnd"), 8.0),
            R3=TruePart("resistor", ("high", "gnd"), 100.0),
        )
    )
    assert settled.estimate("L1", "inductance").determined
    assert not settled.estimate("C2", "capacitance").determined
    assert not settled.estimate("R2", "resistance").determined
    told = _told(settled, "not determined")
    assert "C2" in told
    assert "R2" in told


def test_without_a_known_resistance_amplitudes_tell_only_a_ratio() -> None:
    text = """
    sources.generator = { open = "6 Vpp", earthed = false }
    instruments.scope = { kind = "oscilloscope", step = "0.04 div", return_lead = "0 ohm" }
    parts.L1 = { kind = "inductor", resistance = "0 ohm" }
    [[readings]]
    kind = "amplitude ratio"
    part = "L1"
    frequency = "8 kHz"
    open = "6 Vpp"
    across = "4.24 Vpp"
    [[readings]]
    kind = "amplitude ratio"
    part = "L1"
    frequency = "3 kHz"
    open = "6 Vpp"
    across = "2.12 Vpp"
    """
    settled = settle(read_sheet(text=text))
    assert not settled.estimate("L1", "inductance").determined
    told = _told(settled, "not determined")
    assert "L1" in told
    assert "generator" in told


def test_two_exact_answers_are_both_told() -> None:
    """Two like arms read at their common node: which is which, no reading tells."""
    settled = _settled(
        _board(
            ("in",),
            L1=TruePart("inductor", ("in", "a"), 2e-3, 0.3),
            C1=TruePart("capacitor", ("a", "gnd"), 20e-6, 0.02, said={"dielectric": "film"}),
            R1=TruePart("resistor", ("in", "gnd"), 30.0),
            L2=TruePart("inductor", ("in", "b"), 0.3e-3, 0.3),
            C2=TruePart("capacitor", ("b", "gnd"), 3e-6, 0.02, said={"dielectric": "film"}),
        ),
    )
    shares = [mode.share for mode in settled.posterior.modes]
    assert len(shares) == 2
    assert shares == pytest.approx([0.5, 0.5], abs=0.05)
    assert "two answers" in {one.kind for one in settled.findings}


def test_the_simulator_and_the_product_agree_on_a_board() -> None:
    """Unrounded and without error, the truth leaves no residual: two roads to one circuit."""
    rng = np.random.default_rng(9)
    board, bench = two_way(rng, real=True), Bench(rng, real=True)
    blanks: list[dict[str, object]] = [
        {"kind": "resistance", "between": ["in", "w"], "instrument": "meter"},
        {"kind": "resistance", "part": "R1", "instrument": "meter"},
        {"kind": "amplitude ratio", "part": "L1", "frequency": "6 kHz"},
        {"kind": "amplitude ratio", "part": "C1", "frequency": "3 kHz", "resistor": "47 ohm ± 1 %"},
        {
            "kind": "probe",
            "at": "in",
            "frequency": "1 kHz",
            "detached": ["tweeter"],
            "instead": {"woofer": "10 ohm ± 1 %"},
            "shorted": ["L3"],
            "lifted": ["C3.1"],
            "amplitudes": {"m": "", "w": ""},
        },
    ]
    taken = [check(board, bench), grid(board, bench), *(take(board, bench, b) for b in blanks)]
    settled = settle(read_sheet(text=sheet(board, bench, taken)))
    assert settled.consistency.p_value is not None
    assert settled.consistency.p_value > 0.001
    for name, quantity in board.main.items():
        one = settled.estimate(name, quantity)
        assert abs(one.value / board.parts[name].at(quantity, one.frequency_hz) - 1.0) < 0.15
