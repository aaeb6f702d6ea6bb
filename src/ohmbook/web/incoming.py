"""What a request brings along: its headers and its body, looked at before anything is done."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable, MutableMapping
from itertools import chain
from math import isfinite
from typing import Any
from urllib.parse import unquote_to_bytes

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

JSON_LIMIT = 2_000_000
"""Bytes of a JSON body."""

FILE_LIMIT = 25_000_000
"""Bytes of a file that is attached."""

OVER = 4
"""Times its limit that a body too large is still taken off the line, unread, so that the browser
hears why instead of a broken connection."""

DEEPEST = 40
"""How deep a JSON body may nest."""

LARGEST = 2**63
"""What a whole number in JSON stays below."""

SILENT_S = 10.0
"""How long the next piece of a body is waited for, s."""

WHOLE_S = 120.0
"""How long a whole body may take, s."""

UPLOAD = "application/octet-stream"
ONCE = {
    "host", "origin", "content-length", "content-type", "content-encoding", "cookie",
    "transfer-encoding", "sec-fetch-site", "sec-fetch-mode", "sec-fetch-dest",
}  # fmt: skip
"""Headers that stand in a request once: with two, each reader may believe another."""


class RefusedError(Exception):
    """A request that does not come in: its status and what to tell."""

    def __init__(self, status: int, told: str) -> None:
        super().__init__(told)
        self.status, self.told = status, told


def headers_of(scope: Scope) -> dict[str, str]:
    """A request's headers, their names in small letters.

    Raises:
        RefusedError: one stands there twice.
    """
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        if key in ONCE and key in found:
            raise RefusedError(400, f"The header {key} stands there twice.")
        found[key] = value.decode("latin-1")
    return found


def check_path(scope: Scope) -> None:
    """An address is a path of this server, in plain characters.

    Raises:
        RefusedError: it is another server's, or has characters that no address of ours has.
    """
    path: str = scope["path"]
    if not path.startswith("/") or path.startswith("//"):
        raise RefusedError(400, "That is no address of this server.")
    try:
        unquote_to_bytes(scope.get("raw_path") or b"").decode("utf-8")
        plain = not any(ord(one) < 32 or ord(one) == 127 for one in path)
    except UnicodeDecodeError:
        plain = False
    if not plain:
        raise RefusedError(400, "That address has characters that no address has.")
    if path.startswith("/static") and ("\\" in path or "/." in path or "//" in path):
        raise RefusedError(404, "There is no such file.")


async def read_whole(headers: dict[str, str], receive: Receive) -> Receive:
    """The body, read and looked at, to be handed on in one piece.

    Raises:
        RefusedError: it is of another kind, too large, too slow, or no plain JSON.
    """
    kind = headers.get("content-type", "").split(";")[0].strip().lower()
    if kind not in ("application/json", UPLOAD):
        raise RefusedError(415, "Expected JSON, or a file's bytes.")
    if headers.get("content-encoding", "identity").lower() != "identity":
        raise RefusedError(415, "Expected a body that is not packed.")
    body = await _in_time(receive, FILE_LIMIT if kind == UPLOAD else JSON_LIMIT)
    if kind != UPLOAD:
        check_json(body)
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


async def _in_time(receive: Receive, limit: int) -> bytes:
    try:
        async with asyncio.timeout(WHOLE_S):
            return await _pieces(receive, limit)
    except TimeoutError as error:
        raise RefusedError(408, "The request was sent too slowly.") from error


async def _pieces(receive: Receive, limit: int) -> bytes:
    body, size = bytearray(), 0
    while True:
        message = await asyncio.wait_for(receive(), SILENT_S)
        if message["type"] == "http.disconnect":
            raise RefusedError(400, "The request broke off.")
        piece = message.get("body", b"")
        size += len(piece)
        if size <= limit:
            body += piece
        else:
            body.clear()
        if size > OVER * limit or (size > limit and not message.get("more_body")):
            raise RefusedError(413, f"That is too large; at most {limit / 1e6:g} MB are taken.")
        if not message.get("more_body"):
            return bytes(body)


def check_json(body: bytes) -> None:
    """Plain JSON: no NaN, no half characters, no key twice, not too deep.

    Raises:
        RefusedError: it is something else.
    """
    try:
        found = json.loads(
            body.decode("utf-8"), parse_constant=_no_constant, object_pairs_hook=_once_each
        )
        _walk(found, 0)
    except (ValueError, RecursionError) as error:
        raise RefusedError(422, "That is not plain JSON.") from error


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key twice")
    return found


def _walk(value: Any, depth: int) -> None:
    if depth > DEEPEST:
        raise ValueError("too deep")
    if isinstance(value, str):
        if "\0" in value:
            raise ValueError("a zero byte")
        value.encode("utf-8")  # UnicodeEncodeError is a ValueError
    elif isinstance(value, int):
        if not -LARGEST < value < LARGEST:
            raise ValueError("too large a number")
    elif isinstance(value, float):
        if not isfinite(value):
            raise ValueError("too large a number")
    elif value is not None:
        held = chain(value, value.values()) if isinstance(value, dict) else value
        for one in held:
            _walk(one, depth + 1)
