"""Worked formulas as MathML: well formed, nothing left out, fractions where they belong."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmbook.job import settle
from ohmbook.job.demo import demo_sheet, spare_sheet
from ohmbook.report.mathml import mathml


def read(formula: str) -> ElementTree.Element:
    """The element that a browser would make of it."""
    return ElementTree.fromstring(mathml(formula))


def test_a_bar_takes_in_what_is_multiplied_before_it_and_drops_needless_brackets() -> None:
    found = read("X = R q / (1 + q)")
    (bar,) = found.iter("mfrac")
    top, bottom = bar
    assert "".join(top.itertext()) == "Rq"
    assert "".join(bottom.itertext()) == "1+q"


def test_brackets_that_only_look_like_one_pair_stay() -> None:
    (bar,) = read("1 / (a) (b)").iter("mfrac")
    assert "".join(bar[1].itertext()) == "(a)(b)"


def test_a_number_keeps_its_unit_apart_and_a_letter_is_a_quantity() -> None:
    found = read("L = 28.75 Ω / (2 pi 3.881 kHz)")
    assert [one.text for one in found.iter("mn")] == ["28.75", "2", "3.881"]
    assert [one.text for one in found.iter("mi")] == ["L", "Ω", "π", "kHz"]
    assert {one.text: one.get("mathvariant") for one in found.iter("mi")}["kHz"] == "normal"


def test_limits_belong_to_their_number() -> None:
    (bar,) = read("32.8 uH ± 2 % / 0.3365 mH").iter("mfrac")
    assert "".join(bar[0].itertext()) == "32.8µH±2%"


def test_roots_and_powers() -> None:
    found = read("X = R q / sqrt(1 - q^2)")
    assert len(list(found.iter("msqrt"))) == 1
    assert "".join(next(iter(found.iter("msup"))).itertext()) == "q2"


def test_words_stay_words() -> None:
    assert "".join(read("half of 6.16 Vpp").itertext()) == "halfof6.16Vpp"


def test_what_is_no_formula_is_told_unchanged_and_never_as_markup() -> None:
    hostile = "<script>alert(1)</script> & ) ("
    found = read(hostile)
    assert "".join(found.itertext()) == hostile
    assert {one.tag for one in found.iter()} == {"math", "mtext"}


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40))
def test_anything_gives_well_formed_markup(text: str) -> None:
    tags = {one.tag for one in read(text).iter()}
    assert tags <= {"math", "mrow", "mi", "mn", "mo", "mtext", "mfrac", "msqrt", "msup", "mspace"}


@pytest.mark.parametrize("sheet", [demo_sheet(), spare_sheet()], ids=["board", "spare"])
def test_every_formula_of_the_example_is_read_as_one(sheet: object) -> None:
    formulas = [
        step.formula
        for working in settle(sheet).workings()  # type: ignore[arg-type]
        for step in working.steps
        if step.formula
    ]
    assert formulas
    for formula in formulas:
        shown = "".join(read(formula).itertext())
        said = (
            re.sub(r"[\s()]|sqrt|x", "", formula)
            .replace("pi", "π")
            .replace("uH", "µH")
            .replace("-", "−")
        )
        kept = re.sub(r"[()×/]", "", shown)
        assert kept == re.sub(r"[/^]", "", said)
        assert not mathml(formula).startswith("<math><mtext>")
