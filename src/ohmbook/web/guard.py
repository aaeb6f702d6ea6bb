"""The door: which requests come in at all, and what every answer forbids the browser.

A page from anywhere can make the same browser call a server on its own machine, so "localhost" is
no fence. Let in is what was asked of this server by its own name (DNS rebinding), and of anything
that writes only what this server's own page sent (cross-site requests), as JSON, not too large.
"""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

JSON_LIMIT = 2_000_000
"""Bytes of a JSON body."""

FILE_LIMIT = 25_000_000
"""Bytes of a file that is attached."""

DEEPEST = 40
"""How deep a JSON body may nest."""

SAFE = ("GET", "HEAD", "OPTIONS")
UPLOAD = "application/octet-stream"
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


class RefusedError(Exception):
    """A request that does not come in: its status and what to tell."""

    def __init__(self, status: int, told: str) -> None:
        super().__init__(told)
        self.status, self.told = status, told


class Guard:
    """Stands before the app.

    Args:
        app: what is let through to.
        hosts: names with port by which this server may be asked, such as "127.0.0.1:8470".
    """

    def __init__(self, app: App, hosts: Iterable[str]) -> None:
        self._app, self._hosts = app, frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        try:
            headers = _headers(scope)
            self._check(scope, headers)
            if scope["method"] not in SAFE:
                receive = await _read_whole(headers, receive)
        except RefusedError as no:
            await _answer(no, send)
            return
        await self._app(scope, receive, _with_headers(send))

    def _check(self, scope: Scope, headers: dict[str, str]) -> None:
        if headers.get("host", "") not in self._hosts:
            raise RefusedError(421, "This server is not asked by that name.")
        if scope["method"] in SAFE:
            return
        origin = headers.get("origin")
        if origin is None or origin not in {f"http://{one}" for one in self._hosts}:
            raise RefusedError(403, "Only this server's own page may write.")
        if headers.get("sec-fetch-site", "same-origin") != "same-origin":
            raise RefusedError(403, "Only this server's own page may write.")


def _headers(scope: Scope) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        if key in {"host", "origin", "content-length", "content-type"} and key in found:
            raise RefusedError(400, f"The header {key} stands there twice.")
        found[key] = value.decode("latin-1")
    return found


async def _read_whole(headers: dict[str, str], receive: Receive) -> Receive:
    """The body, read and looked at, to be handed on in one piece."""
    kind = headers.get("content-type", "").split(";")[0].strip().lower()
    if kind not in ("application/json", UPLOAD):
        raise RefusedError(415, "Expected JSON, or a file's bytes.")
    limit = FILE_LIMIT if kind == UPLOAD else JSON_LIMIT
    told = headers.get("content-length", "")
    if told.isdecimal() and int(told) > limit:
        raise RefusedError(413, f"That is too large; at most {limit / 1e6:g} MB are taken.")
    body = bytearray()
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            raise RefusedError(400, "The request broke off.")
        body += message.get("body", b"")
        if len(body) > limit:
            raise RefusedError(413, f"That is too large; at most {limit / 1e6:g} MB are taken.")
        if not message.get("more_body"):
            break
    if kind != UPLOAD:
        _check_json(bytes(body))
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": bytes(body), "more_body": False}

    return again


def _check_json(body: bytes) -> None:
    """Plain JSON: no NaN, no half characters, not too deep."""
    try:
        found = json.loads(body.decode("utf-8"), parse_constant=_no_constant)
        _walk(found, 0)
    except (ValueError, RecursionError) as error:
        raise RefusedError(422, "That is not plain JSON.") from error


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _walk(value: Any, depth: int) -> None:
    if depth > DEEPEST:
        raise ValueError("too deep")
    if isinstance(value, str):
        if "\0" in value:
            raise ValueError("a zero byte")
        value.encode("utf-8")  # UnicodeEncodeError is a ValueError
    elif isinstance(value, float):
        if value in (float("inf"), float("-inf")):
            raise ValueError("too large a number")
    elif isinstance(value, dict):
        for key, held in value.items():
            _walk(key, depth + 1)
            _walk(held, depth + 1)
    elif isinstance(value, list):
        for one in value:
            _walk(one, depth + 1)


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message["headers"]}
            kept = [one for one in HEADERS if one[0] not in own]
            if b"cache-control" not in own:
                kept.append((b"cache-control", b"no-cache"))
            message = {**message, "headers": [*message["headers"], *kept]}
        await send(message)

    return sending


async def _answer(no: RefusedError, send: Send) -> None:
    body = json.dumps({"told": no.told}).encode()
    kind = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    start = {"type": "http.response.start", "status": no.status, "headers": kind}
    await _with_headers(send)(start)
    await send({"type": "http.response.body", "body": body})
