"""What is known of a board and of a part, in words."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from ohmbook.job import Settled, settle
from ohmbook.job.demo import SLIP, demo_sheet, demo_text, spare_sheet
from ohmbook.job.known import known
from ohmbook.job.one_part import one_part, reading_of
from ohmbook.job.past import deeds, inked
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.read import read_sheet

SPARE = (files("ohmbook.demo") / "spare.toml").read_text("utf-8")


@pytest.fixture(scope="module")
def board() -> Settled:
    return settle(demo_sheet())


@pytest.fixture(scope="module")
def slipped() -> Settled:
    return settle(spare_sheet())


def readings() -> dict[str, dict[str, object]]:
    """The spare's readings as its sheet has them, by name."""
    held = tomllib.loads(SPARE)["readings"]
    return {f"reading {k}": one for k, one in enumerate(held, 1)}


def test_every_part_and_source_has_its_value_and_how_it_is_known(board: Settled) -> None:
    found = known(board, {})
    assert {name for name in found.values if name != "generator"} <= set(board.sheet.parts)
    main, series = found.values["L1"]
    assert (main.text, main.unit, main.span) == ("1.200", "mH", "1.181 to 1.220")
    assert (main.state, series.quantity) == ("told", "resistance")
    assert found.values["C2"][1].state == "believed"
    assert found.agree.startswith("Do the readings agree? Yes")
    assert all(one.kind == "assumption" for one in found.granted)


def test_the_gravest_is_told_first_with_what_mends_it(slipped: Settled) -> None:
    first = known(slipped, readings()).notes[0]
    assert (first.kind, first.urgent, first.readings) == ("slip", True, ("reading 4",))
    assert "Nothing was changed" not in first.message
    fix = first.fixes[0]
    assert (fix.reading, fix.words) == ("reading 4", "inductance: 328 uH ± 2 %")


def test_a_fix_in_a_table_is_told_by_what_stands_there() -> None:
    sheet = read_sheet(text=demo_text().replace(*SLIP))
    table = tomllib.loads(demo_text().replace(*SLIP))["readings"][4]
    first = known(settle(sheet), {"reading 5": table}).notes[0]
    assert [one.words for one in first.fixes][:1] == ["2.6 kHz for 26 kHz"]


def test_a_fix_written_down_leaves_no_slip(slipped: Settled) -> None:
    fix = known(slipped, readings()).notes[0].fixes[0]
    before, _, _ = SPARE.rpartition("[[readings]]")
    mended = settle(read_sheet(text=before + fix.text))
    assert not [one for one in mended.findings if one.kind == "slip"]


def test_a_part_in_full(board: Settled) -> None:
    found = one_part(board, "L1", {})
    assert found.readings == ("reading 3", "reading 5")
    assert found.picture is not None
    band = found.picture.settled
    assert band.low < band.at < band.high
    # the picture is of the same numbers: on an even axis, distances are as the values'
    ruler, rows = found.picture.ruler, board.implied("L1")
    assert not ruler.by_factors
    wanted = (rows[1].value - rows[0].value) / (ruler.high - ruler.low)
    assert found.picture.rows[1].at - found.picture.rows[0].at == pytest.approx(wanted)
    assert sum(one.share for one in found.shares) == pytest.approx(1.0, abs=0.006)
    assert [one.reading for one in found.worked] == ["reading 3", "reading 5"]
    assert found.cautions
    marked = one_part(board, "L2", {}).marking
    assert marked is not None
    assert (marked.whys[0].before, marked.whys[0].odds) == ("24 %", "over 99 %")


def test_a_label_tells_its_reading() -> None:
    assert reading_of("reading 5: w at 1.00 kHz") == "reading 5"


def test_deeds_and_readings_keep_what_was_struck_and_revised(tmp_path: Path) -> None:
    with Notebook.new(tmp_path / "one.ohmbook", who="Ada") as book:
        book.take_in("spare", SPARE)
        book.strike("spare", "reading 4", "wrong coil")
        book.undo()
        fixed = {**book.reading("spare", "reading 4").raw, "inductance": "328 uH ± 2 %"}
        book.revise("spare", "reading 4", fixed)
        done = deeds(book, "spare")
        last = inked(book, "spare")[-1]
    assert [(one.kind, one.mark) for one in done] == [
        ("revise", ""), ("undo", ""), ("strike", "undone"), ("take in", "")
    ]  # fmt: skip
    assert [one.can_undo for one in done] == [True, False, False, True]
    assert done[0].who == "Ada"
    assert "328 uH" in last.text
    assert ["32.8 uH" in one.text for one in last.before] == [True]
