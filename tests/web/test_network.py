"""The bench's network: shut unless asked for, and then behind a pass that is good once."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from ohmbook.errors import CallError
from ohmbook.job.demo import demo_text
from ohmbook.web import network, passes
from ohmbook.web.app import make_app, unguarded
from ohmbook.web.door import Door
from ohmbook.web.openbook import OpenBook
from ohmbook.web.passes import LETTERS, Passes, WrongPassError
from tests.web.asking import Asking, endpoints
from tests.web.conftest import PHONE, Served, notebook_at, start

THERE = "192.168.1.5:8470"
OF_THERE = {"host": THERE, "origin": f"http://{THERE}", "content-type": "application/json"}
AT = "127.0.0.2"
"""Stands for the bench's network: this machine's, but not the address that is trusted."""


class Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


# The pass


def test_a_pass_lets_one_device_in_once(clock: Clock) -> None:
    held = Passes(clock)
    word = held.fresh()
    assert len(word) == 8
    assert set(word) <= set(LETTERS)
    assert not set("0O1IL") & set(LETTERS)
    token = held.enter(f" {word[:4].lower()}-{word[4:]} ", "192.168.1.9", "phone")
    assert held.known(token)
    assert not held.known(token + "x")
    assert held.shown() is None
    with pytest.raises(WrongPassError):
        held.enter(word, "192.168.1.10", "other")
    assert [one.address for one, _ in held.guests()] == ["192.168.1.9"]


def test_nothing_typed_is_no_pass(clock: Clock) -> None:
    held = Passes(clock)
    for typed in ("", " ", "0"):
        clock.now_s += 100.0
        with pytest.raises(WrongPassError):
            held.enter(typed, "", "")


def test_wrong_passes_are_waited_for_and_then_void(clock: Clock) -> None:
    held = Passes(clock)
    word = held.fresh()
    waits = []
    for _ in range(passes.TRIES - 1):
        with pytest.raises(WrongPassError) as no:
            held.enter("AAAAAAAA", "", "")
        waits.append(no.value.wait_s)
        with pytest.raises(WrongPassError):
            held.enter(word, "", "")  # too early: not even looked at
        clock.now_s += no.value.wait_s
    assert waits == [1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0, 30.0, 30.0]
    assert held.shown() == word
    with pytest.raises(WrongPassError) as no:
        held.enter("AAAAAAAA", "", "")
    assert no.value.void
    assert held.shown() is None
    # ten tries at 29^8 passes
    assert passes.TRIES / len(LETTERS) ** passes.LENGTH < 1e-10


def test_passes_and_devices_grow_old_and_are_ended(clock: Clock) -> None:
    held = Passes(clock)
    word = held.fresh()
    clock.now_s = passes.PASS_S
    assert held.shown() is None
    with pytest.raises(WrongPassError):
        held.enter(word, "", "")
    clock.now_s += 60.0
    first, second = (held.enter(held.fresh(), "", "") for _ in range(2))
    assert held.end(1)
    assert not held.end(1)
    assert (held.known(first), held.known(second)) == (False, True)
    clock.now_s += passes.GUEST_S
    assert not held.known(second)
    assert held.guests() == ()


# The door


@pytest.fixture
def book(tmp_path: Path) -> Iterator[OpenBook]:
    found = OpenBook(notebook_at(tmp_path / "net.ohmbook", example=demo_text()))
    yield found
    found.close()


@pytest.fixture
def held() -> Passes:
    return Passes()


@pytest.fixture
def outside(book: OpenBook, held: Passes) -> Iterator[Asking]:
    door = Door((f"http://{THERE}/",), held)
    asking = Asking(make_app(book, ("127.0.0.1:8470",), network=door), near=False)
    yield asking
    asking.close()


def test_without_the_pass_nothing_of_the_notebook_is_seen(book: OpenBook, outside: Asking) -> None:
    for one in endpoints(unguarded(book)):
        path = re.sub(r"\{\w+\}", "example", one.path)
        if path == "/api/network/enter":
            continue
        answer = outside.ask(one.method, path, b"{}" if one.method == "POST" else None, OF_THERE)
        assert answer.status in (401, 404), path
        assert b"example" not in answer.body
        assert b"net.ohmbook" not in answer.body
    for path in ("/static/js/api.js", "/nothing"):
        assert outside.ask("GET", path, None, OF_THERE).status == 401
    for path in ("/static/css/base.css", "/static/js/pass.js", "/static/vendor/next.woff2"):
        assert outside.ask("GET", path, None, OF_THERE).status == 200
    assert book.last() == 1


def test_with_it_all_but_the_panel(book: OpenBook, outside: Asking, held: Passes) -> None:
    word = held.fresh()
    answer = outside.ask("POST", "/api/network/enter", b'{"word": "%s"}' % word.encode(), OF_THERE)
    assert answer.status == 200
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    shown = {**OF_THERE, "cookie": "theme=dark; " + cookie.split(";")[0]}
    page = outside.ask("GET", "/", None, shown)
    assert page.status == 200
    assert b"example" in page.body
    assert b'href="/network"' not in page.body
    for path in ("/network", "/api/network", "/network/"):
        assert outside.ask("GET", path, None, shown).status == 404
    for path in ("/api/network/pass", "/api/network/end"):
        assert outside.ask("POST", path, b"{}", shown).status == 404
    assert outside.ask("POST", "/api/boards", b'{"name": "a"}', shown).status == 200
    evil = {**shown, "origin": "http://192.168.1.66"}
    assert outside.ask("POST", "/api/boards", b'{"name": "b"}', evil).status == 403
    assert outside.ask("GET", "/", None, {**shown, "host": "127.0.0.1:8470"}).status == 421
    held.end(1)
    assert outside.ask("GET", "/", None, shown).status == 401
    assert outside.ask("POST", "/api/undo", b"{}", shown).status == 401
    assert book.last() == 2


def test_a_wrong_pass_is_told_and_slowed(outside: Asking, held: Passes) -> None:
    held.fresh()
    answers = [
        outside.ask("POST", "/api/network/enter", b'{"word": "AAAA AAAA"}', OF_THERE)
        for _ in range(3)
    ]
    assert [one.status for one in answers] == [429] * 3
    assert "1 s" in answers[0].told


def test_this_machine_is_not_asked_for_a_pass_and_cannot_be_feigned(
    book: OpenBook, held: Passes
) -> None:
    door = Door((f"http://{THERE}/",), held)
    asking = Asking(make_app(book, ("127.0.0.1:8470",), network=door))
    assert asking.get("/network").status == 200
    assert asking.get("/network", host=THERE).status == 421
    asking.near = False
    for name in ("x-forwarded-for", "forwarded", "x-real-ip", "client-ip"):
        assert asking.ask("GET", "/", None, {"host": THERE, name: "127.0.0.1"}).status == 401
    asking.close()


def test_without_network_nothing_listens_elsewhere(empty: Served) -> None:
    with pytest.raises(OSError, match="refused"):
        socket.create_connection((AT, empty.port), 2)


def test_addresses_are_of_the_house_or_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "_by_road", lambda: ["192.168.1.5"])
    monkeypatch.setattr(network, "_by_name", lambda: ["127.0.1.1", "203.0.114.7", "192.168.1.5"])
    assert network.addresses() == ("192.168.1.5",)
    monkeypatch.setattr(network, "_by_road", lambda: ["203.0.114.7"])
    monkeypatch.setattr(network, "_by_name", list)
    with pytest.raises(CallError, match="no network of the house"):
        network.addresses()


def test_a_phone_comes_in_by_the_code_and_is_ended(tmp_path: Path, browser: Browser) -> None:
    served = start(notebook_at(tmp_path / "n.ohmbook", example=demo_text()), 0, [AT])
    of_phone: dict[str, Any] = PHONE
    there = f"http://{AT}:{served.port}/"
    laptop, phone = browser.new_page(), browser.new_context(**of_phone).new_page()
    asked: list[str] = []
    phone.on("request", lambda one: asked.append(one.url))
    laptop.goto(served.address)
    laptop.get_by_role("link", name="Use your phone").click()
    expect(laptop.get_by_text("Use one that you trust")).to_be_visible()
    expect(laptop.get_by_text("No pass is shown now")).to_be_visible()
    expect(laptop.get_by_text("No device.")).to_be_visible()
    laptop.get_by_role("button", name="Show a new pass").click()
    expect(laptop.get_by_role("img", name=there).locator("svg")).to_be_visible()
    word = laptop.locator("#word").inner_text().replace(" ", "")

    phone.goto(there + "b/example")
    phone.get_by_label("Pass").fill("wrong")
    phone.get_by_role("button", name="Go in").click()
    expect(phone.get_by_role("alert")).to_contain_text("not the pass")
    phone.wait_for_timeout(1100)
    phone.goto("about:blank")
    phone.goto(network.link_of(there, word))
    expect(phone.get_by_role("link", name="example")).to_be_visible()
    assert word not in phone.url
    assert not any(word in one.partition("#")[0] for one in asked)
    # as the page's own buttons write, over plain HTTP
    made = phone.evaluate(
        """async () => (await import("/static/js/outbox.js")).post(
            "/api/boards", {name: "from the phone"})"""
    )
    assert made["act"] == 2

    expect(laptop.get_by_text("No pass is shown now")).to_be_visible()
    laptop.get_by_role("button", name=re.compile("^End it for")).click()
    expect(laptop.get_by_text("No device.")).to_be_visible()
    phone.goto(there)
    expect(phone.get_by_label("Pass")).to_be_visible()
    phone.context.close()
    laptop.context.close()
    served.stop()


def test_the_code_is_drawn_without_style(held: Passes) -> None:
    svg = network.code_of("http://192.168.1.5:8470/#ABCDEFGH")
    assert svg.startswith("<svg")
    assert "style" not in svg
    assert "http" not in svg
