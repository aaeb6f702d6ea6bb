"""A plan as a checklist: blanks found, filled digit for digit, checked against the rest."""

from __future__ import annotations

from typing import Any

import pytest

from ohmbook.documents.table import Column
from ohmbook.errors import CallError
from ohmbook.job import settle
from ohmbook.job.blanks import blanks, filled, in_column, waits
from ohmbook.job.checklist import Checked, Typed, checked, form_at, minutes, steps
from ohmbook.job.demo import demo_text
from ohmbook.job.wanted import plan_readings, to_want
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.syntax import parse

TABLE = """
frequency/kHz  w/Vpp  a/Vpp@50mV/div  # expected
0.10           ?      -               # w 4.2 Vpp
2.6            ?      ?               # w 229 mVpp, a 781 mVpp
"""
PROBE: dict[str, Any] = {
    "kind": "probe",
    "at": "in",
    "detached": ["woofer", "tweeter"],
    "table": TABLE,
}
METER: dict[str, Any] = {
    "kind": "resistance",
    "between": ["in", "w"],
    "leads": "0.4 ohm",
    "value": "?",
}


@pytest.fixture(scope="module")
def raw() -> dict[str, Any]:
    found, _ = parse("demo", demo_text())
    return found


def names(raw: dict[str, Any]) -> list[str]:
    return [f"reading {k}" for k in range(1, len(raw["readings"]) + 1)]


def test_blanks_are_found_where_a_question_mark_stands() -> None:
    found = blanks(PROBE, form_at(PROBE))
    assert [(one.place, one.label, one.at, one.unit) for one in found] == [
        ("table.1.w/Vpp", "w", "100 Hz", "Vpp"),
        ("table.2.w/Vpp", "w", "2.60 kHz", "Vpp"),
        ("table.2.a/Vpp@50mV/div", "a", "2.60 kHz", "Vpp"),
    ]
    assert [one.place for one in blanks(METER, form_at(METER))] == ["value"]
    assert waits(METER)
    assert not waits({**METER, "value": "1.2 ohm"})


@pytest.mark.parametrize(
    ("text", "unit", "cell"),
    [
        ("340 mVpp", "Vpp", "0.340"),
        ("1.20", "Vpp", "1.20"),
        ("0,34", "Vpp", "0.34"),
        ("1.2 Vpp", "mVpp", "1200"),
        ("-", "Vpp", "-"),
        ("2.5e-1", "Vpp", "0.25"),
        ("7 uVpp", "mVpp", "0.007"),
    ],
)
def test_a_cell_keeps_every_digit(text: str, unit: str, cell: str) -> None:
    assert in_column(text, Column("w", unit)) == cell


@pytest.mark.parametrize("text", ["1.2 Vrms", "1.2 ohm", "x", "0", "-1", "1.2 Vpp ± 5 %", "nan"])
def test_what_is_no_plain_amplitude_of_the_column_is_told(text: str) -> None:
    with pytest.raises(CallError):
        in_column(text, Column("w", "Vpp"))


def test_what_is_left_blank_waits_on() -> None:
    form = form_at(PROBE)
    half = filled(PROBE, form, {"table.2.w/Vpp": "231 mVpp", "table.1.w/Vpp": " "})
    assert "2.6            0.231  ? " in half["table"]
    assert half["table"].count("?") == 2
    whole = filled(half, form, {"table.1.w/Vpp": "4.20", "table.2.a/Vpp@50mV/div": "-"})
    assert not waits(whole)
    assert filled(METER, form_at(METER), {"value": "1.2"})["value"] == "1.2 ohm"
    with pytest.raises(CallError, match="nothing to fill in"):
        filled(METER, form_at(METER), {"leads": "1 ohm"})


def test_a_step_has_its_cautions_its_clips_and_its_groups(raw: dict[str, Any]) -> None:
    found = steps(raw, names(raw), [("plan 1", PROBE), ("plan 2", METER)])
    assert [label for label, _ in found[0].groups] == ["w", "a"]
    for one in found:
        assert one.set_ups
        assert all(held.cautions and held.clips for held in one.set_ups)
    assert "discharge" in found[1].set_ups[0].cautions[1].lower()
    # 4 numbers and 2 set-ups
    assert minutes(found) == 10


@pytest.fixture(scope="module")
def typed_in(raw: dict[str, Any]) -> Checked:
    return checked(
        raw,
        names(raw),
        [
            Typed("plan 1", PROBE, {"table.1.w/Vpp": "4.40", "table.2.w/Vpp": "2.24"}),
            Typed("plan 2", METER, {"value": "much"}),
        ],
    )


def test_cells_are_told_good_doubtful_and_unreadable(typed_in: Checked) -> None:
    cells = typed_in.cells["plan 1"]
    assert cells["table.1.w/Vpp"].state == "good"
    # the demo's own table has 224 mVpp there: typed ten times too large
    assert cells["table.2.w/Vpp"].state == "doubtful"
    assert any("0.224" in one for one in typed_in.told)
    assert cells["table.2.a/Vpp@50mV/div"].state == ""
    bad = typed_in.cells["plan 2"]["value"]
    assert (bad.state, bool(bad.told)) == ("bad", True)


def test_what_is_expected_is_what_the_values_say(typed_in: Checked) -> None:
    """The demo's readings of the same nodes and frequency: w 224 and a 768 mVpp at 2.6 kHz."""
    cells = typed_in.cells["plan 1"]
    for place, read in (("table.2.w/Vpp", 224.0), ("table.2.a/Vpp@50mV/div", 768.0)):
        number, unit = cells[place].expected.split()
        assert unit == "mVpp"
        assert float(number) == pytest.approx(read, rel=0.05)
    assert cells["table.1.w/Vpp"].expected.endswith(" Vpp")
    ohms = typed_in.cells["plan 2"]["value"].expected
    assert float(ohms.split()[0]) == pytest.approx(1.2, abs=0.3)


def test_what_can_be_wanted() -> None:
    found = to_want(settle(read_sheet(text=demo_text())))
    assert "L1" in found["parts"]
    assert "woofer" not in found["parts"]
    assert found["groups"] == ("coils", "capacitors", "resistors")
    assert any("cross" in one for one in found["features"])


def test_a_board_that_cannot_be_worked_out_says_why() -> None:
    raw = {"parts": {"L1": {"kind": "inductor"}}, "readings": []}
    found = checked(raw, [], [Typed("plan 1", METER, {"value": "1.2"})])
    assert found.trouble


def test_a_plan_leaves_out_what_cannot_be_read_alone() -> None:
    """With L1 unplugged nothing but a probe's own load is at the source's node."""
    settled = settle(
        read_sheet(
            text="""
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
sketch = { input = "in", ground = "gnd" }
[parts]
L1 = { kind = "inductor", marking = "0.82", between = ["in", "a"] }
R1 = { kind = "resistor", marking = "8R2", between = ["a", "gnd"] }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
half_of = "4 Vpp"
"""
        )
    )
    for numbers, want in ((7, ["R1"]), (13, [])):
        found = plan_readings(settled, numbers, want=want, within=0.01)
        assert 1 <= found.numbers <= numbers
