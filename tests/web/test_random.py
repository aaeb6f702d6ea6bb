"""A thousand random bodies for every endpoint that the app has, whoever added it: no fault of the
program's own, and nothing written unless the body was right."""

from __future__ import annotations

import os
import re
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import quote, urlencode

import pytest
from fastapi import FastAPI

from ohmbook.web.app import make_app, unguarded
from ohmbook.web.door import Door
from ohmbook.web.incoming import UPLOAD
from ohmbook.web.openbook import OpenBook
from ohmbook.web.pages import common
from ohmbook.web.passes import Passes
from tests.web.asking import HOST, Answer, Asking, Endpoint, endpoints
from tests.web.bodies import Bodies
from tests.web.conftest import notebook_at

BODIES = 1000
QUESTIONS, FEWEST, LONGEST_S = 60, 5, 1.0
"""Addresses tried of every page that is only looked at: so many; of one that takes its time, fewer,
once it has taken so long."""

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

SEED = None if os.environ.get("OHMBOOK_SEARCH") else 20261125
"""Of the gate; people search elsewhere each time."""


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
def asking(book: OpenBook, monkeypatch: pytest.MonkeyPatch) -> Iterator[Asking]:
    monkeypatch.setattr(common, "LOOK_S", 0.0)
    door = Door(("http://192.168.1.5:8470/",), Passes())
    found = Asking(make_app(book, (HOST,), network=door))
    yield found
    found.close()


def filled(path: str, bodies: Bodies) -> str:
    """A path with its places filled: the board is mostly the one there is."""

    def put(place: re.Match[str]) -> str:
        board = place[1] == "board" and bodies.number() < 10.0
        return quote("example" if board else bodies.text(), safe="")

    return re.sub(r"\{(\w+)\}", put, path)


def sound(answer: Answer, asked: object) -> None:
    """No fault of the program's own, and a refusal says what it is."""
    assert 200 <= answer.status < 500, (asked, answer.body)
    if answer.status >= 400 and answer.headers["content-type"] == "application/json":
        assert answer.told
        assert "Traceback" not in answer.told


@pytest.mark.parametrize(
    "one", [one for one in EVERY if one.method == "POST"], ids=lambda one: str(one.path)
)
def test_random_bodies(book: OpenBook, asking: Asking, one: Endpoint) -> None:
    bodies, seen = Bodies(SCHEMAS, Random(SEED)), Counter[int]()
    kinds: dict[str, str] = {} if one.body is not None else {"content_type": UPLOAD}
    for number in range(BODIES):
        body = bodies.text().encode() if one.body is None else bodies.of(one.body)
        path, before = filled(one.path, bodies), book.last()
        told = (number, path, str(body)[:2000])
        try:
            answer = asking.post(path, body, **kinds)
        except Exception as error:
            raise AssertionError(told) from error
        sound(answer, told)
        seen[answer.status] += 1
        if answer.status >= 400:
            assert book.last() == before, (*told, answer.told)
    assert seen[404] + seen[405] < 0.7 * BODIES, f"hardly anything was let in: {seen}"


@pytest.mark.parametrize(
    "one", [one for one in EVERY if one.method == "GET"], ids=lambda one: str(one.path)
)
def test_random_questions(book: OpenBook, asking: Asking, one: Endpoint) -> None:
    bodies, before = Bodies(SCHEMAS, Random(SEED)), book.last()
    begun = time.process_time()
    for number in range(QUESTIONS):
        if number >= FEWEST and time.process_time() - begun > LONGEST_S:
            break
        asked = {name: bodies.text() for name in (*one.asked, bodies.text())[: number % 4]}
        path = filled(one.path, bodies) + ("?" + urlencode(asked) if asked else "")
        sound(asking.get(path), path)
    assert book.last() == before


def test_there_is_something_to_try() -> None:
    assert {one.path for one in EVERY} >= {"/", "/api/boards", "/api/undo", "/api/network/enter"}


def test_the_search_can_fail(book: OpenBook, asking: Asking, monkeypatch: Any) -> None:
    """A fault of the program's own is found."""
    monkeypatch.setattr(OpenBook, "do", lambda *_: 1 / 0)
    undo = next(one for one in EVERY if one.path == "/api/undo")
    with pytest.raises(AssertionError):
        test_random_bodies(book, asking, undo)
