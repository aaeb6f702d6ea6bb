"""What a person at a bench meets on odd sheets: no sketch yet, no meter, readings that contradict.

What is wanted here is the project's own; no outside source.
"""

from __future__ import annotations

import tomllib
from io import StringIO

import pytest
from rich.console import Console

from ohmbook.documents.comparison import Comparison
from ohmbook.errors import CallError
from ohmbook.job import next_readings, settle
from ohmbook.job.compare import compare
from ohmbook.job.pages import next_pages
from ohmbook.job.wanted import next_document, plan_document, plan_readings
from ohmbook.report.compare import compare_page
from ohmbook.report.next import next_forms
from ohmbook.sheet.read import read_sheet

BENCH = """\
title = "One coil"
defaults = { source = "gen", instrument = "scope" }
sources.gen = { like = "generator", open = "6.16 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
"""
COIL = BENCH + '[parts]\nL1 = { kind = "inductor" }\n'
READ = """
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "3881 Hz"
half_of = "6.16 Vpp"
"""
AGAIN = """
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "3881 Hz"
across = "1.2 Vpp"
"""


def page(found: Comparison, width: int) -> str:
    """The comparison as a screen of so many columns shows it."""
    console = Console(file=StringIO(), width=width)
    with console.capture() as shown:
        console.print(compare_page(found))
    return shown.get()


def test_two_sheets_without_readings_are_compared_without_a_claim() -> None:
    sheet = read_sheet(text=COIL)
    (only,) = compare(sheet, sheet, alike=0.05).parts
    assert only.verdict == "not told"


def test_readings_that_contradict_are_told_before_more_are_asked_for() -> None:
    state = settle(read_sheet(text=COIL + READ + AGAIN))
    told = next_document(next_readings(state, count=1), state)
    assert "the readings so far contradict each other" in told["first_of_all"]
    plan = plan_document(plan_readings(state, 1), state)["plan"]["text"]
    assert plan.startswith("# Mind that the readings so far contradict each other")
    tomllib.loads(plan)


def test_readings_that_agree_have_no_such_remark() -> None:
    state = settle(read_sheet(text=COIL + READ))
    told = next_document(next_readings(state, count=1), state)
    assert told["first_of_all"] is None
    plan = plan_document(plan_readings(state, 1), state)["plan"]["text"]
    assert "# A plan" in plan
    assert "contradict" not in plan


def test_a_form_put_back_unfilled_waits_and_changes_nothing() -> None:
    text = COIL + READ
    found = next_readings(settle(read_sheet(text=text))).document()["suggestions"]
    assert {one["reading"]["kind"] for one in found} == {"source loading", "amplitude ratio"}
    console = Console(file=StringIO(), width=200)
    with console.capture() as shown:
        console.print(next_forms(found))
    forms = shown.get().split("\n", 1)[1]
    sheet = read_sheet(text=f"{text}\n{forms}")
    assert len(sheet.waiting) == len(found)
    assert len(sheet.readings) == 1


def test_a_plan_names_the_kind_of_each_reading_first() -> None:
    plan = plan_document(plan_readings(settle(read_sheet(text=COIL)), 3))["plan"]["text"]
    blocks = plan.split("[[readings]]\n")[1:]
    assert blocks
    assert all(one.startswith("kind = ") for one in blocks)


def test_without_a_source_or_a_meter_it_is_said_that_one_is_needed() -> None:
    state = settle(read_sheet(text='[parts]\nL1 = { kind = "inductor" }\n'))
    console = Console(file=StringIO(), width=200)
    with console.capture() as shown:
        console.print(*next_pages(next_document(next_readings(state), state)))
    assert "state another there, such as a generator" in shown.get()


def test_nothing_to_want_is_said_in_words() -> None:
    with pytest.raises(CallError, match="nothing yet"):
        next_readings(settle(read_sheet(text='title = "Hall"\n')), want=("cross",))


def test_no_figure_of_a_comparison_is_cut_off_on_a_narrow_screen() -> None:
    sheet = read_sheet(text=COIL + READ)
    found = compare(sheet, sheet)
    shown = page(found, 50)
    assert "…" not in shown
    assert "+0.0 % (" in shown
    assert "-0.0 %" not in page(found, 120)
    assert "right over left" in page(found, 120)
