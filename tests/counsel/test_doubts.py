"""Is the sketch right? Mistakes on small boards, simulated by dense algebra, are named as such."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from benchmarks.simulate import Bench, Board, TruePart, check, first_order, sheet, take, two_way
from benchmarks.wrong_sketches import (
    Case,
    blank_of,
    flagged,
    rank_of_truth,
    right_sheet,
    typed,
    unlisted,
)

from ohmbook.bench.compile import compile_sheet
from ohmbook.counsel.alike import alike
from ohmbook.counsel.changes import MISSING, WIRE, changes, missing
from ohmbook.counsel.clips import renamed
from ohmbook.counsel.doubts import doubts
from ohmbook.counsel.doubts_told import doubt_findings
from ohmbook.counsel.plausible import marking_speaks
from ohmbook.counsel.steps import WHOLE
from ohmbook.documents.part import Capacitor
from ohmbook.evidence import Consistency, consistency
from ohmbook.evidence import settle as settle_evidence
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet


def small(seed: int) -> Board:
    """A coil and a capacitor to the woofer; a capacitor and two resistors to the tweeter."""
    board = first_order(np.random.default_rng(seed))
    shunt = TruePart("capacitor", ("w", "gnd"), 12e-6, 0.1, said={"dielectric": "electrolytic"})
    return board.with_part("C2", shunt)


def case_of(what: str, seed: int = 4) -> Case:
    board = small(seed)
    ends = {name: part.ends for name, part in board.parts.items()}
    real = board
    if what == "swapped":
        real = board.changed("L1", ends=ends["C2"]).changed("C2", ends=ends["L1"])
    elif what == "short":
        real = board.with_part(WIRE, TruePart("resistor", ends["C1"], 1e-4))
    elif what == "open":
        real = board.changed("C1", ends=None)
    elif what == "part missing":
        real = board.with_part(MISSING, TruePart("capacitor", ("in", "w"), 6e-6, 0.05))
    return Case(what, what, board, real, blank_of(board))


@cache
def settled_case(what: str) -> Settled:
    return settle(read_sheet(text=typed(case_of(what), np.random.default_rng(12))))


@pytest.mark.parametrize("what", ["swapped", "short", "open", "part missing"])
def test_the_mistake_is_named_first(what: str) -> None:
    found = settled_case(what)
    assert flagged(found)
    assert rank_of_truth(case_of(what), found) == 1


def test_a_resistor_not_drawn_across_a_driver_is_named_beside_the_driver_left_on() -> None:
    """Unplugged or not, a resistor across the driver's terminals reads as the driver would."""
    board = small(4)
    drawn, bench = board.without("R2"), Bench(np.random.default_rng(12))
    text = sheet(drawn, bench, [check(board, bench), take(board, bench, blank_of(board))])
    (doubt,) = (one for one in settle(read_sheet(text=text)).findings if one.kind == "sketch doubt")
    told = [one.what for one in doubt.explanations]
    assert any("tweeter was still connected" in one for one in told)
    assert any("a resistor from t to gnd is not drawn" in one for one in told)
    assert "To tell: " in doubt.message


def test_a_doubt_says_what_to_write_and_how_likely_it_is() -> None:
    found = settled_case("swapped")
    (doubt,) = (one for one in found.document()["findings"] if one["kind"] == "sketch doubt")
    first = doubt["explanations"][0]
    assert first["what"] == "L1 and C2 are in each other's place"
    assert first["change"] == 'L1: between = ["w", "gnd"]; C2: between = ["in", "w"]'
    assert first["probability"] > 0.9
    assert {"L1", "C2"} <= set(doubt["parts"])
    total = sum(one["probability"] for one in doubt["explanations"])
    assert total == pytest.approx(1.0, abs=0.02)


def test_where_nothing_explains_it_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ohmbook.counsel.doubts.sift", lambda *_: ())
    found = doubts(settled_case("swapped").answer)
    assert found is not None
    (doubt,) = doubt_findings(found)
    assert "nothing that was tried explains it" in doubt.message
    assert not doubt.explanations


def test_an_implausible_value_is_named_and_a_change_that_explains_it() -> None:
    """C1 shorted fits as a capacitor of absurd size: no reading strains, yet it is asked about."""
    found = settled_case("short")
    assert found.consistency.p_value is not None
    assert found.consistency.p_value > 0.001
    (doubt,) = (one for one in found.findings if one.kind == "sketch doubt")
    assert "C1 " in doubt.message
    assert "is usual" in doubt.message
    assert "C1 is shorted" in doubt.explanations[0].what


def test_changes_that_read_the_same_count_as_one() -> None:
    """Of two parts in a chain, either may be open: no reading tells, and both are named."""
    found = settled_case("open")
    assert found.doubts is not None
    whats = [member.what for member in found.doubts.explanations[0].members]
    assert "C1 is open, or not connected" in whats
    assert "R1 is open, or not connected" in whats
    told = next(f for f in found.findings if f.kind == "sketch doubt").explanations[0].what
    assert "every reading would be the same" in told


@pytest.mark.parametrize("seed", [20_001, 20_002])
def test_a_right_sketch_is_not_doubted_and_costs_nothing(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("a right sketch was searched")

    monkeypatch.setattr("ohmbook.counsel.doubts.sift", never)
    found = settle(read_sheet(text=right_sheet(seed)))
    assert found.doubts is None
    assert not [one for one in found.findings if one.kind == "sketch doubt"]


@pytest.mark.parametrize("seed", [0, 1])
def test_every_equivalent_drawing_is_listed(seed: int) -> None:
    """Against dense algebra: all pairs of parts of four kinds of board."""
    assert unlisted(seed) == []


def test_order_in_a_chain_matters_where_a_driver_was_unplugged() -> None:
    rng = np.random.default_rng(1)
    board, bench = replace(two_way(rng), nodes=("in", "w")), Bench(rng)
    text = sheet(board, bench, [check(board, bench), take(board, bench, blank_of(board))])
    found = {one.parts: one for one in alike(compile_sheet(read_sheet(text=text)))}
    assert found["R2", "R3"].matters
    assert found["R2", "R3"].between == ("t",)
    assert not found["C4", "R2"].matters


def test_every_change_is_a_sheet_with_the_same_readings() -> None:
    sheet_ = read_sheet(text=right_sheet(1))
    listed = changes(sheet_)
    assert len(listed) > 200
    assert len({one.what for one in listed}) == len(listed)
    for one in listed:
        assert one.text
        assert [r.name for r in one.sheet.readings] == [r.name for r in sheet_.readings]


def test_every_part_that_may_be_missing_is_a_sheet_that_settles_apart() -> None:
    sheet_ = read_sheet(text=right_sheet(1))
    listed = list(missing(sheet_))
    assert len({one.what for one in listed}) == len(listed)
    for one in listed:
        across = one.sheet.parts[MISSING]
        same = [n for n, p in sheet_.parts.items() if p.kind == across.kind]
        ends = {frozenset(sheet_.parts[n].between or ()) for n in same}
        assert frozenset(across.between or ()) not in ends


def test_readings_that_hardly_agree_are_looked_into_yet_a_right_sketch_is_not_flagged(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """At a probability of 0.0014 a change is looked for; none is told that explains no better."""
    board, rng = small(4), np.random.default_rng(5)
    bench = Bench(rng)
    text = sheet(board, bench, [check(board, bench), take(board, bench, blank_of(board))])
    settled = settle(read_sheet(text=text))
    assert doubts(settled.answer) is None
    hardly = Consistency(30.0, 12, 0.0014)
    monkeypatch.setattr("ohmbook.counsel.doubts.consistency", lambda _: hardly)
    seen: list[tuple[int, int]] = []
    found = doubts(settled.answer, lambda done, of: seen.append((done, of)))
    assert found is not None
    assert found.ranked[0].first.change is None
    assert doubt_findings(found) == ()
    (said,) = doubt_findings(replace(found, p_value=0.0014))
    assert said.kind == "limit"
    assert "read once more what strains most" in said.message
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert all(0 <= done <= of for done, of in seen)


def test_clips_are_found_by_their_fields_not_by_kind() -> None:
    reading = read_sheet(text=right_sheet(1)).readings[-1]
    moved = renamed(reading, "probe", {"w": "z"})
    assert [c.name for c in moved.table.columns] == ["frequency", "m", "z", "t"]  # type: ignore[attr-defined]
    assert renamed(reading, "source", {"in": "a"}).at == "a"  # type: ignore[attr-defined]
    assert renamed(reading, "probe", {"nowhere": "z"}) is reading


def test_a_marking_speaks_for_its_values() -> None:
    """15 uF marked: 15 uF is likelier for it, 150 uF far less likely, by more than ten to one."""
    part = Capacitor(kind="capacitor", marking="15 MFD NP 50V")
    assert marking_speaks(part, float(np.log(15e-6)), 0.01) > np.log(10.0)
    assert marking_speaks(part, float(np.log(150e-6)), 0.01) < np.log(0.1)


def test_closing_check() -> None:
    """Drivers replaced by 10 ohm, the input read: a right board agrees, a miswired one does not."""
    rng = np.random.default_rng(21)
    board, bench = first_order(rng), Bench(rng)
    first, grid = check(board, bench), take(board, bench, blank_of(board))
    rows = "\n".join(f"{f} ?" for f in (200, 1000, 4000, 12000))
    closing = {
        "kind": "probe",
        "name": "closing check",
        "at": "in",
        "instead": {"woofer": "10 ohm ± 1 %", "tweeter": "10 ohm ± 1 %"},
        "table": "frequency/Hz in/mVpp\n" + rows,
    }
    miswired = board.changed("R1", value=0.05)  # bridged when it was put back
    verdicts = []
    for real in (board, miswired):
        taken = take(real, bench, closing)
        text = sheet(board, bench, [first, grid, taken])
        compiled = compile_sheet(read_sheet(text=text))
        posterior = settle_evidence(compiled.unknowns, [compiled], set_aside=False)
        verdicts.append(consistency(posterior).p_value or 0.0)
    assert verdicts[0] > 0.01
    assert verdicts[1] < 0.001


def test_where_a_change_explains_far_better_it_is_told_though_the_readings_hardly_disagree() -> (
    None
):
    found = settled_case("swapped").doubts
    assert found is not None
    assert found.overturned
    (doubt,) = doubt_findings(replace(found, p_value=0.0014, odd=()))
    assert doubt.kind == "sketch doubt"
    assert "hardly agree with the sketch as drawn (probability 0.0014)" in doubt.message
    assert doubt.explanations[0].what == "L1 and C2 are in each other's place"


def test_whoever_waits_is_told_how_far_it_is() -> None:
    seen: list[tuple[int, int]] = []
    text = typed(case_of("short"), np.random.default_rng(12))
    settle(read_sheet(text=text), progress=lambda done, of: seen.append((done, of)))
    assert len(seen) > 100
    assert {of for _, of in seen} == {WHOLE}
    done = [one for one, _ in seen]
    assert done == sorted(done)
    assert done[-1] <= WHOLE
