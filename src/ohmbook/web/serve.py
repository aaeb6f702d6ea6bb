"""The server: where it listens, how it begins and ends."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import uvicorn

from ohmbook.errors import CallError
from ohmbook.web.app import make_app
from ohmbook.web.guard import App
from ohmbook.web.openbook import OpenBook

HERE = "127.0.0.1"
PORT = 8470
"""Where it listens unless told otherwise: the same each time, so that what a browser has kept
unsent finds its notebook again."""

TRIED = 20
"""Ports tried, one after another, where somebody else has the first."""


class Server(uvicorn.Server):
    """A server that lets open lines go when it ends.

    Args:
        app: what it serves.
        listening: a bound socket.
    """

    def __init__(self, app: App, listening: socket.socket, ending: threading.Event) -> None:
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, timeout_graceful_shutdown=2,
            server_header=False, lifespan="off", ws="none",
        )  # fmt: skip
        super().__init__(config)
        self._listening, self.ending = listening, ending

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Asked to end: open lines are let go first."""
        self.ending.set()
        super().handle_exit(sig, frame)

    def end(self) -> None:
        """End, from another thread."""
        self.ending.set()
        self.should_exit = True

    def serve_here(self) -> None:
        """Serve until asked to end."""
        self.run(sockets=[self._listening])


def listen(port: int | None = None, host: str = HERE) -> socket.socket:
    """A socket to listen at.

    Args:
        port: which; where None, `PORT` or the next that is free. 0: any.
        host: at which address.

    Raises:
        CallError: somebody else listens there.
    """
    for tried in (port,) if port is not None else range(PORT, PORT + TRIED):
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((host, tried))
        except OSError:
            found.close()
            continue
        return found
    where = f"Port {port}" if port is not None else f"Every port from {PORT} to {PORT + TRIED - 1}"
    raise CallError(f"{where} is taken by another program; name a free one with --port.")


def server_for(book: OpenBook, listening: socket.socket) -> tuple[Server, str]:
    """A server for an open notebook on this machine only, and its address."""
    port = listening.getsockname()[1]
    ending = threading.Event()
    app = make_app(book, (f"{HERE}:{port}", f"localhost:{port}"), ending)
    return Server(app, listening, ending), f"http://{HERE}:{port}/"


def serve(path: Path, port: int | None, ready: Callable[[str], None]) -> None:
    """Serve a notebook until stopped.

    Args:
        path: the notebook's; it exists.
        port: where; the usual one or the next free where None.
        ready: called with the address once it listens.

    Raises:
        NotebookError: it cannot be opened.
        CallError: the port is taken.
    """
    listening = listen(port)
    book = OpenBook(path)
    try:
        server, address = server_for(book, listening)
        listening.listen()
        ready(address)
        server.serve_here()
    finally:
        book.close()
        listening.close()
