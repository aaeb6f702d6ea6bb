"""The sheets that `ohmbook start` writes: short, sound, and with the cautions where they belong."""

from __future__ import annotations

import pytest

from ohmbook.errors import CallError
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.template import TEMPLATES, template


@pytest.mark.parametrize("kind", TEMPLATES)
def test_a_sheet_to_fill_in_is_sound_and_fits_one_screenful(kind: str) -> None:
    text = template(kind)
    assert len(text.splitlines()) <= 60
    assert max(map(len, text.splitlines())) <= 100
    sheet = read_sheet(text=text)
    assert sheet.readings
    assert sheet.readings[0].kind == "source loading"


def test_the_first_sheet_is_a_two_way_board() -> None:
    sheet = read_sheet(text=template())
    assert [part.kind for part in sheet.parts.values()].count("driver") == 2
    assert sheet.sketch is not None
    assert sheet.sketch.input == "in"


@pytest.mark.parametrize(
    ("kind", "step", "lines_before", "caution"),
    [
        ("two-way", 'kind = "oscilloscope"', 1, "ground clip is earth"),
        ("two-way", 'ground = "gnd"', 1, "bridged amplifier neither terminal is ground"),
        (
            "two-way",
            'kind = "resistance"',
            1,
            "discharge capacitors through a resistor and measure",
        ),
        (
            "two-way",
            'kind = "probe"',
            1,
            "never drive a board with its drivers detached from a power",
        ),
        ("parts", "title =", 3, "discharge capacitors through a resistor, and measure"),
        ("parts", 'kind = "oscilloscope"', 1, "ground clip is earth"),
    ],
)
def test_each_caution_stands_at_its_step(
    kind: str, step: str, lines_before: int, caution: str
) -> None:
    lines = template(kind).splitlines()
    at = next(index for index, line in enumerate(lines) if line.startswith(step))
    remarks = [line.partition("#")[2].strip() for line in lines[at - lines_before : at + 2]]
    assert caution in " ".join(remarks)


def test_an_unknown_sheet_to_start_from_is_refused() -> None:
    with pytest.raises(CallError, match=r'"three-way".*"two-way" or "parts"'):
        template("three-way")
