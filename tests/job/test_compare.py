"""Two boards: simulate, then recover which part differs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.compare_study import FEW_HZ, trial
from benchmarks.simulate import FREQUENCIES_HZ, Bench, check, grid, sheet, two_way

from ohmbook.bench.pair import pair
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.evidence.multiple import even_chance, holm, two_sided
from ohmbook.job.compare import compare
from ohmbook.report.compare import sentences
from ohmbook.sheet.read import read_sheet

Sheets = tuple[Sheet, Sheet]


def boards(off: float, few: bool) -> Sheets:
    """A real-like board, and one whose C3 is so many times as large."""
    rng = np.random.default_rng(1)
    left = two_way(rng, real=True)
    right = left.changed("C3", value=left.parts["C3"].value * off)
    bench = Bench(rng, real=True)
    checked = check(left, bench)
    first = sheet(left, bench, [checked, grid(left, bench)])
    other = sheet(right, bench, [checked, grid(right, bench, FEW_HZ if few else FREQUENCIES_HZ)])
    return read_sheet(text=first), read_sheet(text=other)


@pytest.fixture(scope="module")
def whole() -> Sheets:
    return boards(1.14, few=False)


def test_a_part_14_percent_off_is_named_and_the_rest_agree(whole: Sheets) -> None:
    found = compare(*whole)
    by_name = {one.name: one for one in found.parts}
    assert [one.name for one in found.parts if one.verdict == "differs"] == ["C3"]
    assert by_name["C3"].low < 1.14 < by_name["C3"].high
    assert by_name["C3"].probability > 0.99
    assert all(
        one.p_adjusted is not None and one.p_adjusted > 0.05
        for n, one in by_name.items()
        if n != "C3"
    )
    told = sentences(found)
    assert told[0].startswith("C3 differs: ")
    assert found.document()["parts"]["C3"]["verdict"] == "differs"


def test_readings_that_contradict_each_other_are_told_first_and_nothing_is_claimed() -> None:
    """The second board's shunt coil is drawn behind the capacitor that it stands before."""
    left, right = boards(1.14, few=False)
    drawn = 'L2 = { kind = "inductor", between = ["a", "gnd"]'
    assert drawn in right.text
    swapped = right.text.replace(drawn, drawn.replace('"a"', '"b"'))
    found = compare(left, read_sheet(text=swapped))
    assert found.contradicted
    assert {one.verdict for one in found.parts} == {"not told"}
    (told,) = sentences(found)
    assert "do not agree" in told
    assert "nothing can be said" in told


def test_a_comparison_that_hardly_agrees_is_warned_of_first(whole: Sheets) -> None:
    found = replace(compare(*whole), p_value=0.004)
    told = sentences(found)
    assert "hardly agree" in told[0]
    assert told[1].startswith("C3 differs: ")


def test_a_ratio_is_known_better_than_either_value_for_the_shared_bench(whole: Sheets) -> None:
    """The same two sheets with the right one's instruments under other names: the ratio is worse,
    and as bad as two values that share nothing (root of the sum of squares)."""
    left, right = whole
    text = right.text.replace("generator", "oscillator").replace("scope]", "screen]")
    text = text.replace('instrument = "scope"', 'instrument = "screen"')
    apart = compare(left, read_sheet(text=text))
    together = compare(left, right)
    assert set(together.shared) >= {"scope", "generator"}
    assert together.once == ("check",)
    assert set(apart.shared) == {"meter"}
    for one, other in zip(together.parts, apart.parts, strict=True):
        if one.name in ("L1", "C1", "R3"):
            assert np.log(one.high / one.low) < 0.9 * np.log(other.high / other.low), one.name


def test_what_both_sheets_hold_alike_is_one_unknown_and_one_reading(whole: Sheets) -> None:
    both = pair(*whole, ({}, {}))
    owners = [one.id[0] for one in both.unknowns]
    assert owners.count("generator") == len(
        {one.id for one in both.unknowns if one.id[0] == "generator"}
    )
    assert "generator (right)" not in owners
    assert "C3 (right)" in owners
    labels = [*both.sides[0].labels, *both.sides[1].labels]
    assert sum("check: loaded" in label for label in labels) == 1
    assert sum("check: open" in label for label in labels) == 1


def test_few_readings_do_where_the_boards_are_meant_to_be_alike() -> None:
    found = compare(*boards(1.2, few=True), alike=0.05)
    by_name = {one.name: one for one in found.parts}
    assert [one.name for one in found.parts if one.verdict == "differs"] == ["C3"]
    assert by_name["C3"].low < 1.2 < by_name["C3"].high
    assert all(one.verdict == "agrees" for n, one in by_name.items() if n not in ("C3", "C4"))
    assert by_name["C4"].verdict == "not told"  # four frequencies hardly read it


def test_what_was_hardly_read_is_not_said_to_agree_because_it_is_believed_to() -> None:
    """C4 of the right board is 17 % off, and twelve amplitudes do not show it."""
    one = trial(9114, off=True, few=True, scatter=0.02)
    c4 = next(part for part in one.found.parts if part.name == one.off == "C4")
    assert c4.verdict == "not told"
    assert c4.read_low < one.ratios["C4"] < c4.read_high
    assert not one.above


def test_few_readings_without_that_word_claim_nothing() -> None:
    found = compare(*boards(1.2, few=True))
    assert not [one for one in found.parts if one.verdict == "differs"]
    assert "--alike" in sentences(found)[-1]


@pytest.mark.parametrize("seed", [0])
def test_equal_boards_are_not_said_to_differ(seed: int) -> None:
    assert trial(seed, off=False, few=True, scatter=0.02).false_claims == []


def test_the_jacobian_of_a_ratio_is_that_of_finite_differences(whole: Sheets) -> None:
    side = pair(*whole, ({}, {}), alike_u=0.03).sides[1]
    rng = np.random.default_rng(3)
    x = np.abs(rng.normal(1.0, 0.1, len(side.ids)))
    for k, (_, quantity) in enumerate(side.ids):
        x[k] *= {"inductance": 1e-3, "capacitance": 5e-6}.get(quantity, 1.0)
    jacobian = side.jacobian(x)
    for k, one in enumerate(side.ids):
        if "C3" in one[0]:
            step = np.zeros_like(x)
            step[k] = 1e-5 * x[k]
            change = side.predict((x + step)[None])[0] - side.predict((x - step)[None])[0]
            scale = np.abs(jacobian[:, k]).max()
            assert change / (2.0 * step[k]) == pytest.approx(jacobian[:, k], abs=1e-4 * scale)


def test_sheets_without_a_part_in_common_are_refused(whole: Sheets) -> None:
    left = whole[0]
    other = replace(
        left, parts={"X" + n: p for n, p in left.parts.items() if n == "R1"}, readings=()
    )
    with pytest.raises(CallError, match="no part in common"):
        compare(left, other)
    with pytest.raises(CallError, match="expected a share"):
        compare(left, left, alike=2.0)


def test_holm_by_hand() -> None:
    """Worked by hand from the definition: 4 x 0.01, 3 x 0.02, then 2 x 0.03 is no less."""
    assert holm([0.03, 0.01, 0.5, 0.02]) == pytest.approx((0.06, 0.04, 0.5, 0.06))
    assert two_sided(1.959964) == pytest.approx(0.05, abs=1e-6)
    assert (1.0 - even_chance(10)) ** 10 == pytest.approx(0.5)
