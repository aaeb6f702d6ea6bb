"""Every key is found on its line; the standard parser (tomllib) says which keys there are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmbook.sheet.lines import Key, find_lines
from ohmbook.sheet.template import TEMPLATES, template

from .sheet_texts import SOUND

TRICKY = '''a.b = 1
"q.x" = [1,
 # ] a remark
 "]", {x=1, y = { z = [2] } },
 3]
[parts]
L1 = { k = "a}", 'v w' = 2 } # { "
[parts.C1]
v = """
r0
r1\\
   goes on
r2 \\n r3
r4"""
[[readings]]
k=1
[readings.sub]
z = 1
[[readings]]
[[readings.x]]
t = \'\'\'
r0 \\
r1""" \'\'\'
u.v.w = 2020-01-01 # at last
"esc\\u0061pe" = """one "" line"""
'''
AT = {
    ("a", "b"): 1,
    ("q.x",): 2,
    ("q.x", 0): 2,
    ("q.x", 1): 4,
    ("q.x", 2, "y", "z", 0): 4,
    ("q.x", 3): 5,
    ("parts", "L1", "v w"): 7,
    ("parts", "C1"): 8,
    ("parts", "C1", "v"): 9,
    ("readings", 0): 15,
    ("readings", 0, "k"): 16,
    ("readings", 0, "sub", "z"): 18,
    ("readings", 1): 19,
    ("readings", 1, "x", 0): 20,
    ("readings", 1, "x", 0, "t"): 21,
    ("readings", 1, "x", 0, "u", "v", "w"): 24,
    ("readings", 1, "x", 0, "escape"): 25,
}


def _keys(raw: Any, key: Key = ()) -> Iterator[Key]:
    if key:
        yield key
    steps = (
        raw.items() if isinstance(raw, dict) else enumerate(raw) if isinstance(raw, list) else ()
    )
    for step, held in steps:
        yield from _keys(held, (*key, step))


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_lines_counted_by_hand(end: str) -> None:
    lines = find_lines(TRICKY.replace("\n", end))
    assert {key: lines.of(key) for key in AT} == AT
    assert lines.rows["parts", "C1", "v"] == (10, 11, 13, 13, 14)
    assert lines.rows["readings", 1, "x", 0, "t"] == (22, 23)
    assert lines.repeats == []


def test_the_tricky_text_is_toml_with_the_rows_counted() -> None:
    raw = tomllib.loads(TRICKY)
    assert raw["parts"]["C1"]["v"].count("\n") == 4
    assert raw["readings"][1]["x"][0]["t"].count("\n") == 1


@pytest.mark.parametrize("text", [TRICKY, SOUND, *map(template, TEMPLATES)])
def test_every_key_that_the_parser_finds_has_a_line(text: str) -> None:
    assert set(find_lines(text).keys) == set(_keys(tomllib.loads(text)))


def test_a_key_that_is_missing_has_the_line_of_what_would_hold_it() -> None:
    lines = find_lines(TRICKY)
    assert lines.of(("parts", "C1", "value")) == 8
    assert lines.of(("nowhere",)) is None
    assert lines.of_row(("parts", "C1", "v"), 7) == 9


NAMES = st.text(min_size=1, max_size=6).filter(lambda name: name != "last")
LEAVES = st.one_of(
    st.integers(-99, 99), st.booleans(), st.text("ab]}#=,\"'\n", max_size=8), st.just(1.5)
)
TREES = st.recursive(
    LEAVES,
    lambda held: st.one_of(st.lists(held, max_size=3), st.dictionaries(NAMES, held, max_size=3)),
    max_leaves=8,
)


def _text(text: str) -> str:
    return '"' + "".join(f"\\U{ord(letter):08X}" for letter in text) + '"'


def _written(value: Any, spread: bool) -> str:
    if isinstance(value, dict):
        pairs = [f"{_text(key)} = {_written(held, False)}" for key, held in value.items()]
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list):
        between = ", # ]\n" if spread else ","
        return "[" + between.join(_written(held, spread) for held in value) + "]"
    if isinstance(value, str):
        bare = "'" not in value and "\r" not in value
        return f"'''\n{value}'''" if bare and spread else _text(value)
    return str(value).lower()


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(NAMES, TREES, max_size=5), st.booleans())
def test_random_texts_have_every_key_where_it_is_written(
    tree: dict[str, Any], spread: bool
) -> None:
    lines: dict[Key, int] = {}
    text = ""
    for name, held in tree.items():
        if isinstance(held, dict) and spread:
            text += f"[{_text(name)}]\n"
            lines[(name,)] = text.count("\n")
            for inner, value in held.items():
                lines[(name, inner)] = text.count("\n") + 1
                text += f"{_text(inner)} = {_written(value, spread)} # remark\n"
            text += "[[last]]\n"
            text += "x = 1\n"
            continue
        if "[[last]]" in text:
            continue  # a plain key after a heading would belong to it
        lines[(name,)] = text.count("\n") + 1
        text += f"{_text(name)} = {_written(held, spread)}\n\n"
    raw = tomllib.loads(text)
    found = find_lines(text)
    assert set(found.keys) == set(_keys(raw))
    assert {key: found.of(key) for key in lines} == lines


@settings(max_examples=200, deadline=None)
@given(st.text("ab=[]{}\"'#.,\\\n ", max_size=60))
def test_nothing_stops_the_scanner(text: str) -> None:
    found = find_lines(text)
    assert all(1 <= line <= text.count("\n") + 1 for line in found.keys.values())
