"""The server: where it listens, how it begins and ends."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

import uvicorn

from ohmbook.errors import CallError
from ohmbook.web.app import make_app
from ohmbook.web.door import Door
from ohmbook.web.guard import HERE
from ohmbook.web.incoming import App
from ohmbook.web.network import addresses
from ohmbook.web.openbook import OpenBook
from ohmbook.web.passes import Passes

PORT = 8470
"""Where it listens unless told otherwise: the same each time, so that what a browser has kept
unsent finds its notebook again."""

TRIED = 20
"""Ports tried, one after another, where somebody else has the first."""


class Server(uvicorn.Server):
    """A server that lets open lines go when it ends.

    Args:
        app: what it serves.
        listening: bound sockets.
        ending: set when it ends.
    """

    def __init__(self, app: App, listening: list[socket.socket], ending: threading.Event) -> None:
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, timeout_graceful_shutdown=2,
            server_header=False, lifespan="off", ws="none", proxy_headers=False,
            h11_max_incomplete_event_size=32_768, limit_concurrency=200,
        )  # fmt: skip
        super().__init__(config)
        self._listening, self.ending = listening, ending
        self.door: Door | None = None

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
        self.run(sockets=self._listening)


def listen(port: int | None = None, host: str = HERE) -> socket.socket:
    """A socket to listen at.

    Args:
        port: which; where None, `PORT` or the next that is free. 0: any.
        host: at which address.

    Raises:
        CallError: somebody else listens there.
    """
    for tried in (port,) if port is not None else range(PORT, PORT + TRIED):
        # Named as TCP, so that asyncio turns Nagle's waiting off: 40 ms an answer otherwise.
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((host, tried))
        except OSError:
            found.close()
            continue
        return found
    where = f"Port {port}" if port is not None else f"Every port from {PORT} to {PORT + TRIED - 1}"
    raise CallError(f"{where} is taken by another program; name a free one with --port.")


def server_for(
    book: OpenBook, listening: socket.socket, network: Sequence[socket.socket] = ()
) -> tuple[Server, str]:
    """A server for an open notebook, and its address on this machine.

    Args:
        book: what it serves.
        listening: bound on this machine only.
        network: bound in the bench's network; none unless the person asked for it.
    """
    port = listening.getsockname()[1]
    ending, door = threading.Event(), None
    if network:
        there = tuple("http://{}:{}/".format(*one.getsockname()) for one in network)
        door = Door(there, Passes())
    app = make_app(book, (f"{HERE}:{port}", f"localhost:{port}"), ending, door)
    server = Server(app, [listening, *network], ending)
    server.door = door
    return server, f"http://{HERE}:{port}/"


def listen_both(port: int | None, there: Sequence[str]) -> list[socket.socket]:
    """Sockets at the same port of this machine and of its addresses in the network.

    Raises:
        CallError: somebody else listens at one of them.
    """
    found = [listen(port)]
    try:
        return found + [listen(found[0].getsockname()[1], one) for one in there]
    except CallError:
        found[0].close()
        raise


Ready = Callable[[str, Door | None], None]


def serve(path: Path, port: int | None, ready: Ready, *, network: bool = False) -> None:
    """Serve a notebook until stopped.

    Args:
        path: the notebook's; it exists.
        port: where; the usual one or the next free where None.
        ready: called with the address once it listens, and the door to the network.
        network: whether the bench's network is let in, with a pass.

    Raises:
        NotebookError: it cannot be opened.
        CallError: the port is taken, or there is no network.
    """
    listening = listen_both(port, addresses() if network else ())
    try:
        book = OpenBook(path)
        try:
            server, address = server_for(book, listening[0], listening[1:])
            for one in listening:
                one.listen()
            ready(address, server.door)
            server.serve_here()
        finally:
            book.close()
    finally:
        for one in listening:
            one.close()
