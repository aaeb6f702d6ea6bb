"""Every kind's form out of its one declaration, the throw-away kind's too."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from ohmbook.bench.kinds import KINDS
from ohmbook.documents.reading import ReadingBase
from ohmbook.job.clipping import clipped
from ohmbook.job.drafting import Draft, laid
from ohmbook.job.forms import Form, bench_at, forms, offered_first, offers
from ohmbook.job.trying import tried
from ohmbook.units.parse import parse_quantity
from tests.bench.two_lamps import TwoLamps

ROOT = Path(__file__).parents[2] / "src" / "ohmbook"
EVERY: tuple[type[ReadingBase], ...] = (*KINDS, TwoLamps)


@pytest.mark.parametrize("form", forms(EVERY), ids=lambda form: form.kind)
def test_a_form_has_what_a_person_needs(form: Form) -> None:
    assert form.heading
    assert form.does.endswith(".")
    assert any(one.required for one in form.fields)
    assert any(one.result for one in form.fields)
    for one in form.fields:
        assert one.label
        if one.what == "quantity":
            assert one.unit
            parse_quantity(one.example, one.unit)


@pytest.mark.parametrize("kind", EVERY, ids=lambda kind: str(kind.__name__))
def test_no_field_of_a_kind_is_left_out(kind: type[ReadingBase]) -> None:
    (form,) = forms((kind,))
    left = {"kind", "name", "struck", "date"}
    left |= set() if kind.uses_source else {"source"}
    left |= set() if kind.instrument_kinds else {"instrument"}
    assert {one.name for one in form.fields} == set(kind.model_fields) - left


def test_the_throw_away_kind_is_filled_in_tried_and_drawn_for_nothing() -> None:
    (form,) = forms((TwoLamps,))
    assert [(one.name, one.what, one.noun) for one in form.fields if one.required] == [
        ("part", "name", "part"),
        ("like", "quantity", None),
    ]
    beside = {"parts": {"R1": {"kind": "resistor"}}}
    blank = laid({}, [], Draft({"kind": "two lamps", "part": "R1"}, beside), EVERY)
    (fault,) = tried(blank, form, None).faults
    assert (fault.place, fault.blank) == (("like",), True)
    assert clipped(blank, form)[0].clips == ("lamp + to a",)
    whole = {"kind": "two lamps", "part": "R1", "like": "12 ohm ± 5 %"}
    (moved,) = tried(laid({}, [], Draft(whole, beside), EVERY), form, None).moved
    assert (moved.name, moved.after.unit) == ("R1", "Ω")


def test_an_empty_bench_is_offered_what_a_kind_needs_and_the_check_first() -> None:
    every = {one.kind: one for one in forms()}
    bench = bench_at({})
    assert [one.form.kind for one in offers(bench, forms()) if one.lacks] == ["probe"]
    assert offered_first(bench, {}, forms()).checks_source
    for kind, names in (
        ("amplitude ratio", ["generator", "scope"]),
        ("meter", ["tester"]),
        ("resistance", ["meter"]),
    ):
        things = bench_at({}, every[kind]).things
        assert [one.name for one in things] == names
        assert all(one.new and one.assumes for one in things)


def test_forms_know_no_kind_by_name() -> None:
    kinds = {one.kind for one in forms()} - {"meter", "resistance"}  # a thing and a quantity too
    for name in ("bench/form.py", "job/forms.py", "job/filling.py", "job/drafting.py",
                 "job/trying.py", "job/clipping.py", "web/pages/reading.py"):  # fmt: skip
        tree = ast.parse((ROOT / name).read_text("utf-8"))
        texts = {one.value for one in ast.walk(tree) if isinstance(one, ast.Constant)}
        assert not kinds & texts, name
