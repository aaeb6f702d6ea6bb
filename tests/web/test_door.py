"""What comes in by the door, and what does not.

Host and Origin checks: OWASP's Cross-Site Request Forgery Prevention cheat sheet; framing and
content types: the same collection's pages on content security policy and HTTP headers; messages on
the wire: RFC 9112.
"""

from __future__ import annotations

import http.server
import json
import socket
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from ohmbook.job.demo import demo_text
from ohmbook.web import incoming
from ohmbook.web.app import make_app, unguarded
from ohmbook.web.openbook import OpenBook
from tests.web.asking import HOST, OWN, Asking, endpoints
from tests.web.conftest import Served, notebook_at

BEGIN = {"name": "mine"}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[OpenBook]:
    found = OpenBook(notebook_at(tmp_path / "door.ohmbook", example=demo_text()))
    yield found
    found.close()


@pytest.fixture
def door(book: OpenBook) -> Iterator[Asking]:
    asking = Asking(make_app(book, (HOST, "localhost:8470")))
    yield asking
    asking.close()


def test_the_own_page_may_write(book: OpenBook, door: Asking) -> None:
    assert door.post("/api/boards", BEGIN, sec_fetch_site="same-origin").status == 200
    assert book.last() == 2


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "evil.example:8470"},
        {"host": "127.0.0.1:9999"},
        {"host": "127.0.0.1"},
        {"host": ""},
        {"host": f"{HOST}."},
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "http://localhost:8470"},
        {"origin": f"https://{HOST}"},
        {"origin": "null"},
        {"origin": ""},
        {"origin": f"http://{HOST}.evil.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
        {"content-type": "text/plain"},
        {"content-type": "application/x-www-form-urlencoded"},
        {"content-type": "multipart/form-data; boundary=x"},
        {"content-type": ""},
        {"content-type": "application/jsonp"},
        {"content-encoding": "gzip"},
    ],
    ids=str,
)
def test_nobody_else_may(book: OpenBook, door: Asking, headers: dict[str, str]) -> None:
    answer = door.ask("POST", "/api/boards", json.dumps(BEGIN).encode(), {**OWN, **headers})
    assert 400 <= answer.status < 500
    assert answer.told
    assert book.last() == 1


def test_every_endpoint_that_writes_is_behind_the_same_door(book: OpenBook, door: Asking) -> None:
    written = [one for one in endpoints(unguarded(book)) if one.method != "GET"]
    assert written
    for one in written:
        assert one.method == "POST", f"{one.path}: the door lets nothing else in"
        for change in ({"origin": "http://evil.example"}, {"origin": ""}, {"host": "evil"}):
            assert door.ask("POST", one.path, b"{}", {**OWN, **change}).status in (403, 421)
        assert (
            door.ask("POST", one.path, b"{}", {**OWN, "content-type": "text/plain"}).status == 415
        )


def test_every_body_refuses_unknown_keys(book: OpenBook) -> None:
    app = unguarded(book)
    schemas = app.openapi()["components"]["schemas"]
    asked = [one.body["$ref"].rsplit("/", 1)[1] for one in endpoints(app) if one.body]
    assert asked
    left, seen = list(asked), set()
    while left:
        name = left.pop()
        if name in seen:
            continue
        seen.add(name)
        told = schemas[name]
        if told.get("type") == "object":
            assert told.get("additionalProperties") is False, name
        left += _referred(told)


def _referred(told: Any) -> list[str]:
    if isinstance(told, dict):
        own = [told["$ref"].rsplit("/", 1)[1]] if "$ref" in told else []
        return own + [name for held in told.values() for name in _referred(held)]
    return [name for held in told for name in _referred(held)] if isinstance(told, list) else []


@pytest.mark.parametrize(
    ("mode", "into", "status"),
    [
        ("navigate", "document", 200),
        ("navigate", "iframe", 403),
        ("no-cors", "script", 403),
        ("no-cors", "image", 403),
        ("cors", "empty", 403),
    ],
)
def test_another_page_may_lead_here_and_nothing_else(
    door: Asking, mode: str, into: str, status: int
) -> None:
    for site in ("cross-site", "same-site"):
        answer = door.get("/", sec_fetch_site=site, sec_fetch_mode=mode, sec_fetch_dest=into)
        assert answer.status == status


@pytest.mark.parametrize("path", ["/", "/static/css/base.css", "/nothing", "/api/nothing", "/b/x"])
def test_every_answer_forbids_what_it_can(door: Asking, path: str) -> None:
    answer = door.get(path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["x-frame-options"] == "DENY"
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("method", ["OPTIONS", "PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "X"])
def test_other_methods_are_told_so(book: OpenBook, door: Asking, method: str) -> None:
    answer = door.ask(method, "/api/boards", b"", OWN)
    assert (answer.status, answer.headers["allow"]) == (405, "GET, HEAD, POST")
    assert answer.told
    assert book.last() == 1


@pytest.mark.parametrize(
    "name", ["host", "origin", "content-type", "content-length", "cookie", "sec-fetch-site"]
)
def test_a_header_that_stands_there_twice_is_refused(door: Asking, name: str) -> None:
    pairs = [*OWN.items(), (name, OWN.get(name, "1")), (name.title(), "2")]
    answer = door.raw("POST", "/api/boards", pairs, [b"{}"])
    assert answer.status == 400
    assert name in answer.told


PATHS = (
    "/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static/%2e%2e%2fapp.py",
    "/static/css/../../app.py", "/static/..\\app.py", "/static/..%5capp.py", "/static//app.py",
    "/static/%00", "/static/css/base.css%00.html", "/static/.hidden", "/static/css/.%2e/x",
    "/static/%252e%252e/app.py", "/static/css", "/static/", "/static", "/static/" + "a" * 5000,
    "/static/%c0%ae%c0%ae/app.py", "/static/%ff", "/static//etc/passwd", "/static/%2fetc/passwd",
    "/static/../templates/base.html", "/b/%00/parts", "/b/%ff", "/b/" + "%41" * 3000, "//",
    "//evil",
    "http://evil.example/", "*", "/b/%2e%2e/parts", "/b/..%2f..%2fetc%2fpasswd/parts",
    "/%0d%0aX:%201",
    "/b/example%0a", "/STATIC/css/base.css", "/static/js/%2e%2e/css/x",
)  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_paths_lead_nowhere_else(door: Asking, path: str) -> None:
    answer = door.get(path)
    assert 400 <= answer.status < 500
    assert b"def " not in answer.body
    assert b"{% " not in answer.body
    assert b"root:" not in answer.body


def test_bodies_are_limited_while_they_come_in(book: OpenBook, door: Asking) -> None:
    large = b'{"name": "' + b"x" * 1_000_000
    for pieces in ([large, b"x" * 1_500_000 + b'"}'], [large] * 9):
        answer = door.raw("POST", "/api/boards", list(OWN.items()), pieces)
        assert answer.status == 413
        assert "2 MB" in answer.told
    file = {**OWN, "content-type": incoming.UPLOAD}
    assert door.raw("POST", "/api/boards", list(file.items()), [large] * 26).status == 413
    assert book.last() == 1


def test_a_body_that_does_not_come_is_not_waited_for(
    door: Asking, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(incoming, "SILENT_S", 0.05)

    async def never(scope: Any, receive: Any, send: Any) -> None:
        async def silent() -> Any:
            await never_set.wait()

        import asyncio

        never_set = asyncio.Event()
        await inner(scope, silent, send)

    inner, door.app = door.app, never
    assert door.post("/api/boards", BEGIN).status == 408


def test_a_body_that_breaks_off_is_nothing(book: OpenBook, door: Asking) -> None:
    assert door.raw("POST", "/api/boards", list(OWN.items()), []).status == 400
    assert book.last() == 1


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"nothing", b'{"name": NaN}', b'{"name": "\\ud800"}', b'{"name": "\xff"}',
        b'{"name": "a\\u0000b"}', b'{"after": 1e999}', b'{"after": 1' + b"0" * 5000 + b"}",
        b'{"after": 100000000000000000000, "name": "a"}', b"[" * 100_000,
        b'{"name": ' + b"[" * 50 + b"]" * 50 + b"}", b'{"name": "a", "name": "b"}',
        b'{"name": "a", "more": 1}', b'{"name": 1}', b'{"name": ["a"]}', b'[{"name": "a"}]',
        b'"name"', b"null", b'{"name": "a", "demo": 1}', b'{"name": "a", "after": "1"}',
        b'{"name": "a", "after": -1}', b'{"name": ""}', b'{"name": "' + b"a" * 201 + b'"}',
        b'{"name": "a", "sheet": 7}', b'\xef\xbb\xbf{"name": "a"}',
    ],
)  # fmt: skip
def test_a_body_of_the_wrong_kind_writes_nothing(book: OpenBook, door: Asking, body: bytes) -> None:
    answer = door.post("/api/boards", body)
    assert answer.status == 422
    assert answer.told
    assert book.last() == 1


def test_a_file_where_json_is_expected_writes_nothing(book: OpenBook, door: Asking) -> None:
    for path in (one.path for one in endpoints(unguarded(book)) if one.body):
        answer = door.post(path, b"\x89PNG\x00\xff", content_type=incoming.UPLOAD)
        assert answer.status == 422, path
        assert answer.told
    assert book.last() == 1


def test_a_question_brings_nothing_along(door: Asking) -> None:
    assert door.ask("GET", "/", b"{}", {"host": HOST, "content-length": "2"}).status == 400


def test_a_fault_of_the_programs_own_is_one_sentence(
    door: Asking, book: OpenBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> Any:
        raise RuntimeError("a secret of the inside")

    monkeypatch.setattr(OpenBook, "reading", broken)
    monkeypatch.setattr(OpenBook, "do", broken)
    found = []
    for ask in (partial(door.get, "/"), partial(door.post, "/api/undo", {})):
        answers: list[Any] = []
        app = door.app
        door.app = _swallowing(app, answers)
        found.append(ask())
        door.app = app
        assert [type(one) for one in answers] == [RuntimeError]  # the server logs it
    assert [one.status for one in found] == [500, 500]
    assert b"secret" not in found[0].body + found[1].body
    assert b"nothing was written" in found[0].body
    assert "nothing was written" in found[1].told


def _swallowing(app: Any, seen: list[Any]) -> Any:
    async def asked(scope: Any, receive: Any, send: Any) -> None:
        try:
            await app(scope, receive, send)
        except RuntimeError as error:
            seen.append(error)

    return asked


# On the wire

WRITE = json.dumps(BEGIN).encode()


def _wire(served: Served, text: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", served.port), 5) as line:
        line.sendall(text)
        found = b""
        while piece := line.recv(65_536):
            found += piece
        return found


@pytest.mark.parametrize(
    ("head", "status"),
    [
        (b"GET / HTTP/1.0\r\n\r\n", b"421"),
        (b"GET / HTTP/1.1\r\n\r\n", b"400"),
        (b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n", b"400"),
        (b"GET http://evil.example/ HTTP/1.1\r\nHost: %h\r\n\r\n", b"400"),
        (b"GET / HTTP/1.1\r\nHost: %h\r\nHost: %h\r\n\r\n", b"400"),
        (b"GET / HTTP/1.1\r\nHost: %h\r\nX-Forwarded-Host: evil\r\n\r\n", b"200"),
        (b"GET /" + b"a" * 20_000 + b" HTTP/1.1\r\nHost: %h\r\n\r\n", b"404"),
        (b"HEAD /static/mark.svg HTTP/1.1\r\nHost: %h\r\n\r\n", b"200"),
        (b"TRACE / HTTP/1.1\r\nHost: %h\r\n\r\n", b"405"),
        (b"nonsense\r\n\r\n", b"400"),
    ],
)
def test_odd_messages(empty: Served, head: bytes, status: bytes) -> None:
    host = f"127.0.0.1:{empty.port}".encode()
    text = head.replace(b"%h", host).replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")
    answer = _wire(empty, text)
    assert answer.split(b" ", 2)[1] == status
    assert b"Traceback" not in answer


def test_a_body_in_chunks_is_a_body_and_two_lengths_are_none(empty: Served) -> None:
    host = f"127.0.0.1:{empty.port}"
    head = (
        f"POST /api/boards HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
        "Content-Type: application/json\r\nConnection: close\r\n"
    ).encode()
    chunked = b"".join(b"1\r\n%c\r\n" % one for one in WRITE) + b"0\r\n\r\n"
    two = b"Content-Length: 3\r\nContent-Length: 4\r\n\r\nabcd"
    assert b" 400 " in _wire(empty, head + two).split(b"\r\n")[0]
    assert empty.book.last() == 0
    answer = _wire(empty, head + b"Transfer-Encoding: chunked\r\n\r\n" + chunked)
    assert b" 200 " in answer.split(b"\r\n")[0]
    with empty.book.reading() as notebook:
        assert notebook.boards() == ("mine",)


# An attacker's page in the same browser

ATTACK = """<!doctype html><title>other</title>
<iframe id="frame" src="{us}"></iframe><script src="{us}words.js"></script>
<form id="plain" method="post" enctype="text/plain" action="{us}api/boards" target="a">
<input name='{{"name":"stolen","x":"' value='"}}'></form>
<form id="coded" method="post" action="{us}api/boards" target="b">
<input name="name" value="s"></form>
<form id="parts" method="post" enctype="multipart/form-data" action="{us}api/undo" target="c">
<input name="a" value="s"></form><iframe name="a"></iframe><iframe name="b"></iframe>
<iframe name="c"></iframe>
<script>
for (const one of document.forms) one.submit();
window.tried = Promise.allSettled([
  fetch("{us}api/boards", {{method: "POST", mode: "no-cors", body: '{{"name":"stolen"}}'}}),
  fetch("{us}api/boards", {{method: "POST", body: '{{"name":"stolen"}}',
    headers: {{"content-type": "application/json"}}}}),
  fetch("{us}api/undo", {{method: "POST", mode: "no-cors", keepalive: true,
    body: new Blob(["{{}}"], {{type: "text/plain"}})}}),
  fetch("{us}"), fetch("{us}api/undo", {{method: "DELETE"}}),
]).then((all) => all.map((one) => one.status));
navigator.sendBeacon("{us}api/undo", "{{}}");
</script>"""


def test_a_page_of_another_server_writes_and_frames_nothing(demo: Served, page: Page) -> None:
    html = ATTACK.format(us=demo.address).encode()

    class Attacker(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(html)

        def log_message(self, *_: Any) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Attacker) as other:
        threading.Thread(target=other.serve_forever, daemon=True).start()
        seen: dict[str, int] = {}
        page.on(
            "response", lambda one: seen.update({f"{one.request.method} {one.url}": one.status})
        )
        page.goto(f"http://127.0.0.1:{other.server_port}/")
        tried = page.evaluate("window.tried")
        page.wait_for_timeout(300)
        frame = page.locator("#frame").element_handle().content_frame()
        inside = "" if frame is None else frame.content()
        other.shutdown()
    assert tried == 5 * ["rejected"]
    assert "example" not in inside
    ours = {key: status for key, status in seen.items() if key.split()[1].startswith(demo.address)}
    assert any(key.startswith("POST") for key in ours)
    assert set(ours.values()) <= {403, 405, 415}
    assert demo.book.last() == 1
