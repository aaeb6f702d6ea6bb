"""Whatever a sheet can say goes into a notebook and comes out of it equal.

The sheets are written by a writer of this test's own, in any of TOML's ways (TOML 1.0.0); what
comes out is read by the standard library's parser.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import ohmbook
from ohmbook.errors import SheetError
from ohmbook.notebook.archive import archive
from ohmbook.notebook.bodies import from_body, to_body
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.unpack import unpack

ODD = st.text(max_size=12) | st.text(
    st.sampled_from("\"'\\\n\r\t\x00\x7f\x1b#=[]{},. aÜ€😀\u2028\u202e\ufeff"), max_size=12
)
LETTERS = st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters="@.")
NAME = st.text(LETTERS, min_size=1, max_size=6).map(lambda text: f"n{text}")
WAITS = st.sampled_from(["?", "0.5 ohm", "1k2 ± 5 %", "47.2 Ω ± 0.5 %"])
DATES = st.dates() | ODD


def some(fields: Mapping[str, st.SearchStrategy[Any]]) -> st.SearchStrategy[dict[str, Any]]:
    """Any of some fields that need not be there."""
    return st.fixed_dictionaries({}, optional=dict(fields))


SPOT = st.lists(st.integers(-50, 50), min_size=2, max_size=2)
DRAWN = some(
    {
        "wires": st.lists(SPOT.map(lambda at: [*at, at[0] + 3, at[1]]), max_size=3),
        "junctions": st.lists(SPOT, max_size=3),
        "names": st.lists(st.fixed_dictionaries({"name": NAME, "at": SPOT}), max_size=3),
        "marks": st.lists(
            st.fixed_dictionaries({"kind": st.just("ground"), "at": SPOT})
            | st.fixed_dictionaries({"kind": st.just("output"), "name": NAME, "at": SPOT}),
            max_size=3,
        ),
        "photo": st.fixed_dictionaries(
            {"attachment": NAME, "at": SPOT, "opacity": st.floats(0.0, 1.0)}
        ),
    }
)
"""How a sketch lies on the grid, but for its parts."""

SAID = {"note": ODD, "date": DATES, "struck": ODD}


@st.composite
def sheets(draw: st.DrawFn) -> dict[str, Any]:
    """The plain values of a sound sheet."""
    parts = draw(st.lists(NAME, min_size=1, max_size=4, unique=True))
    found: dict[str, Any] = {"title": draw(ODD)} if draw(st.booleans()) else {}
    found["parts"] = {
        name: {
            "kind": draw(st.sampled_from(["resistor", "inductor"])),
            **draw(some({"marking": st.sampled_from(["4R7", '0.47 "J"', "Ü?"]), "note": ODD})),
        }
        for name in parts
    }
    if draw(st.booleans()):
        found["instruments"] = {
            f"i{draw(NAME)}": {"kind": "multimeter", **draw(some({"note": ODD}))}
        }
    if draw(st.booleans()):
        found["sources"] = {f"s{draw(NAME)}": draw(some({"note": ODD, "earthed": st.booleans()}))}
    if draw(st.booleans()):
        ends = {name: ["in", "gnd"] for name in parts}
        found["sketch"] = {"input": "in", "between": ends, **draw(some({"ground": st.just("gnd")}))}
        if draw(st.booleans()):
            places = {name: [*draw(SPOT), draw(st.sampled_from([0, 90]))] for name in parts}
            found["sketch"]["drawing"] = {"parts": places, **draw(DRAWN)}
    readings = [
        {
            "kind": "resistance",
            "part": draw(st.sampled_from(parts)),
            "value": draw(WAITS),
            **draw(some({**SAID, "wires": st.just(2), "leads": WAITS})),
        }
        for _ in range(draw(st.integers(0, 4)))
    ]
    for k, reading in enumerate(readings):
        if draw(st.booleans()):
            reading["name"] = f"{draw(NAME)} {k}"
    return {**found, **({"readings": readings} if readings else {})}


class Writer:
    """Writes TOML in ways that a person might, or might not."""

    def __init__(self, draw: Callable[..., Any]) -> None:
        self._draw = draw

    def text(self, raw: Mapping[str, Any]) -> str:
        """A whole sheet."""
        return "\n".join(self._lines(raw)) + "\n"

    def _lines(self, raw: Mapping[str, Any]) -> Iterator[str]:
        tables = [key for key, value in raw.items() if isinstance(value, dict | list)]
        for key in raw:
            if key not in tables:
                yield f"{self._key(key)}={self._value(raw[key])}"
        for key in tables:
            held = raw[key]
            if isinstance(held, list):
                for one in held:
                    yield f"[[ {self._key(key)} ]] # more"
                    yield from self._pairs(one)
            elif self._draw(st.booleans()):
                yield f"[{key}]"
                yield from self._pairs(held)
            else:
                inner = {name: one for name, one in held.items() if isinstance(one, dict) and one}
                yield f"[{key}]"
                yield from self._pairs({k: v for k, v in held.items() if k not in inner})
                for name, one in inner.items():
                    yield f"[{self._key(key)}.{self._key(name)}]"
                    yield from self._pairs(one)

    def _pairs(self, table: Mapping[str, Any]) -> Iterator[str]:
        for key, value in table.items():
            yield f"{self._key(key)} = {self._value(value)}"

    def _key(self, key: str) -> str:
        bare = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
        return key if bare and self._draw(st.booleans()) else _basic(key)

    def _value(self, value: Any) -> str:
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, dict):
            return "{" + ", ".join(self._pairs(value)) + "}"
        if value == []:
            return "[ # none\n]"
        if isinstance(value, list):
            return "[\n  " + ",\n  ".join(map(self._value, value)) + ", # and\n]"
        return self._string(value) if isinstance(value, str) else str(value)

    def _string(self, text: str) -> str:
        plain = all(one == "\t" or (one >= " " and one != "\x7f") for one in text)
        lines = all(one in "\t\n" or (one >= " " and one != "\x7f") for one in text)
        ways = [_basic(text)]
        if plain and "'" not in text:
            ways.append(f"'{text}'")
        if lines and "'" not in text:
            ways.append(f"'''\n{text}'''")
        if lines and '"' not in text and "\\" not in text:
            ways.append(f'"""\n{text}"""')
        return str(self._draw(st.sampled_from(ways)))


def _basic(text: str) -> str:
    escapes = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}
    return '"' + "".join(escapes.get(one, _escaped(one)) for one in text) + '"'


def _escaped(letter: str) -> str:
    code = ord(letter)
    if code > 0xFFFF:
        return f"\\U{code:08X}"
    return f"\\u{code:04X}" if code < 32 or code > 126 else letter


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    with Notebook.new(tmp_path_factory.mktemp("sheets") / "bench.ohmbook") as made:
        yield made


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_sheet_that_was_taken_in_comes_out_equal(book: Notebook, data: st.DataObject) -> None:
    raw = data.draw(sheets())
    text = Writer(data.draw).text(raw)
    assert tomllib.loads(text) == raw  # the writer of this test can write
    try:
        sheet = ohmbook.read_sheet(text=text)
    except SheetError as error:
        raise AssertionError(f"{error}\n{text}") from error
    board = f"board {len(book.history())}"
    book.take_in(board, text)
    out = book.text(board)
    assert tomllib.loads(out) == raw
    assert book.sheet(board) == sheet
    assert book.sheet(board).waiting == sheet.waiting
    book.take_in(f"{board}, again", out)
    assert book.text(f"{board}, again") == out


def test_all_of_them_through_an_archive(book: Notebook, tmp_path: Path) -> None:
    """What the search above left in the notebook goes into an archive and comes back, to the
    byte."""
    if not book.boards():
        book.take_in("left", '[parts]\nR1 = { kind = "resistor", note = "\\u0000\\r" }\n')
    archive(book, tmp_path / "bench.zip")
    unpack(tmp_path / "bench.zip", tmp_path / "again.ohmbook")
    with Notebook.open(tmp_path / "again.ohmbook") as again:
        assert again.boards() == book.boards()
        assert [again.plain(one) for one in again.boards()] == [
            book.plain(one) for one in book.boards()
        ]
        archive(again, tmp_path / "again.zip")
    assert (tmp_path / "bench.zip").read_bytes() == (tmp_path / "again.zip").read_bytes()


VALUES = st.recursive(
    st.booleans()
    | st.integers()
    | st.floats(allow_nan=False)
    | st.text()
    | st.dates()
    | st.times().map(lambda one: one.replace(fold=0))
    | st.datetimes().map(lambda one: one.replace(fold=0))
    | st.datetimes(timezones=st.just(datetime.UTC)).map(lambda one: one.replace(fold=0)),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text() | st.sampled_from(["$date", "$$date", "$time", "$datetime", "$"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=8,
)


@given(VALUES)
def test_a_body_says_what_it_was_given(value: Any) -> None:
    found = from_body(to_body(value))
    assert found == value
    assert repr(found) == repr(value)
