"""Script in every name and text that the notebook takes: shown as written, and never run."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from random import Random
from urllib.parse import quote

import pytest
from playwright.sync_api import Error, Page

from ohmbook.notebook.notebook import Notebook
from ohmbook.web.app import unguarded
from tests.web.asking import endpoints
from tests.web.bodies import Bodies
from tests.web.conftest import Served, notebook_at, start

SCRIPTS = (
    "<img src=x onerror=broken()>",
    "\"'><script>broken()</script>",
    "</script><script>broken()</script>",
    "javascript:broken()//${broken()}{{broken()}}",
)
PART = "<img src=x onerror=broken()>"
NODE = "n<svg/onload=broken()>"
SOURCE = "g<img src=y onerror=broken()>"


def _sheet() -> str:
    one, two, part, node, source = map(json.dumps, (*SCRIPTS[1:3], PART, NODE, SOURCE))
    return f"""
title = {one}
defaults = {{ source = {source}, instrument = "scope" }}
sketch = {{ input = "in", ground = "gnd" }}
[sources.{source}]
resistance = "50 ohm ± 5 %"
open = "4 Vpp"
[instruments.scope]
kind = "oscilloscope"
like = "entry-level scope"
[instruments.meter]
kind = "multimeter"
like = "cheap multimeter"
[parts]
R1 = {{ kind = "resistor", marking = "8R2", between = [{node}, "gnd"] }}
[parts.{part}]
kind = "inductor"
between = ["in", {node}]
note = {one}
[[readings]]
kind = "amplitude ratio"
name = {one}
note = {two}
part = {part}
frequency = "5.6 kHz"
half_of = "4 Vpp"
[[readings]]
kind = "resistance"
part = "R1"
instrument = "meter"
value = "?"
note = {two}
"""


class Hostile(Bodies):
    """Bodies as they are asked for, with script in every text."""

    def text(self) -> str:
        return self._chance.choice((*SCRIPTS, PART, NODE))


@pytest.fixture
def hostile(tmp_path: Path) -> Iterator[Served]:
    path = notebook_at(tmp_path / "x&<b>'.ohmbook", **{SCRIPTS[0]: _sheet()})
    with Notebook.open(path) as book:
        book.begin_board(SCRIPTS[1].replace("/", "|"))
    served = start(path)
    yield served
    served.stop()


def test_nothing_that_is_typed_is_run(hostile: Served, page: Page, stays_here: list[str]) -> None:
    run: list[str] = []
    page.expose_function("broken", lambda: run.append(page.url))
    page.on("dialog", lambda one: run.append(one.message))
    page.on("console", lambda one: _blocked(one.text, run))
    every = list(endpoints(unguarded(hostile.book)))
    shown = 0
    for one in every:
        if one.method != "GET" or one.path.startswith("/api/") or one.path == "/events":
            continue
        try:
            page.goto(hostile.url(_filled(one.path)))
        except Error as error:  # a file, which the browser saves instead of showing it
            if "Download is starting" not in error.message:
                raise
            continue
        page.wait_for_timeout(250)
        shown += "onerror=broken()" in page.locator("body").inner_text()
    assert shown >= 3, "the script is not even shown: it is not tried"
    chance = Random(20261125)
    bodies = Hostile(unguarded(hostile.book).openapi()["components"]["schemas"], chance)
    page.goto(hostile.address)
    for one in every:
        if one.method != "POST" or one.body is None:
            continue
        for _ in range(3):
            page.evaluate(
                """async ([url, body]) => {
                const { tell } = await import("/static/js/outbox.js");
                const answer = await fetch(url, {method: "POST", body: JSON.stringify(body),
                  headers: {"content-type": "application/json"}});
                const found = await answer.json();
                if (found.told) tell(found.told);
                }""",
                [_filled(one.path), bodies.right(one.body)],
            )
    with hostile.book.reading() as book:
        boards = book.boards()
    for board in boards:
        for name in ("parts", "reading", "sketch", "behaviour", "plan", "history"):
            page.goto(hostile.url(f"/b/{quote(board, safe='')}/{name}"))
            page.wait_for_timeout(80)
    assert run == []


def _filled(path: str) -> str:
    names = {"board": SCRIPTS[0], "part": PART}
    return re.sub(r"\{(\w+)\}", lambda one: quote(names.get(one[1], PART), safe=""), path)


def _blocked(text: str, run: list[str]) -> None:
    """The policy stopped it: then it had got into the page as script."""
    if "Content Security Policy" in text or "Refused to" in text:
        run.append(text)
