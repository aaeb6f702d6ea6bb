"""A sheet that is written reads back as the same sheet."""

from __future__ import annotations

import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.template import TEMPLATES, template
from ohmbook.sheet.write import accuracy_text, write_sheet
from ohmbook.units.parse import parse_accuracy
from ohmbook.units.quantity import Accuracy, Unit

from .sheet_kinds import KINDS, weighing
from .sheet_texts import SOUND, broken

MUCH = broken(
    ("like =", 'step = "0.04 div"\nearthed = true\nnoise = "0 mV"\nlike ='),
    ('value = "8.2 uF ± 10 %"', 'made_of = ["4.7 uF ± 5 %", "3u3"], note = "two, \\"glued\\""'),
    (
        'input = "in"',
        'input = ["in", "gnd"]\namplifier = "0.1 ohm"\noutputs = { "w f" = "w" }\n'
        '[sketch.between]\nL1 = ["in", "w"]',
    ),
    ('across = "2.06 Vpp"', 'across = "2.06 Vpp ± 1 % @ 500 mV/div"\ndate = 2026-05-01'),
    ('kind = "resistance"', 'kind = "resistance"\nname = "leads"\nstruck = "a slip"\nwires = 4'),
    ('at = "in"', 'at = ["in", "gnd"]\ninstead = { woofer = "10 ohm ± 1 %" }'),
    ('detached = ["woofer"]\n', ""),
)


@pytest.mark.parametrize("text", [SOUND, MUCH, *map(template, TEMPLATES)])
def test_written_and_read_again_it_is_the_same_sheet(text: str) -> None:
    sheet = read_sheet(text=text)
    written = write_sheet(sheet)
    assert read_sheet(text=written) == sheet
    assert write_sheet(read_sheet(text=written)) == written


def test_throw_away_kinds_are_written_too() -> None:
    text = weighing(grams="1.5", dry="true", marks='["a", "b"]', shares="{ x = 0.5 }", code='"abc"')
    sheet = read_sheet(text=text, kinds=KINDS)
    assert read_sheet(text=write_sheet(sheet), kinds=KINDS) == sheet


def test_equal_means_that_the_same_is_said() -> None:
    assert read_sheet(text=SOUND) == read_sheet(text="\n\n" + SOUND, file="other")
    assert read_sheet(text=SOUND) != read_sheet(text=SOUND.replace("2.06 Vpp", "2.07 Vpp"))


def test_what_is_filled_in_is_left_out_again() -> None:
    assert write_sheet(read_sheet(text=SOUND)).count("generator") == 2
    assert write_sheet(Sheet(title="empty")) == 'title = "empty"\n'


def test_tables_and_texts_are_pleasant() -> None:
    written = write_sheet(read_sheet(text=SOUND))
    assert 'table = """\nfrequency/kHz   in/Vpp   w/Vpp\n' in written
    assert 'C1 = { kind = "capacitor", value = "8.2 uF ± 10 %", between = ["w", "gnd"] }' in written


def test_what_no_sheet_can_hold_is_refused() -> None:
    sheet = read_sheet(text=weighing(), kinds=KINDS)
    odd = sheet.readings[0].model_copy(update={"marks": (object(),)})
    with pytest.raises(CallError, match="cannot hold"):
        write_sheet(Sheet(readings=(odd,)))


@given(st.text(max_size=30))
def test_any_title_and_name_survives(text: str) -> None:
    sheet = Sheet(title=text or "x")
    assert read_sheet(text=write_sheet(sheet), kinds=()).title == sheet.title


@settings(max_examples=60)
@given(st.text(string.printable + "µΩ\x7f\u2028", max_size=40))
def test_any_note_survives(note: str) -> None:
    sheet = read_sheet(text=weighing(), kinds=KINDS)
    (reading,) = sheet.readings
    noted = Sheet(
        parts=sheet.parts,
        sources=sheet.sources,
        readings=(reading.model_copy(update={"note": note}),),
    )
    assert read_sheet(text=write_sheet(noted), kinds=KINDS) == noted


SIZES = st.one_of(st.just(0.0), st.floats(1e-9, 50.0), st.integers(1, 9999).map(lambda n: n / 1e4))


@given(SIZES, SIZES, SIZES, st.sampled_from(["ohm", "H", "F", "V"]))
def test_an_accuracy_is_written_as_it_is_read(
    relative: float, absolute: float, digits: float, unit: Unit
) -> None:
    accuracy = Accuracy(relative, absolute, digits, 0.04 if unit == "V" else 0.0)
    assert parse_accuracy(accuracy_text(accuracy, unit), unit) == accuracy


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("0.8 % + 2 digits", "ohm"),
        ("0.5 % + 20 mV", "V"),
        ("0.04 div", "V"),
        ("0 %", "1"),
        ("3 % + 2 pF", "F"),
        ("0.005 %", "1"),
    ],
)
def test_accuracies_stay_as_people_write_them(text: str, unit: Unit) -> None:
    assert accuracy_text(parse_accuracy(text, unit), unit) == text
