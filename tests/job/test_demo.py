"""The demo's board against its stated truth, simulated without any code of the engine."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
from benchmarks.demo_board import SPARE_COIL, TRUTH, further, sheet, spare
from benchmarks.demo_study import outcomes, truth_at

from ohmbook.job import Settled, behaviour, settle
from ohmbook.job.demo import further_sheet, spare_sheet
from ohmbook.job.pages import DEMO_PLAN
from ohmbook.job.wanted import good_enough, plan_document, plan_readings
from ohmbook.sheet.read import read_sheet


@pytest.fixture(scope="module")
def settled() -> Settled:
    return settle(read_sheet(text=sheet(1)))


def test_the_shipped_sheet_is_seed_1_of_the_stated_truth() -> None:
    shipped = files("ohmbook.demo").joinpath("board.toml").read_text(encoding="utf-8")
    assert shipped == sheet(1)
    assert len(shipped.splitlines()) <= 60


def test_the_plans_readings_are_those_of_the_same_bench(settled: Settled) -> None:
    plan = plan_document(plan_readings(settled, DEMO_PLAN), settled)
    shipped = files("ohmbook.demo")
    assert shipped.joinpath("further.toml").read_text("utf-8") == further(plan["plan"]["text"])
    assert shipped.joinpath("spare.toml").read_text("utf-8") == spare()
    assert not plan["good_enough"]["reached"]


def test_with_the_plan_filled_in_it_is_good_enough_and_true() -> None:
    again = settle(further_sheet())
    found = good_enough(again)
    assert found is not None
    assert found["by"] == "tolerance"
    inside = [
        one.low <= truth_at(one.name, one.quantity, one.frequency_hz) <= one.high
        for one in again.estimates
        if one.name in TRUTH
    ]
    assert np.mean(inside) > 0.85


def test_the_spares_slip_is_found_and_its_truth_held() -> None:
    spare_ = settle(spare_sheet())
    (slip,) = [one for one in spare_.findings if one.kind == "slip"]
    assert "fits as 328 uH (the decimal point one place off)" in slip.explanations[0].what
    coil = spare_.estimate("L4", "inductance")
    henry, _, loss = SPARE_COIL
    assert coil.frequency_hz is not None
    assert coil.low < henry * (coil.frequency_hz / 1e3) ** -loss < coil.high


def test_every_coil_capacitor_and_resistor_is_determined_and_near(settled: Settled) -> None:
    main = [(n, q) for n, part in TRUTH.items() for q in part if q in ("inductance", "capacitance")]
    assert len(main) == 7
    errors = []
    for name, quantity in main:
        found = settled.estimate(name, quantity)
        assert found.determined
        errors.append(abs(found.value / truth_at(name, quantity, found.frequency_hz) - 1.0))
    assert np.median(errors) < 0.02
    assert max(errors) < 0.05


def test_the_ambiguous_marking_is_decided_by_the_readings(settled: Settled) -> None:
    told = next(one for one in settled.findings if one.kind == "marking" and "L2" in one.parts)
    assert "0.330 mH" in told.message
    assert told.explanations[0].probability is not None
    assert told.explanations[0].probability > 0.9


def test_what_the_readings_cannot_tell_is_told(settled: Settled) -> None:
    told = [one for one in settled.findings if one.kind == "not determined"]
    assert any("C2" in one.message and "series resistance" in one.message for one in told)
    assert not settled.estimate("C2", "resistance").determined


def test_the_readings_agree(settled: Settled) -> None:
    assert settled.consistency.p_value is not None
    assert settled.consistency.p_value > 0.05


def test_the_crossing_is_where_the_truth_puts_it(settled: Settled) -> None:
    """The truth's own crossing, by dense algebra, lies in the crossing's interval."""
    from benchmarks.demo_board import board
    from benchmarks.dense import voltages

    drivers = [("R", "w", "gnd", 8.0), ("R", "t", "gnd", 8.0)]
    f = np.geomspace(1000.0, 4000.0, 4000)
    v = voltages([*board(), *drivers], f, "in", "gnd", 1e-9, "gnd")
    gap = np.abs(v["w"]) - np.abs(v["t"])
    true = f[np.flatnonzero(np.diff(np.sign(gap)))[0]]
    crossing = behaviour(settled, draws=400).document()["summary"]["crossings"][0]
    low, high = crossing["frequency_hz"]["interval"]
    assert low < true < high
    assert high / low < 1.03


def test_intervals_hold_the_truth_over_noise_seeds() -> None:
    """A short run of the study in benchmarks/: 4 seeds, 60 intervals or so."""
    found = [one for seed in range(1, 5) for one in outcomes(seed)]
    assert len(found) > 50
    # 60 intervals of 95 %: fewer than 50 inside has a probability of 1e-4
    assert sum(one.inside for one in found) / len(found) > 0.85
    assert np.sqrt(np.mean([one.z**2 for one in found])) < 1.4
