"""A thousand random bodies for every endpoint that the app has, whoever added it: no fault of the
program's own, and nothing written unless the body was right."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote, urlencode

import pytest
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from ohmbook.web.app import make_app, unguarded
from ohmbook.web.door import Door
from ohmbook.web.incoming import UPLOAD
from ohmbook.web.openbook import OpenBook
from ohmbook.web.passes import Passes
from tests.web.asking import HOST, Answer, Asking, Endpoint, endpoints
from tests.web.bodies import TEXTS, WORDS, Bodies
from tests.web.conftest import notebook_at

BODIES = 1000
QUESTIONS = 60
"""Addresses tried of every page that is only looked at."""

SMALL = """
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
sketch = { input = "in", ground = "gnd" }
[parts]
L1 = { kind = "inductor", marking = "0.82", between = ["in", "a"] }
R1 = { kind = "resistor", marking = "8R2", between = ["a", "gnd"] }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
half_of = "4 Vpp"
"""
"""A board that is soon worked out."""

LOOK = settings(
    deadline=None,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def _app() -> FastAPI:
    return unguarded(None)  # type: ignore[arg-type]  # only looked at


EVERY = list(endpoints(_app()))
SCHEMAS = _app().openapi()["components"]["schemas"]


@pytest.fixture
def book(tmp_path: Path) -> Iterator[OpenBook]:
    found = OpenBook(notebook_at(tmp_path / "random.ohmbook", example=SMALL))
    yield found
    found.close()


@pytest.fixture
def asking(book: OpenBook) -> Iterator[Asking]:
    door = Door(("http://192.168.1.5:8470/",), Passes())
    found = Asking(make_app(book, (HOST,), network=door))
    yield found
    found.loop.close()


def places(path: str, values: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """A path with its places filled: the board is mostly the one there is."""
    names = re.findall(r"\{(\w+)\}", path)
    board = st.just("example") | st.just("example") | st.just("example") | values
    filled = st.tuples(*(board if one == "board" else values for one in names))

    def put(texts: tuple[str, ...]) -> str:
        made = path
        for name, text in zip(names, texts, strict=True):
            made = made.replace(f"{{{name}}}", quote(text, safe=""))
        return made

    return filled.map(put)


def sound(answer: Answer, path: str) -> None:
    """No fault of the program's own, and a refusal says what it is."""
    assert 200 <= answer.status < 500, (path, answer.body)
    if answer.status >= 400 and path.startswith("/api/"):
        assert answer.told
        assert "Traceback" not in answer.told


@pytest.mark.parametrize(
    "one", [one for one in EVERY if one.method == "POST"], ids=lambda one: str(one.path)
)
def test_random_bodies(book: OpenBook, asking: Asking, one: Endpoint) -> None:
    bodies: st.SearchStrategy[Any] = st.binary(max_size=40)
    if one.body is not None:
        bodies = Bodies(SCHEMAS).of(one.body)
    kinds: dict[str, str] = {} if one.body is not None else {"content_type": UPLOAD}
    seen: dict[int, int] = {}

    @settings(LOOK, max_examples=BODIES)
    @given(bodies, places(one.path, TEXTS))
    def each(body: Any, path: str) -> None:
        before = book.last()
        answer = asking.post(path, body, **kinds)
        sound(answer, path)
        seen[answer.status] = seen.get(answer.status, 0) + 1
        if answer.status >= 400:
            assert book.last() == before, (path, json.dumps(body, default=str), answer.told)

    each()
    assert sum(seen.values()) >= 0.5 * BODIES, seen


@pytest.mark.parametrize(
    "one", [one for one in EVERY if one.method == "GET"], ids=lambda one: str(one.path)
)
def test_random_questions(book: OpenBook, asking: Asking, one: Endpoint) -> None:
    before = book.last()
    values = st.sampled_from(WORDS) | TEXTS
    query = st.dictionaries(st.sampled_from(one.asked) if one.asked else TEXTS, values, max_size=3)

    @settings(LOOK, max_examples=QUESTIONS)
    @given(places(one.path, values), query)
    def each(path: str, asked: dict[str, str]) -> None:
        sound(asking.get(path + ("?" + urlencode(asked) if asked else "")), path)

    each()
    assert book.last() == before


def test_there_is_something_to_try() -> None:
    assert {one.path for one in EVERY} >= {"/", "/api/boards", "/api/undo", "/api/network/enter"}


def test_the_search_can_fail(asking: Asking) -> None:
    """A fault of the program's own would be found."""
    with pytest.raises(AssertionError):
        sound(Answer(500, {}, b"{}"), "/api/x")
