"""What a person at a bench meets on odd sheets: no sketch yet, no meter, readings that contradict.

What is wanted here is the project's own; no outside source.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from importlib.resources import files
from io import StringIO

import pytest
from rich.console import Console, RenderableType

from ohmbook.documents.comparison import Comparison
from ohmbook.errors import CallError
from ohmbook.job import next_readings, parting, settle
from ohmbook.job.compare import compare
from ohmbook.job.crossing import behaviour as work_behaviour
from ohmbook.job.pages import behaviour_pages, next_pages, settled_pages
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
BOARD = (files("ohmbook.demo") / "board.toml").read_text(encoding="utf-8")
WRONG = BOARD.replace(
    'marking = "330", between = ["a", "gnd"]', 'marking = "330", between = ["a", "b"]'
).replace(
    'dielectric = "film", between = ["a", "b"]', 'dielectric = "film", between = ["a", "gnd"]'
)
TWO_ANSWERS = """
sources.g = { resistance = "50 ohm ± 0.5 %", open = "6 Vpp ± 0.2 %" }
instruments.scope = { kind = "oscilloscope", amplitude = "0.5 % + 1 mV", return_lead = "0 ohm" }
sketch = { input = "in" }
[parts]
C1 = { kind = "capacitor", resistance = "0 ohm", between = ["in", "gnd"] }
[parts.L1]
kind = "inductor"
value = "1 mH ± 0.1 %"
resistance = "0 ohm"
between = ["in", "gnd"]
[[readings]]
kind = "probe"
at = "in"
frequency = "2 kHz"
amplitudes = { in = "3.736 Vpp" }
"""


def text_of(pages: Iterable[RenderableType]) -> str:
    """Pages as a screen of 80 columns shows them."""
    console = Console(file=StringIO(), width=80)
    with console.capture() as shown:
        for one in pages:
            console.print(one)
    return "\n".join(line.rstrip() for line in shown.get().splitlines())


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


def test_where_readings_contradict_it_is_not_said_that_nothing_more_need_be_read() -> None:
    """Each of the two is known well by itself, so the tolerance alone would say to stop."""
    state = settle(read_sheet(text=COIL + READ + AGAIN))
    found = next_readings(state, count=1, within=0.2)
    document = next_document(found, state)
    assert document["good_enough"]["reached"]
    shown = text_of(next_pages(document))
    assert "What to read next, the most useful first" in shown
    assert "need be read" not in shown
    plan = plan_document(plan_readings(state, 1, within=0.2), state)["plan"]["text"]
    assert "You can stop here" not in plan


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


def test_a_sheet_without_parts_says_what_to_write_first() -> None:
    settled = settle(read_sheet(text='title = "Nothing yet"\n'))
    for pages in (settled_pages(settled, working=False), parting.pages(parting.part(settled))):
        shown = text_of(pages)
        assert "There are no parts in this sheet yet" in shown
        assert "[parts]" in shown
        assert "value (95 % interval)" not in shown


def test_without_readings_nothing_is_told_to_be_known() -> None:
    text = 'parts.R1 = { kind = "resistor", marking = "2R2" }\n'
    shown = text_of(settled_pages(settle(read_sheet(text=text)), working=False))
    assert "Nothing has been read yet" in shown
    assert "Do the readings agree" not in shown


def test_what_puts_the_values_in_question_stands_over_them() -> None:
    settled = settle(read_sheet(text=WRONG))
    shown = text_of(settled_pages(settled, working=False))
    doubt, mind = shown.index("Is the sketch right?"), shown.index("The values take the sketch")
    assert doubt < mind < shown.index("value (95 % interval)")
    shown = text_of(behaviour_pages(work_behaviour(settled, draws=0), settled))
    assert shown.startswith("Mind\n  The values take the sketch as drawn")


def test_two_answers_stand_in_the_way_of_stopping() -> None:
    """1 mH with C across at 2 kHz: 4.33 and 8.33 uF read the same (test_rank_deficient)."""
    settled = settle(read_sheet(text=TWO_ANSWERS))
    document = next_document(next_readings(settled, count=1), settled)
    assert document["first_of_all"].startswith("Two answers fit: C1 4.33 µF, or C1 8.33 µF")
    assert not document["good_enough"]["reached"]
    assert "two answers fit" in document["good_enough"]["words"]
    assert "You can stop here" not in text_of(next_pages(document))
    told = next(one for one in settled.findings if one.kind == "two answers")
    assert [one.what for one in told.explanations] == ["C1 4.33 µF (as shown)", "C1 8.33 µF"]


def test_the_cautions_stand_before_what_is_to_be_read_next() -> None:
    settled = settle(read_sheet(text=TWO_ANSWERS))
    shown = text_of(next_pages(next_document(next_readings(settled, count=1), settled)))
    assert shown.index("Discharge capacitors") < shown.index("probe in at")
