"""A drawing in a sheet: read strictly, written so that it can be read again, told where wrong."""

from __future__ import annotations

import tomllib

import pytest

from ohmbook.documents.drawing import MOST
from ohmbook.errors import SheetError
from ohmbook.sheet.plain import plain_text
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.write import write_sheet

SHEET = """
title = "One coil"
[parts]
L1 = { kind = "inductor", between = ["in", "gnd"] }
"the R" = { kind = "resistor", between = ["in", "gnd"] }
[sketch]
input = "in"
[sketch.drawing]
wires = [[0, 0, 4, 0, 4, 8], [4, 8, 0, 8]]
junctions = [[4, 0]]
names = [{ name = "in", at = [0, 0] }]
marks = [
  { kind = "ground", at = [0, 8] },
  { kind = "input", at = [0, 0] },
  { kind = "output", name = "line", at = [0, 0], against = [0, 8] },
]
photo = { attachment = "board.jpg", at = [-4, -4], width = 60, opacity = 0.25 }
[sketch.drawing.parts]
L1 = [0, 2, 90]
"the R" = [4, 2, 270]
"""
HEAD = 'parts.L1 = { kind = "inductor" }\n[sketch.drawing]\n'


def test_it_is_written_and_read_again_without_a_loss() -> None:
    sheet = read_sheet(text=SHEET)
    assert read_sheet(text=write_sheet(sheet)) == sheet
    assert sheet.sketch is not None
    assert sheet.sketch.drawing is not None
    assert sheet.sketch.drawing.plain() == tomllib.loads(SHEET)["sketch"]["drawing"]


def test_plain_values_stay_what_they_are() -> None:
    raw = tomllib.loads(SHEET)
    assert tomllib.loads(plain_text(raw)) == raw
    assert "  [4, 8, 0, 8],\n" in plain_text(raw), "each wire has a line"


def test_a_drawing_that_is_only_begun_is_no_fault() -> None:
    sheet = read_sheet(text=HEAD + "parts = { L1 = [0, 0, 0] }")
    assert sheet.sketch is not None


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("parts = { L1 = [0, 0] }", "three whole numbers"),
        ("parts = { L1 = [0, 0, 45] }", "turn is 0, 90, 180 or 270"),
        ("parts = { L1 = [0, 0, true] }", "three whole numbers"),
        ("parts = { L1 = [0.5, 0, 0] }", "three whole numbers"),
        ("parts = { L1 = [0, 100001, 0] }", "three whole numbers"),
        ("parts = [1]", "expected a table"),
        ("parts = { L2 = [0, 0, 0] }", 'unknown part "L2"'),
        ("wires = [[0, 0, 3, 3]]", "run along the grid"),
        ("wires = [[0, 0, 0, 0]]", "run along the grid"),
        ("wires = [[0, 0]]", "two points or more"),
        ("wires = [[0, 0, 1]]", "two points or more"),
        ("wires = 1", "a list of wires"),
        ("junctions = [[0, nan]]", "two whole numbers"),
        ('junctions = ["a"]', "two whole numbers"),
        ('names = [{ name = "", at = [0, 0] }]', "a name of 1 to 200 letters"),
        ('names = [{ name = " a", at = [0, 0] }]', "a name of 1 to 200 letters"),
        ('names = [{ name = "@a", at = [0, 0] }]', "begins without @"),
        ('names = [{ name = "a\\u0007", at = [0, 0] }]', "can be printed"),
        ('names = [{ name = "a" }]', "this is missing"),
        ('marks = [{ kind = "groud", at = [0, 0] }]', 'did you mean "ground"?'),
        ('marks = [{ kind = "output", at = [0, 0] }]', "an output has no name"),
        ('marks = [{ kind = "ground", name = "g", at = [0, 0] }]', "has a point alone"),
        ('photo = { attachment = "../x.jpg" }', "without a folder"),
        ('photo = { attachment = "x.jpg", opacity = 1.5 }', "at most 1"),
        ('photo = { attachment = "x.jpg", opacity = nan }', "neither nan nor inf"),
        ('photo = { attachment = "x.jpg", width = 0 }', "at least 1"),
        ("wirse = []", "unknown key"),
        (f"junctions = [{', '.join(['[0, 0]'] * (MOST + 1))}]", f"at most {MOST}"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_its_line(line: str, told: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_sheet(text=HEAD + line, file="board.toml")
    assert told in str(caught.value)
    assert str(caught.value).startswith("board.toml, line 3")
    assert len(str(caught.value)) < 400
