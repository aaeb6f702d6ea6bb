"""Settling through the library door: budgets, frequencies, refits, what is told."""

from __future__ import annotations

import subprocess
import sys
from math import log

import numpy as np
import pytest
from benchmarks.demo_board import sheet

from ohmbook.errors import CallError
from ohmbook.job import Settled, behaviour, next_readings, settle
from ohmbook.sheet.read import read_sheet
from tests.bench.texts import BOARD, sheet_of


@pytest.fixture(scope="module")
def demo() -> Settled:
    return settle(read_sheet(text=sheet(2)))


def test_a_budget_adds_up_to_the_whole_variance(demo: Settled) -> None:
    for one in demo.estimates:
        shares = demo.budget(one.name, one.quantity)
        assert sum(share.share for share in shares) == pytest.approx(1.0, abs=1e-9)
        assert shares[0].share == max(share.share for share in shares)


def test_an_inductance_carried_to_another_frequency_is_less_sure(demo: Settled) -> None:
    there = settle(demo.sheet, at_hz=100.0)
    best, far = demo.estimate("L3", "inductance"), there.estimate("L3", "inductance")
    assert far.frequency_hz == 100.0
    assert log(far.high / far.low) > 1.2 * log(best.high / best.low)
    # a loss exponent of some 0.02 makes it larger at a lower frequency
    assert far.value > best.value


def test_refits_agree_with_the_linear_intervals(demo: Settled) -> None:
    """Second road for every interval: 150 repeats of the whole evening, each fitted anew."""
    drawn = settle(demo.sheet, trials=150)
    assert any("indicative" in one.message for one in drawn.findings)
    ratios = []
    for one in demo.estimates:
        if one.determined and one.standard_uncertainty < 0.05 * one.value:
            other = drawn.estimate(one.name, one.quantity)
            ratios.append(log(other.high / other.low) / log(one.high / one.low))
    assert len(ratios) > 8
    # quantiles of 150 draws give an interval's width to about 8 %
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.12)
    assert max(abs(ratio - 1.0) for ratio in ratios) < 0.45


def test_the_same_seed_gives_the_same_answer(demo: Settled) -> None:
    assert settle(demo.sheet).document() == demo.document()


def test_suggestions_name_what_they_improve_and_by_how_much(demo: Settled) -> None:
    found = next_readings(demo).document()["suggestions"]
    assert found
    for one in found:
        assert set(one) >= {"reading", "expected", "improves", "why"}
        for quantities in one["improves"].values():
            for change in quantities.values():
                assert change["after"] < change["now"]


READ = """
[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
frequency = "1 kHz"
amplitudes = {{ in = "0.97 Vpp", w = "0.79 Vpp" }}
[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
frequency = "5 kHz"
amplitudes = {{ in = "3.1 Vpp", w = "0.35 Vpp" }}
"""


def test_a_suggested_reading_does_what_was_foretold() -> None:
    """Put the first suggestion into the sheet with what it should show: u falls as foretold."""
    readings = READ.replace("{{", "{").replace("}}", "}")
    board = BOARD.replace("50 ohm ± 2 %", "50 ohm ± 0.2 %")  # so that the source needs no check
    before = settle(sheet_of(board, readings=readings))
    first = next_readings(before, count=1).suggestions[0]
    best = first.improves[0]
    assert first.reading["kind"] == "probe"
    ((node, shown),) = first.expected.items()
    added = (
        f'[[readings]]\nkind = "probe"\nat = "in"\ndetached = ["woofer"]\n'
        f'frequency = "{first.reading["frequency"]}"\namplitudes = {{ {node} = "{shown}" }}\n'
    )
    after = settle(sheet_of(board, readings=readings + added))
    one = (best.name, best.quantity)
    f_hz = before.answer.frequency(one)
    assert best.now == pytest.approx(before.answer.combination(one, f_hz).u, rel=1e-6)
    assert best.after < 0.9 * best.now
    assert after.answer.combination(one, f_hz).u == pytest.approx(best.after, rel=0.05)


def test_a_meter_known_by_its_likeness_is_offered_too() -> None:
    text = """
instruments.meter = { kind = "multimeter", like = "cheap multimeter" }
parts.R1 = { kind = "resistor" }
"""
    first = next_readings(settle(read_sheet(text=text))).suggestions[0]
    assert first.reading["kind"] == "resistance"
    assert first.improves[0].name == "R1"


def test_a_call_that_cannot_be_is_told(demo: Settled) -> None:
    with pytest.raises(CallError, match="more than 0"):
        settle(demo.sheet, at_hz=-5.0)
    with pytest.raises(CallError, match="the parts and sources are"):
        demo.estimate("L9", "inductance")
    with pytest.raises(CallError, match="0 or more"):
        behaviour(demo, draws=-1)


def test_a_gross_slip_is_set_aside_and_told() -> None:
    """12 kHz typed at the row of 1.2 kHz cannot be; an amplitude ten times too small neither."""
    text = sheet(1)
    row = next(line for line in text.splitlines() if line.startswith("1.8 "))
    cells = row.split()
    slipped = row.replace(cells[3], f"{float(cells[3]) / 10:g}", 1)
    found = settle(read_sheet(text=text.replace(row, slipped)))
    told = [one for one in found.findings if one.kind == "slip"]
    assert any("w at 1.80 kHz" in one.message for one in told)
    clean = settle(read_sheet(text=text))
    for one in clean.estimates:
        if one.determined:
            other = found.estimate(one.name, one.quantity)
            assert abs(log(other.value / one.value)) < 2.0 * log(one.high / one.low)


def test_a_reading_without_an_open_amplitude_still_counts_by_its_ratios() -> None:
    text = sheet(1).replace(', open = "6.16 Vpp"', "")
    assert text != sheet(1)
    found = settle(read_sheet(text=text))
    assert found.estimate("C1", "capacitance").determined
    assert any("only by their ratios" in one.message for one in found.findings)


def test_a_settle_loads_no_library_of_special_functions_and_waits_for_no_advice() -> None:
    code = (
        "import sys, ohmbook\n"
        "from ohmbook.job.demo import demo_sheet\n"
        "settled = ohmbook.settle(demo_sheet())\n"
        "assert 'findings' not in vars(settled)\n"
        "assert settled.findings is settled.findings\n"
        "assert 'scipy' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
