"""A throw-away reading kind, and every sort of fault in its fields, told in our own words."""

from __future__ import annotations

import pytest

from ohmbook.documents.reading import Sheet
from ohmbook.errors import SheetError
from ohmbook.sheet.read import read_sheet

from .sheet_kinds import KINDS, Logbook, Weighing, weighing


def _read(text: str) -> Sheet:
    return read_sheet(text=text, kinds=KINDS)


def _refused(text: str) -> SheetError:
    with pytest.raises(SheetError) as caught:
        _read(text)
    for foreign in ("Input should", "pydantic", "Field required", "Value error", "Assertion"):
        assert foreign not in str(caught.value)
    return caught.value


def test_a_throw_away_kind_is_read() -> None:
    (reading,) = _read(weighing(count="3", shares='{ "copper" = 0.9 }')).readings
    assert isinstance(reading, Weighing)
    assert (reading.part, reading.grams, reading.count) == ("L1", 120.0, 3)
    assert (reading.name, reading.source, reading.instrument) == ("reading 1", None, None)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("grams", '"many"', ('found "many"', "a number without quotes")),
        ("grams", "[]", ("a list of 0", "a number without quotes")),
        ("grams", "nan", ("neither nan nor inf",)),
        ("grams", "inf", ("neither nan nor inf",)),
        ("grams", "0", ("found 0", "more than 0")),
        ("grams", "6000", ("at most 5000",)),
        ("count", "2.5", ("found 2.5", "a whole number")),
        ("count", '"few"', ('found "few"', "a whole number")),
        ("count", "0", ("at least 1",)),
        ("count", "100", ("less than 100",)),
        ("dry", '"perhaps"', ("true or false",)),
        ("dry", "[1]", ("a list of 1", "true or false")),
        ("marks", '"a"', ('found "a"', "a list in square brackets")),
        ("marks", "[1]", ("found 1", "a text in double quotes")),
        ("marks", '["a", "b", "c"]', ("three marks are one too many; expected two at most",)),
        ("shares", "3", ("found 3", "a table such as")),
        ("shares", '{ a = "b" }', ("shares.a", 'found "b"', "a number")),
        ("side", '"rigth"', ('found "rigth"', 'did you mean "right"?')),
        ("side", "3", ("found 3", '"left" or "right"')),
        ("turns", "3", ("found 3", "expected 2 or 4")),
        ("code", '"a"', ('found "a"', "at least 2 letters")),
        ("code", '"AB"', ('found "AB"', 'code = "..."')),
        ("against", '"7 kg"', ("7 kg", "expected a resistance")),
        ("against", '"R9"', ('unknown part "R9"', '"L1"')),
        ("date", "2026-01-01T10:00:00", ("a date such as",)),
        ("grms", "3", ("unknown key", 'did you mean "grams"?')),
        ("zzz", "3", ("unknown key", 'expected one of "part", "grams"')),
    ],
)
def test_each_sort_of_fault_is_told_at_its_line(key: str, value: str, words: tuple[str]) -> None:
    text = weighing(**{key: value})
    error = _refused(text)
    assert error.line is not None
    assert text.split("\n")[error.line - 1].startswith(f"{key} = ")
    for word in words:
        assert word in str(error)


def test_a_fault_of_the_whole_reading_stands_at_its_heading() -> None:
    error = _refused(weighing(grams="2000"))
    assert (error.line, error.message) == (4, "left is for light parts")


def test_a_kind_s_own_check_is_told_at_its_key() -> None:
    error = _refused(weighing(count="10"))
    assert (error.line, error.where) == (8, "reading 1, count")
    assert "nobody has 10 of L1" in error.message


def test_an_error_that_a_kind_s_check_raises_is_told_at_its_reading() -> None:
    error = _refused(weighing(note='"raise"'))
    assert (error.line, error.where) == (4, "reading 1")
    assert "this note raises" in error.message


def test_a_struck_reading_may_be_wrong_but_not_refer_to_nothing() -> None:
    (reading,) = _read(weighing(count="10", struck='"a slip"')).readings
    assert reading.struck == "a slip"
    assert "unknown part" in str(_refused(weighing(part='"L2"', struck='"a slip"')))


def test_checks_across_readings_come_before_a_kind_s_own() -> None:
    error = _refused(weighing(part='"L2"', note='"raise"'))
    assert 'unknown part "L2"' in str(error)
    assert "this note raises" not in str(error)


LOG = '''[sources.g]
[[readings]]
kind = "logbook"
open = "@reading 2"
table = """
# one evening
frequency/kHz  a/Vpp

1  0.5
2  0.99
"""
[[readings]]
kind = "logbook"
open = "4.12 Vpp"
table = "f/Hz a/V\\n1 0,5\\n2 -"
'''


def test_tables_are_read_with_blank_lines_and_remarks() -> None:
    first, second = _read(LOG.replace("0.99", "0.98")).readings
    assert isinstance(first, Logbook)
    assert isinstance(second, Logbook)
    assert [row.cells for row in first.table.rows] == [("1", "0.5"), ("2", "0.98")]
    assert [row.cells for row in second.table.rows] == [("1", "0,5"), ("2", None)]


def test_a_problem_in_a_row_is_told_with_the_line_of_the_row() -> None:
    error = _refused(LOG)
    assert (error.line, error.where) == (10, "reading 1, table, row 2, column a/Vpp")


def test_a_row_of_a_text_on_one_line_is_told_with_that_line() -> None:
    error = _refused(LOG.replace("0,5", "x"))
    assert (error.line, error.where) == (15, "reading 2, table, row 1, column a/V")


def test_a_table_error_without_a_place_is_told_at_the_row() -> None:
    raw = '[sources.g]\n[[readings]]\nkind = "rawbook"\ntable = """\na/V b/V\n1 2\n3\n"""\n'
    error = _refused(raw)
    assert (error.line, error.where) == (7, "reading 1, table, row 2, column b/V")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"4.12 Vpp"', '"@reading 1"', ("states no open of its own", "expected the quantity")),
        ('"@reading 2"', '"@reading 1"', ('"@reading 1" refers to itself',)),
        ('open = "4.12 Vpp"\n', "", ("states no open of its own",)),
        ('"4.12 Vpp"', '"4.12 Vpp"\nstruck = "a slip"', ("is struck",)),
        ('"@reading 2"', '"@reading 3"', ('unknown reading "reading 3"',)),
    ],
)
def test_what_is_taken_from_another_reading_is_there(
    old: str, new: str, words: tuple[str, ...]
) -> None:
    text = LOG.replace("0.99", "0.98")
    assert old in text
    error = _refused(text.replace(old, new))
    assert (error.line, error.where) == (4, "reading 1, open")
    for word in words:
        assert word in error.message


def test_a_source_s_open_amplitude_may_stand_in_a_reading() -> None:
    text = LOG.replace("0.99", "0.98").replace("[sources.g]", '[sources.g]\nopen = "@reading 2"')
    assert _read(text).sources["g"].open == "@reading 2"
    error = _refused(
        text.replace('open = "4.12 Vpp"', "").replace('open = "@reading 2"\ntable', "table")
    )
    assert (error.line, error.where) == (2, "source g, open")


def test_a_quantity_that_is_also_a_part_s_name_is_refused() -> None:
    text = weighing(against='"47R"').replace("[sources.g]", '47R = { kind = "resistor" }')
    assert "begins with a letter" in str(_refused(text))
