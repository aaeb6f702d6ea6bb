"""Broken sheets: one message with file, line and what was expected, and never anything else.

The lines are counted in `sheet_texts.SOUND`. No outside source: the rules are those of the sheet's
own contract; TOML's are toml.io v1.0.0.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from ohmbook.errors import SheetError
from ohmbook.sheet.read import read_sheet

from .sheet_texts import SOUND, broken


class Broken(NamedTuple):
    name: str
    text: str
    line: int | None
    words: tuple[str, ...]


def _row(name: str, line: int | None, old: str, new: str, *words: str) -> Broken:
    return Broken(name, broken((old, new)), line, words)


L1 = 'L1 = { kind = "inductor", marking = "0.82", between = ["in", "w"] }'
C1 = 'C1 = { kind = "capacitor", value = "8.2 uF ± 10 %", between = ["w", "gnd"] }'

TOML = [
    Broken("not TOML", "the woofer coil was 0.82 mH\n", 1, ("not TOML", "column 5")),
    Broken("JSON", '{"parts": {}}', 1, ("not TOML", "expected a key")),
    Broken("empty", "", None, ("nothing in it", "ohmbook start")),
    Broken("only remarks", "# to do\n\n", None, ("nothing in it", "ohmbook start")),
    Broken("binary", "\x7fELF\x02\x00\x00", None, ("no text", "expected a sheet")),
    _row("no quotes", 21, '"8.2 uF ± 10 %"', "8.2 uF", "not TOML", "double quotes", "column"),
    _row("no quotes on a line", 39, '"0.5 ohm"', "0.5 ohm", "double quotes", "value = 0.5 ohm"),
    _row("quotes left open", 39, '"0.5 ohm"', '"0.5 ohm', "opened here and not closed"),
    _row("table left open", 45, '3.0             0.95     -\n"""\n', "", 'expected """'),
    _row(
        "brackets left open",
        28,
        '[[readings]]\nkind = "ampl',
        '[[readings]\nkind = "ampl',
        "brackets of a heading",
    ),
    _row("no equals sign", 4, 'source = "gen', 'source "gen', 'expected a key, "="'),
    _row(
        "twice the same part",
        21,
        C1,
        C1.replace("C1", "L1"),
        'part "L1" stands twice',
        "first on line 20",
    ),
    _row(
        "twice the same key",
        32,
        'frequency = "5.6 kHz"\nopen',
        'open = "1 Vpp"\nopen',
        '"open" stands twice',
        "line 31",
    ),
    _row(
        "twice the same section",
        28,
        '[[readings]]\nkind = "ampl',
        '[parts]\nkind = "ampl',
        '"parts" stands twice',
        "line 19",
    ),
]

VALUES = [
    _row("wrong unit", 31, '"5.6 kHz"', '"5.6 mH"', "5.6 mH", "expected", "frequency"),
    _row("unit missing", 39, '"0.5 ohm"', '"0.5"', "0.5", "unit", "expected"),
    _row("number alone", 39, '"0.5 ohm"', "0.5", "0.5", "quotes", "expected"),
    _row("stray letter", 39, '"0.5 ohm"', '"0.5x ohm"', "0.5x ohm", "expected"),
    _row("nan", 33, '"2.06 Vpp"', '"nan Vpp"', "nan", "expected"),
    _row("nan alone", 33, '"2.06 Vpp"', "nan", "nan", "expected"),
    _row("inf", 33, '"2.06 Vpp"', '"inf Vpp"', "inf", "expected"),
    _row("inf alone", 39, '"0.5 ohm"', "inf", "inf", "expected"),
    _row("negative resistance", 39, '"0.5 ohm"', '"-0.5 ohm"', "-0.5 ohm", "negative", "expected"),
    _row("negative part", 21, '"8.2 uF ± 10 %"', '"-8.2 uF"', "negative", "part C1, value"),
    _row("ambiguous comma", 39, '"0.5 ohm"', '"1,234 ohm"', "1,234", "1.234", "1234"),
    _row("wrong accuracy", 13, "0.8 % + 2 digits", "0.8 pct", "instrument meter, resistance"),
    _row("list for a quantity", 39, '"0.5 ohm"', '["0.5 ohm"]', "not text", "expected"),
    _row("table for a text", 30, '"L1"\nfr', "{}\nfr", "found a table", "expected a text"),
    _row("word for a yes", 9, "like", 'earthed = "perhaps"\nlike', '"perhaps"', "true or false"),
    _row("one node", 20, '["in", "w"]', '["in"]', "expected a pair", '["in", "gnd"]'),
    _row("three nodes", 20, '["in", "w"]', '["in", "w", "x"]', "expected a pair"),
    _row("node alone", 20, '["in", "w"]', '"in"', 'found "in"', "expected a pair"),
    _row(
        "number for a node",
        26,
        'input = "in"',
        "input = 3",
        "found 3",
        "expected a text",
        "or a pair",
    ),
    _row(
        "date that is none",
        34,
        'across = "2.06 Vpp"',
        'across = "2.06 Vpp"\ndate = 3',
        "a date such as",
    ),
    Broken("number for readings", "readings = 3\n", 1, ("found 3", "[[readings]]")),
    Broken("list for parts", "[[parts]]\n", 1, ("double brackets", "[parts.NAME]")),
    Broken("number for a part", "[parts]\nL1 = 3\n", 2, ("found 3", "expected a table")),
    Broken("number for a title", "title = 3\n", 1, ("found 3", "text in double quotes")),
]

KEYS = [
    _row(
        "unknown reading kind",
        29,
        '"amplitude ratio"',
        '"amplitude ration"',
        "unknown kind",
        'did you mean "amplitude ratio"',
        '"source loading"',
    ),
    _row("unknown part kind", 20, '"inductor"', '"coil"', 'unknown kind "coil"', '"inductor"'),
    _row(
        "unknown instrument kind",
        12,
        '"multimeter"',
        '"multimetre"',
        "unknown kind",
        'did you mean "multimeter"',
    ),
    _row(
        "unknown dielectric",
        21,
        'value = "8.2',
        'dielectric = "electrolitic", value = "8.2',
        "electrolitic",
        'did you mean "electrolytic"',
        '"film"',
    ),
    _row("unknown like", 9, "entry-level scope", "entry level scope", "entry-level scope"),
    _row(
        "unknown key in a reading",
        31,
        "frequency =",
        "frequncy =",
        "frequncy: unknown key",
        'did you mean "frequency"',
    ),
    _row(
        "unknown key in a part",
        20,
        "marking =",
        "markings =",
        "markings: unknown key",
        'did you mean "marking"',
    ),
    _row(
        "unknown section",
        28,
        '[[readings]]\nkind = "ampl',
        '[[reading]]\nkind = "ampl',
        'unknown key "reading"',
        'did you mean "readings"',
    ),
    _row(
        "single brackets",
        28,
        SOUND[SOUND.index("[[readings]]") :],
        '[readings]\nkind = "resistance"\n',
        "single brackets",
        "[[readings]]",
    ),
    _row(
        "missing key",
        28,
        'frequency = "5.6 kHz"\n',
        "",
        "frequency: this is missing",
        'frequency = "1 kHz"',
    ),
    _row(
        "missing kind of a reading",
        35,
        'kind = "resistance"\n',
        "",
        "kind: this is missing",
        '"probe"',
    ),
    _row(
        "missing kind of a part",
        20,
        'kind = "inductor", ',
        "",
        "kind: this is missing",
        '"inductor"',
    ),
    _row("missing rating", 22, 'rated = "8 ohm", ', "", "rated: this is missing", "rated = "),
]

NAMES = [
    _row("unknown part", 37, 'part = "L1"\ninst', 'part = "L7"\ninst', 'unknown part "L7"', '"L1"'),
    _row(
        "unknown source",
        4,
        '"generator"',
        '"generater"',
        'unknown source "generater"',
        'expected "generator"',
    ),
    _row("unknown instrument", 38, '"meter"', '"metre"', 'unknown instrument "metre"', '"meter"'),
    _row("unknown node", 43, 'at = "in"', 'at = "im"', 'unknown node "im"', '"in", "w", "gnd"'),
    _row(
        "unknown detached part",
        44,
        '["woofer"]',
        '["wofer"]',
        'unknown part "wofer"',
        'did you mean "woofer"',
        "reading 3, detached",
    ),
    _row(
        "unknown reading", 32, 'open = "4.12 Vpp"\nac', 'open = "@o1"\nac', 'unknown reading "o1"'
    ),
    _row(
        "reading of itself",
        32,
        'open = "4.12 Vpp"\nac',
        'open = "@reading 1"\nac',
        "refers to itself",
    ),
    _row(
        "mistyped part for a quantity",
        33,
        'across = "2.06 Vpp"',
        'resistor = "R7"\nacross = "2.06 Vpp"',
        'unknown part "R7"',
    ),
    _row("part's end without number", 45, '["woofer"]', '["woofer"]\nlifted = ["C1"]', "C1.1"),
    Broken(
        "source called like a part",
        broken(("[sources.generator]", "[sources.L1]"), ('source = "generator"', 'source = "L1"')),
        15,
        ("as well as",),
    ),
    _row("blank part name", 21, "C1 =", '" " =', "cannot be a name"),
    _row("dot in a part's name", 21, "C1 =", '"C.1" =', "dot", "C1.1"),
    _row("invisible name", 21, "C1 =", '"C\\u0007" =', "cannot be printed"),
    _row("wrong instrument", 38, '"meter"', '"scope"', "oscilloscope", "expected one of kind"),
    _row(
        "two names alike",
        36,
        'kind = "resistance"',
        'name = "reading 1"\nkind = "resistance"',
        "name of reading 1 as well",
    ),
]

BOARD = [
    _row(
        "sketch with an unknown part",
        28,
        'input = "in"',
        'input = "in"\n[sketch.between]\nL2 = ["in", "w"]',
        'unknown part "L2"',
        '"L1"',
    ),
    _row(
        "two statements of nodes",
        28,
        'input = "in"',
        'input = "in"\n[sketch.between]\nwoofer = ["gnd", "w"]',
        "the same nodes",
    ),
    _row(
        "both ends on one node",
        21,
        '["w", "gnd"] }\nwoofer',
        '["w", "w"] }\nwoofer',
        'both ends of "C1"',
        "two nodes",
    ),
    _row(
        "dangling node",
        20,
        '["in", "w"]',
        '["in", "ww"]',
        'node "ww" has only L1 on it',
        'did you mean "w"',
    ),
    _row(
        "floating parts",
        24,
        "[sketch]",
        'R1 = { kind = "resistor", between = ["a", "b"] }\n'
        'R2 = { kind = "resistor", between = ["a", "b"] }\n[sketch]',
        '"R1", "R2"',
        "in the air",
    ),
    _row("unknown input", 26, 'input = "in"', 'input = "inn"', 'node "inn"', 'did you mean "in"'),
    _row("unknown ground", 25, 'ground = "gnd"', 'ground = "earth"', 'no part is on node "earth"'),
    _row("unknown output", 27, 'input = "in"', 'input = "in"\noutputs = { w = "wf" }', 'node "wf"'),
    _row("input shorted", 26, 'input = "in"', 'input = ["in", "in"]', "two nodes"),
    _row("value and pieces", 21, 'value = "8.2', 'made_of = ["4 uF"], value = "8.2', "one of them"),
    _row(
        "no source chosen",
        29,
        '[defaults]\nsource = "generator"\n',
        "[sources.other]\n\n[defaults]\n",
        "needs a source",
        '"other"',
        "[defaults]",
    ),
    _row(
        "no source at all",
        4,
        '[sources.generator]\nresistance = "50 ohm ± 5 %"\nopen = "4.12 Vpp"\n',
        "",
        'unknown source "generator"',
    ),
    Broken(
        "no instrument chosen",
        broken(
            ('instrument = "meter"\n', ""),
            ("[sources.generator]", '[instruments.other]\nkind = "tester"\n\n[sources.generator]'),
        ),
        38,
        ("several instruments", '"meter", "other"'),
    ),
]

TABLES = [
    _row(
        "row with a missing column",
        48,
        "0.95     -",
        "0.95",
        "row 2",
        "column w/Vpp",
        "2 of 3 columns",
    ),
    _row(
        "row with a column too many", 47, "3.49", "3.49 1", "row 1", "column 4:", "under no heading"
    ),
    _row("cell that is no number", 47, "3.49", "3.4x", "row 1", "column w/Vpp", "3.4x"),
    _row("cell with a unit", 47, "3.49", "3.49Vpp", "row 1", "column w/Vpp", "heading"),
    _row("cell with an ambiguous comma", 47, "3.49", "3,490", "row 1", "column w/Vpp", "3.490"),
    _row("cell that is nan", 47, "3.49", "nan", "row 1", "column w/Vpp", "nan"),
    _row("heading without a unit", 46, "w/Vpp", "w", "headings", '"w" has no unit'),
    _row("heading twice", 46, "w/Vpp", "in/Vpp", "headings", "stands twice"),
    _row("heading of an unknown node", 46, "w/Vpp", "t/Vpp", "headings", '"t"'),
    _row(
        "table without rows",
        46,
        "0.10            3.51     3.49\n3.0             0.95     -\n",
        "",
        "no rows",
    ),
    _row("negative cell", 47, "3.49", "-3.49", "row 1", "column w/Vpp", "negative"),
]

KINDS = [
    _row("across above open", 33, '"2.06 Vpp"', '"5.06 Vpp"', "5.06 Vpp", "4.12 Vpp", "open"),
    _row(
        "grounds that short the board",
        43,
        'at = "in"',
        'at = ["in", "w"]',
        "shorts the board",
        "earthed",
    ),
]

ALL = [*TOML, *VALUES, *KEYS, *NAMES, *BOARD, *TABLES, *KINDS]


def test_the_sheet_that_is_broken_below_is_sound() -> None:
    sheet = read_sheet(text=SOUND)
    assert [one.name for one in sheet.readings] == ["reading 1", "reading 2", "reading 3"]


@pytest.mark.parametrize("row", ALL, ids=[row.name for row in ALL])
def test_a_broken_sheet_is_told_with_file_line_and_what_was_expected(row: Broken) -> None:
    with pytest.raises(SheetError) as caught:
        read_sheet(text=row.text, file="board.toml")
    error, message = caught.value, str(caught.value)
    assert error.file == "board.toml"
    assert error.line == row.line, message
    assert message.startswith("board.toml" if row.line is None else f"board.toml, line {row.line}")
    for word in row.words:
        assert word in message
    for foreign in ("Input should", "pydantic", "Field required", "Value error", "validation"):
        assert foreign not in message


def test_several_problems_are_listed_each_with_its_line() -> None:
    text = broken(("5.6 kHz", "5.6 mH"), ("0.5 ohm", "0.5 F"), ("w/Vpp", "w"))
    text = text.replace("marking", "markings").replace("rated", "ratd").replace("like", "lik")
    with pytest.raises(SheetError) as caught:
        read_sheet(text=text, file="b.toml")
    listed = str(caught.value).split("\n")
    assert [line.split(":")[0] for line in listed[:5]] == [
        "b.toml, line 9, instrument scope, lik",
        "b.toml, line 20, part L1, markings",
        "b.toml, line 22, part woofer, ratd",
        "b.toml, line 31, reading 1, frequency",
        "b.toml, line 39, reading 2, value",
    ]
    assert listed[5:] == ["and 1 more"]
    assert len(caught.value.others) == 5
