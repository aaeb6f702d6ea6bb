"""A reading tried before it is written: values, faults, slips, each with what mends it."""

from __future__ import annotations

import time
import tomllib
from statistics import median
from typing import Any

import pytest

from ohmbook.job import settle
from ohmbook.job.clipping import clipped
from ohmbook.job.demo import demo_text
from ohmbook.job.drafting import Draft, Laid, laid
from ohmbook.job.forms import forms
from ohmbook.job.settled import Settled
from ohmbook.job.trying import Tried, tried
from ohmbook.sheet.read import sheet_of

FORMS = {one.kind: one for one in forms()}
BENCH = {
    "parts": {"L1": {"kind": "inductor"}},
    "sources": {"generator": {"like": "generator"}},
    "instruments": {"scope": {"kind": "oscilloscope", "like": "entry-level scope"}},
}
ALONE = {"kind": "amplitude ratio", "part": "L1", "source": "generator", "instrument": "scope"}


def on_nothing(**fields: str) -> Laid:
    return laid({}, [], Draft({**ALONE, **fields}, BENCH))


def alone(**fields: str) -> Tried:
    return tried(on_nothing(**fields), FORMS["amplitude ratio"], None)


@pytest.fixture(scope="module")
def board() -> tuple[dict[str, Any], list[str], Settled]:
    raw = tomllib.loads(demo_text())
    return raw, [f"reading {k}" for k in range(1, 6)], settle(sheet_of(raw))


def test_a_coil_by_the_textbook() -> None:
    # L = R / (2 pi f sqrt 3) for an ideal coil that leaves half of the amplitude (voltage divider)
    (moved,) = alone(frequency="5.6 kHz", half_of="4.12 Vpp").moved
    assert (moved.name, moved.before) == ("L1", None)
    assert float(moved.after.low) < 1e3 * 50.0 / (2 * 3.141592653589793 * 5600 * 3**0.5)
    assert 0.78 < float(moved.after.value) < 0.84
    assert moved.after.unit == "mH"


def test_what_is_blank_is_wanted_and_what_is_wrong_is_mended_with_one_touch() -> None:
    (fault,) = alone(half_of="4.12 Vpp").faults
    assert (fault.place, fault.blank) == (("frequency",), True)
    (fault,) = alone(half_of="4.12 Vpp", frequency="5.6").faults
    assert [one.text for one in fault.fixes] == ["5.6 Hz", "5.6 kHz"]
    (fault,) = alone(open="4.12 Vpp", across="20.6 Vpp", frequency="1 kHz").faults
    assert not fault.blank
    assert "above open" in fault.message
    assert "2.06 Vpp" in [one.text for one in fault.fixes]
    for one in fault.fixes:
        assert not alone(open="4.12 Vpp", across=one.text, frequency="1 kHz").faults


def test_a_wrong_prefix_is_told_with_the_right_one(
    board: tuple[dict[str, Any], list[str], Settled],
) -> None:
    raw, names, before = board
    given = {"kind": "amplitude ratio", "part": "L1", "half_of": "6.16 Vpp"}
    draft = Draft({**given, "frequency": "3.881 MHz"}, {})
    found = tried(laid(raw, names, draft), FORMS["amplitude ratio"], before)
    slip = next(one for one in found.told if one.kind == "slip")
    assert [(one.place, one.text) for one in slip.fixes] == [(("frequency",), "3.881 kHz")]
    assert "struck" not in slip.message
    right = Draft({**given, "frequency": "3.881 kHz"}, {})
    assert tried(laid(raw, names, right), FORMS["amplitude ratio"], before).told == ()


def test_cells_of_a_revised_table_are_marked_and_a_slip_in_one_is_mended(
    board: tuple[dict[str, Any], list[str], Settled],
) -> None:
    raw, names, before = board
    table = dict(raw["readings"][4])
    table["table"] = table["table"].replace("1104", "1014")
    found = tried(laid(raw, names, Draft(table, {}, "reading 5")), FORMS["probe"], before)
    slip = next(one for one in found.told if one.kind == "slip")
    assert (slip.fixes[0].place, slip.fixes[0].text) == (("table", 3, "w/mVpp"), "1104")
    marks = {(one.row, one.column): one.state for one in found.marks}
    assert marks[3, "w/mVpp"] == "doubtful"
    assert marks[2, "w/mVpp"] == "good"


def test_a_board_that_cannot_be_worked_out_says_why() -> None:
    raw = {"parts": {"L1": {"kind": "inductor", "between": ["a", "b"]}}, **{
        one: BENCH[one] for one in ("sources", "instruments")}}  # fmt: skip
    reading = {"kind": "resistance", "between": ["a", "b"], "value": "1 ohm", "lifted": ["L1.1"]}
    found = tried(laid(raw, [], Draft(reading, {})), FORMS["resistance"], None)
    assert "no direct current flows" in found.trouble


def test_every_kind_shows_its_clips_before_anything_is_typed(
    board: tuple[dict[str, Any], list[str], Settled],
) -> None:
    raw, names, _ = board
    for kind, given in (
        ("source loading", {"source": "generator"}),
        ("amplitude ratio", {"part": "L1"}),
        ("resistance", {"part": "L1"}),
        ("meter", {"part": "C1"}),
        ("probe", {"at": "in"}),
        ("generator off", {"instrument": "scope"}),
    ):
        (shown,) = clipped(laid(raw, names, Draft({"kind": kind, **given}, {})), FORMS[kind])
        assert shown.clips, kind
        assert shown.picture.startswith("<svg"), kind
        assert "style=" not in shown.picture, kind


def test_a_single_part_is_tried_in_tens_of_milliseconds() -> None:
    spent = []
    for _ in range(5):
        start = time.process_time()
        alone(frequency="5.6 kHz", half_of="4.12 Vpp")
        spent.append(time.process_time() - start)
    assert median(spent) < 0.1
