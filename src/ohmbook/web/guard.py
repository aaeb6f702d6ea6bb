"""The door: which requests come in at all, and what every answer forbids the browser.

A page from anywhere can make the same browser call a server on its own machine, so "localhost" is
no fence. Let in is what was asked of this server by its own name (DNS rebinding), and of anything
that writes only what this server's own page sent (cross-site requests), as JSON, not too large.
From the bench's network only a device that has shown the pass comes in, and it never reaches the
page on which passes are shown.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie

from ohmbook.web.incoming import (
    App,
    Message,
    Receive,
    RefusedError,
    Scope,
    Send,
    check_path,
    headers_of,
    read_whole,
)
from ohmbook.web.passes import Passes
from ohmbook.web.rendering import bare

HERE = "127.0.0.1"
METHODS = ("GET", "HEAD", "POST")
SAFE = ("GET", "HEAD")
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
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(self), microphone=(), geolocation=()"),
)
NEAR = ((b"cross-origin-opener-policy", b"same-origin"),)
"""Where the browser trusts the address: it knows this rule of its own machine's only."""

OWNERS = ("/network", "/api/network")
"""Addresses that are asked from this machine only."""

ENTER = "/api/network/enter"
FOR_ALL = frozenset(
    (
        "/static/css/tokens.css", "/static/css/base.css", "/static/css/pass.css",
        "/static/js/pass.js", "/static/mark.svg", "/static/vendor/next.woff2",
        "/static/vendor/mono.woff2",
    )
)  # fmt: skip
"""What the page that asks for the pass is made of."""


class Guard:
    """Stands before the app.

    Args:
        app: what is let through to.
        hosts: names with port by which this machine asks it, such as "127.0.0.1:8470".
        network: the same of the bench's network, such as "192.168.1.5:8470".
        passes: who of there is in; nobody where None.
    """

    def __init__(
        self,
        app: App,
        hosts: Iterable[str],
        network: Iterable[str] = (),
        passes: Passes | None = None,
    ) -> None:
        self._app, self._passes = app, passes
        self._hosts, self._network = frozenset(hosts), frozenset(network)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        scope["ohmbook.near"] = near = is_near(scope)
        try:
            headers = headers_of(scope)
            check_path(scope)
            self._check(scope, headers, near)
            token = "" if near else self._shown(scope, headers)
            if scope["method"] not in SAFE:
                receive = await read_whole(headers, receive)
            elif headers.get("content-length", "0") != "0" or "transfer-encoding" in headers:
                raise RefusedError(400, "A question brings no body along.")
        except RefusedError as no:
            await _answer(no, scope, send)
            return
        if not near and scope["path"] != ENTER and scope["path"] not in FOR_ALL:
            if not self._in(token):
                await _ask_for_pass(scope, send)
                return
            receive = self._while_in(token, receive)
        await self._app(scope, receive, _with_headers(scope, send))

    def _check(self, scope: Scope, headers: dict[str, str], near: bool) -> None:
        host, method = headers.get("host", ""), scope["method"]
        if host not in (self._hosts if near else self._network):
            raise RefusedError(421, "This server is not asked by that name.")
        if method not in METHODS:
            raise RefusedError(405, "That is not done here.")
        if not near and scope["path"] != ENTER and scope["path"].startswith(OWNERS):
            raise RefusedError(404, "There is no such page; go back to where you were.")
        site = headers.get("sec-fetch-site", "same-origin")
        if method not in SAFE:
            if headers.get("origin") != f"http://{host}" or site != "same-origin":
                raise RefusedError(403, "Only this server's own page may write.")
        elif site not in ("same-origin", "none") and not _followed(headers):
            raise RefusedError(403, "Another page may lead here, and nothing else.")

    def _shown(self, scope: Scope, headers: dict[str, str]) -> str:
        """What a device shows of having been let in; "" where nothing."""
        try:
            found = SimpleCookie(headers.get("cookie", "")).get(cookie_of(scope))
        except CookieError:
            return ""
        return "" if found is None else found.value

    def _in(self, token: str) -> bool:
        return bool(token) and self._passes is not None and self._passes.known(token)

    def _while_in(self, token: str, receive: Receive) -> Receive:
        """Lines that stay open end once the device is let in no longer."""

        async def receiving() -> Message:
            return await receive() if self._in(token) else {"type": "http.disconnect"}

        return receiving


def is_near(scope: Scope) -> bool:
    """Whether a request comes from this machine, and was sent to where only it can send."""
    server, client = scope.get("server") or ("",), scope.get("client") or ("",)
    return server[0] == HERE and client[0] == HERE


def cookie_of(scope: Scope) -> str:
    """The name of what a device shows: servers at other ports share a browser's cookies."""
    return f"ohmbook_{(scope.get('server') or ('', 0))[1]}"


def _followed(headers: dict[str, str]) -> bool:
    """Whether a person followed a link here, as opposed to a page that loads or frames us."""
    mode, into = headers.get("sec-fetch-mode"), headers.get("sec-fetch-dest")
    return mode == "navigate" and into == "document"


async def _ask_for_pass(scope: Scope, send: Send) -> None:
    if scope["path"].startswith("/api/") or scope["method"] != "GET":
        await _answer(RefusedError(401, "This device is not let in, or no longer."), scope, send)
        return
    body = bare("pass.html").encode()
    await _send(401, b"text/html; charset=utf-8", body, scope, send)


def _with_headers(scope: Scope, send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message["headers"]}
            rules = HEADERS + (NEAR if scope["ohmbook.near"] else ())
            kept = [one for one in rules if one[0] not in own]
            if b"cache-control" not in own:
                kept.append((b"cache-control", b"no-cache"))
            message = {**message, "headers": [*message["headers"], *kept]}
        await send(message)

    return sending


async def _answer(no: RefusedError, scope: Scope, send: Send) -> None:
    body = json.dumps({"told": no.told}).encode()
    await _send(no.status, b"application/json", body, scope, send)


async def _send(status: int, kind: bytes, body: bytes, scope: Scope, send: Send) -> None:
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    headers += [(b"allow", ", ".join(METHODS).encode())] if status == 405 else []
    headers += [(b"connection", b"close")] if status in (400, 408, 413) else []
    sending = _with_headers(scope, send)
    await sending({"type": "http.response.start", "status": status, "headers": headers})
    await sending(
        {"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body}
    )
