"""Whatever happens to a sheet's text, only an OhmbookError comes out, and it can be printed."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from ohmbook.errors import OhmbookError, SheetError
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.template import template
from ohmbook.sheet.write import write_sheet

from .sheet_texts import SOUND

TEXTS = st.sampled_from([SOUND, template("two-way"), template("parts")])
LETTERS = st.sampled_from("\"'[]{}=.,#\n @-0123456789eEVpkmuµΩ±%()/\\\t\x00\x07\u2028aLC")


@st.composite
def mutated(draw: st.DrawFn) -> str:
    lines = draw(TEXTS).split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["delete", "repeat", "move", "letter", "drop", "insert"])):
            case "delete" if len(lines) > 1:
                del lines[at]
            case "repeat":
                lines.insert(draw(st.integers(0, len(lines))), lines[at])
            case "move":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(at))
            case what:
                lines[at] = _changed(draw, lines[at], what)
    return "\n".join(lines)


def _changed(draw: st.DrawFn, line: str, what: str) -> str:
    at = draw(st.integers(0, len(line)))
    if what == "drop":
        return line[:at] + line[at + 1 :]
    letter = draw(LETTERS)
    return line[:at] + letter + line[at + (what == "letter") :]


def _survives(text: str) -> None:
    told = _told(text)
    if told is None:
        return
    assert isinstance(told, SheetError)
    assert told.message
    assert all(line.isprintable() for line in str(told).split("\n"))
    assert told.line is None or 1 <= told.line <= text.count("\n") + 1


def _told(text: str) -> OhmbookError | None:
    """What is told of a text; None where it is read, and then it can be written and read again."""
    try:
        sheet = read_sheet(text=text)
    except OhmbookError as error:
        return error
    assert read_sheet(text=write_sheet(sheet)) == sheet
    return None


@settings(max_examples=600, deadline=None)
@given(mutated())
def test_a_sheet_with_slips_is_read_or_refused(text: str) -> None:
    _survives(text)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    _survives(text)


SCRAPS = st.sampled_from(
    ['"L1"', '"in"', '"4.12 Vpp"', '"8 ohm"', "3", "-1.5", "nan", "inf", "true", "[]", "{}",
     '["in", "w"]', '{ L1 = "8 ohm" }', '{ in = "1 Vpp" }', "2026-05-01", '""', '"@reading 1"',
     '"0 Hz"', '"0 Vpp"', '["L1"]', '"x/y z\\n1 2"', "[[]]", '{ a = { b = 1 } }',
     "1979-05-27T07:32:00Z"]
)  # fmt: skip


@settings(max_examples=500, deadline=None)
@given(TEXTS, st.data())
def test_any_value_under_any_key_is_read_or_refused(text: str, data: st.DataObject) -> None:
    lines = text.split("\n")
    keyed = [index for index, line in enumerate(lines) if " = " in line and '"""' not in line]
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.sampled_from(keyed))
        lines[at] = f"{lines[at].split(' = ')[0]} = {data.draw(SCRAPS)}"
    _survives("\n".join(lines))
