"""A server in this process on a notebook of its own, and the system's Chromium to look at it."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from ohmbook.job.demo import demo_text
from ohmbook.notebook.notebook import Notebook
from ohmbook.web.openbook import OpenBook
from ohmbook.web.serve import Server, listen_both, server_for

expect.set_options(timeout=20_000)  # a busy machine takes its time; what is right comes at once
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
)  # fmt: skip
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@dataclass
class Served:
    """A running server.

    Args:
        address: with a slash at its end.
        book: the notebook it has open.
        path: where that is.
    """

    address: str
    book: OpenBook
    path: Path
    server: Server
    thread: threading.Thread

    @property
    def port(self) -> int:
        return int(self.address.rstrip("/").rsplit(":", 1)[1])

    def url(self, path: str = "") -> str:
        """An address of it."""
        return self.address + path.lstrip("/")

    def stop(self) -> None:
        """End it; the notebook is closed."""
        self.server.end()
        self.thread.join(20)
        assert not self.thread.is_alive()
        self.book.close()


def start(path: Path, port: int = 0, there: Sequence[str] = ()) -> Served:
    """A server on a notebook that is there, at addresses that stand for the bench's network too."""
    listening = listen_both(port, there)
    book = OpenBook(path)
    server, address = server_for(book, listening[0], listening[1:])
    for one in listening:
        one.listen()
    thread = threading.Thread(target=server.serve_here, daemon=True)
    thread.start()
    return Served(address, book, path, server, thread)


def notebook_at(path: Path, **boards: str) -> Path:
    """A notebook with boards, each from a sheet's text."""
    with Notebook.new(path) as book:
        for board, text in boards.items():
            book.take_in(board, text)
    return path


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Served]:
    """A server on an empty notebook."""
    served = start(notebook_at(tmp_path / "bench.ohmbook"))
    yield served
    served.stop()


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Served]:
    """A server on a notebook with the built-in board, named "example"."""
    served = start(notebook_at(tmp_path / "demo.ohmbook", example=demo_text()))
    yield served
    served.stop()


# The browser


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    found = next((path for one in BROWSERS if (path := shutil.which(one))), None)
    assert found, "Chromium is missing; `make browser` installs it or says what to do"
    return {"executable_path": found, "args": list(QUIET)}


@pytest.fixture
def stays_here(context: BrowserContext) -> Iterator[list[str]]:
    """No request leaves the machine: each that would is stopped, and fails the test."""
    left: list[str] = []

    def look(route: Route) -> None:
        if route.request.url.split("/")[2].split(":")[0] in ("127.0.0.1", "localhost"):
            route.continue_()
        else:
            left.append(route.request.url)
            route.abort()

    # Only addresses elsewhere pass through here: looking at each one would slow every page.
    context.route(lambda url: not url.startswith(("http://127.0.0.1:", "blob:", "data:")), look)
    yield left
    assert left == []


@pytest.fixture
def faults(page: Page, stays_here: list[str]) -> Iterator[list[str]]:
    """What the page's scripts and its policy complain of; none is expected."""
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))
    page.on(
        "console",
        lambda line: (
            found.append(f"{line.text} {line.location}") if _grave(line.text, line.type) else None
        ),
    )
    yield found
    assert found == []


def _grave(text: str, kind: str) -> bool:
    # a request that was refused on purpose is not a fault of the page
    return kind in ("error", "warning") and not text.startswith("Failed to load resource")


@pytest.fixture
def phone_context_args() -> dict[str, Any]:
    """For `browser.new_context(**phone_context_args)`."""
    return PHONE
