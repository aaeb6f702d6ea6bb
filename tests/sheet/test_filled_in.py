"""What a sheet leaves unsaid is filled in: names, nodes, sources, instruments."""

from __future__ import annotations

import pytest

from ohmbook.documents.part import Driver, Inductor, Sketch
from ohmbook.documents.reading import Sheet
from ohmbook.errors import SheetError
from ohmbook.sheet.read import read_sheet

from .sheet_texts import SOUND, broken


def _chosen(sheet: Sheet) -> list[tuple[str | None, str | None]]:
    return [(one.source, one.instrument) for one in sheet.readings]


def test_the_sound_sheet_says_what_it_should() -> None:
    sheet = read_sheet(text=SOUND)
    assert sheet.title == "Broken on purpose"
    assert list(sheet.parts) == ["L1", "C1", "woofer"]
    assert isinstance(sheet.parts["L1"], Inductor)
    assert isinstance(sheet.parts["woofer"], Driver)
    assert sheet.parts["L1"].between == ("in", "w")
    assert sheet.sketch is not None
    assert sheet.sketch.input == "in"
    assert sheet.text == SOUND
    assert _chosen(sheet) == [("generator", "scope"), (None, "meter"), ("generator", "scope")]


def test_places_are_where_things_stand() -> None:
    places = read_sheet(text=SOUND, file="b.toml").places
    lines = {key: place.line for key, place in places.items()}
    assert lines == {
        ("instruments", "scope"): 7,
        ("instruments", "meter"): 11,
        ("sources", "generator"): 15,
        ("parts", "L1"): 20,
        ("parts", "C1"): 21,
        ("parts", "woofer"): 22,
        ("readings", "reading 1"): 28,
        ("readings", "reading 2"): 35,
        ("readings", "reading 3"): 41,
    }
    assert {place.file for place in places.values()} == {"b.toml"}


def test_without_defaults_the_only_one_that_suits_is_taken() -> None:
    text = broken(
        ('[defaults]\nsource = "generator"\ninstrument = "scope"\n', ""),
        ('instrument = "meter"\n', ""),
    )
    assert _chosen(read_sheet(text=text)) == _chosen(read_sheet(text=SOUND))


def test_a_default_that_cannot_take_the_reading_is_passed_over() -> None:
    sheet = read_sheet(text=broken(('instrument = "meter"\n', "")))
    assert sheet.readings[1].instrument == "meter"


def test_without_any_instrument_a_reading_has_none() -> None:
    text = broken(('[instruments.meter]\nkind = "multimeter"\nresistance = "0.8 % + 2 digits"', ""))
    sheet = read_sheet(text=text.replace('instrument = "meter"', ""))
    assert sheet.readings[1].instrument is None


def test_nodes_may_stand_in_the_sketch() -> None:
    text = broken((', between = ["in", "w"]', ""))
    text = text.replace('input = "in"', 'input = "in"\n[sketch.between]\nL1 = ["in", "w"]')
    sheet = read_sheet(text=text)
    assert sheet.parts["L1"].between == ("in", "w")


def test_the_same_nodes_in_both_places_agree_and_a_coil_has_no_direction() -> None:
    text = broken(('input = "in"', 'input = "in"\n[sketch.between]\nL1 = ["w", "in"]'))
    assert read_sheet(text=text).parts["L1"].between == ("in", "w")


def test_parts_as_tables_read_the_same() -> None:
    text = broken(
        (
            'L1 = { kind = "inductor", marking = "0.82", between = ["in", "w"] }\n',
            "",
        ),
        (
            "[parts]\n",
            '[parts.L1]\nkind = "inductor"\nmarking = "0.82"\nbetween = ["in", "w"]\n[parts]\n',
        ),
    )
    sheet = read_sheet(text=text)
    assert sheet == read_sheet(text=SOUND)
    assert sheet.places["parts", "L1"].line == 19


def test_parts_with_nodes_have_a_sketch_even_where_none_is_written() -> None:
    text = '[parts]\nL1 = { kind = "inductor", between = ["in", "gnd"] }\n' + (
        'L2 = { kind = "inductor", between = ["in", "gnd"] }\n'
    )
    assert read_sheet(text=text).sketch == Sketch()


def test_parts_without_nodes_are_measured_alone() -> None:
    sheet = read_sheet(text='[parts]\nL1 = { kind = "inductor" }\n')
    assert sheet.sketch is None
    assert sheet.parts["L1"].between is None


def test_a_second_input_of_a_bi_wired_board_is_no_dangling_node() -> None:
    text = broken(
        (
            "woofer =",
            'C2 = { kind = "capacitor", between = ["in2", "t"] }\n'
            'L2 = { kind = "inductor", between = ["t", "gnd"] }\nwoofer =',
        )
    )
    with pytest.raises(SheetError, match='node "in2" has only C2 on it'):
        read_sheet(text=text)
    clipped = text.replace('at = "in"\n', 'at = "in2"\n')
    assert read_sheet(text=clipped).parts["C2"].between == ("in2", "t")


def test_a_name_given_by_the_person_counts_as_its_own_number() -> None:
    sheet = read_sheet(text=broken(('kind = "resistance"', 'name = "o1"\nkind = "resistance"')))
    assert [one.name for one in sheet.readings] == ["reading 1", "o1", "reading 3"]


def test_quantities_can_be_shared_by_name() -> None:
    text = broken(
        ('kind = "amplitude ratio"', 'name = "o1"\nkind = "amplitude ratio"\nresistor = "R7"'),
        ("C1 =", 'R7 = { kind = "resistor", value = "100 ohm ± 1 %" }\nC1 ='),
        ('detached = ["woofer"]', 'detached = ["woofer"]\nopen = "@o1"'),
    )
    first, _, third = read_sheet(text=text).readings
    assert {ref.name for ref in first.references() if ref.noun == "part"} == {"R7", "L1"}
    assert [ref.name for ref in third.references() if ref.noun == "reading"] == ["o1"]
