"""A kind in one file is in the sheet, in settle, in next and in forms, and nothing else changed."""

from __future__ import annotations

import pytest

from ohmbook.bench.kinds import KINDS
from ohmbook.counsel import next as counsel
from ohmbook.job import next_readings, settle
from ohmbook.sheet.read import read_sheet
from tests.bench.two_lamps import TwoLamps

TEXT = """
parts.R1 = { kind = "resistor" }
parts.R2 = { kind = "resistor" }
[[readings]]
kind = "two lamps"
part = "R1"
like = "12 ohm ± 5 %"
"""


def test_it_is_in_sheet_settle_next_and_forms(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = read_sheet(text=TEXT, kinds=(*KINDS, TwoLamps))
    settled = settle(sheet)
    estimate = settled.estimate("R1", "resistance")
    assert estimate.low < 12.0 < estimate.high
    assert estimate.determined
    monkeypatch.setattr(counsel, "KINDS", (*KINDS, TwoLamps))
    first = next_readings(settled).suggestions[0]
    assert first.reading == {"kind": "two lamps", "part": "R2"}
    assert first.improves[0].name == "R2"
    # what a form needs is in the one declaration: fields, which are needed, and their kind
    schema = TwoLamps.model_fields
    assert schema["part"].is_required()
    assert schema["like"].is_required()
    assert settled.set_ups[0][1].title == "two lamps"
