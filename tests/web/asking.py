"""Requests put to the app in this process, and every endpoint that it has."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

from fastapi import FastAPI

from ohmbook.web.incoming import App, Message, Scope

HOST = "127.0.0.1:8470"
OWN = {"host": HOST, "origin": f"http://{HOST}", "content-type": "application/json"}


@dataclass
class Answer:
    """What came back.

    Args:
        status: of it.
        headers: with small letters.
        body: whole.
    """

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def told(self) -> str:
        """What a refusal says."""
        found: str = json.loads(self.body)["told"]
        return found


class Asking:
    """An app, and the loop that its requests run in: in a thread of its own, since the browser's
    driver has one running in the tests'.

    Args:
        app: asked.
        near: whether from this machine.
    """

    def __init__(self, app: App, near: bool = True) -> None:
        self.app, self.near = app, near
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """End the loop."""
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    def get(self, path: str, **headers: str) -> Answer:
        """A question."""
        return self.ask("GET", path, None, {"host": HOST, **_dashed(headers)})

    def post(self, path: str, body: Any, **headers: str) -> Answer:
        """Something sent, as this server's own page sends it."""
        given = body if isinstance(body, bytes) else json.dumps(body).encode()
        return self.ask("POST", path, given, {**OWN, **_dashed(headers)})

    def ask(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> Answer:
        """Any request; a header of an empty text is left out."""
        pairs = [(k, v) for k, v in headers.items() if v]
        return self.raw(method, path, pairs, [body or b""])

    def raw(
        self, method: str, path: str, headers: list[tuple[str, str]], pieces: list[bytes]
    ) -> Answer:
        """The same with headers that may stand there twice, and a body in pieces."""
        call = self._call(method, path, headers, pieces)
        return asyncio.run_coroutine_threadsafe(call, self._loop).result(60)

    async def _call(
        self, method: str, path: str, headers: list[tuple[str, str]], pieces: list[bytes]
    ) -> Answer:
        plain, _, query = path.partition("?")
        here = "127.0.0.1" if self.near else "192.168.1.5"
        scope: Scope = {
            "type": "http", "asgi": {"version": "3.0", "spec_version": "2.4"}, "method": method,
            "http_version": "1.1", "scheme": "http", "path": unquote(plain),
            "raw_path": plain.encode("latin-1"), "query_string": query.encode("latin-1"),
            "root_path": "", "headers": [(k.encode(), v.encode("latin-1")) for k, v in headers],
            "client": (here, 5000), "server": (here, 8470), "state": {},
        }  # fmt: skip
        left = list(pieces)
        found = Answer(0, {}, b"")

        async def receive() -> Message:
            if not left:
                return {"type": "http.disconnect"}
            return {"type": "http.request", "body": left.pop(0), "more_body": bool(left)}

        async def send(message: Message) -> None:
            if message["type"] == "http.response.start":
                found.status = message["status"]
                found.headers = {k.decode().lower(): v.decode() for k, v in message["headers"]}
            else:
                found.body += message.get("body", b"")

        await self.app(scope, receive, send)
        return found


def _dashed(headers: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in headers.items()}


@dataclass(frozen=True)
class Endpoint:
    """One thing that the app answers to.

    Args:
        method: "GET" or "POST".
        path: with its {places}.
        body: the schema of its JSON; None where it takes none.
        asked: the names of what may stand behind the "?".
    """

    method: str
    path: str
    body: dict[str, Any] | None
    asked: tuple[str, ...]


def endpoints(app: FastAPI) -> Iterator[Endpoint]:
    """Every endpoint, as the app itself describes them."""
    for path, methods in app.openapi()["paths"].items():
        for method, told in methods.items():
            content = told.get("requestBody", {}).get("content", {})
            query = tuple(p["name"] for p in told.get("parameters", ()) if p["in"] == "query")
            schema = content.get("application/json", {}).get("schema")
            yield Endpoint(method.upper(), path, schema, query)
