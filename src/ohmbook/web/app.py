"""The server's app: the guard, the pages, and one clear message for everything that goes wrong."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles

from ohmbook.errors import CallError, OhmbookError
from ohmbook.web.door import Door
from ohmbook.web.guard import Guard
from ohmbook.web.incoming import App
from ohmbook.web.openbook import OpenBook
from ohmbook.web.pages import ROUTERS
from ohmbook.web.rendering import HERE, bare, page, t


def make_app(
    book: OpenBook,
    hosts: Iterable[str],
    ending: threading.Event | None = None,
    network: Door | None = None,
) -> App:
    """The bench page's app, behind its guard.

    Args:
        book: the open notebook.
        hosts: names with port by which the server may be asked from this machine.
        ending: set when the server ends, so that open lines are let go.
        network: the door to the bench's network; shut where None.
    """
    app = unguarded(book, ending, network)
    names = [] if network is None else [one.split("/")[2] for one in network.addresses]
    return Guard(app, hosts, names, None if network is None else network.passes)


def unguarded(
    book: OpenBook, ending: threading.Event | None = None, network: Door | None = None
) -> FastAPI:
    """The app itself, as nobody is served: its routes, for whoever walks them."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False)
    app.state.book, app.state.ending = book, ending or threading.Event()
    app.state.network = network
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    app.add_exception_handler(OhmbookError, _at_fault)
    app.add_exception_handler(RequestValidationError, _misread)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _unexpected)
    app.add_middleware(GZipMiddleware, minimum_size=600)
    return app


def _told(request: Request, status: int, message: str) -> Response:
    """A message, as JSON where JSON was asked for, as a page otherwise."""
    if request.url.path.startswith("/api/"):
        return JSONResponse({"told": message}, status)
    return page(request, "told.html", status=status, message=message)


def _at_fault(request: Request, error: Any) -> Response:
    status = 404 if isinstance(error, CallError) and request.method == "GET" else 422
    # on the page it is this notebook in any case, and a path says nothing to who reads it
    path = request.app.state.book.path
    words = str(error).replace(f"{path}, ", "").replace(f" in {path};", " in this notebook;")
    return _told(request, status, words)


def _misread(request: Request, error: Any) -> Response:
    first = error.errors()[0]
    place = " ".join(str(one) for one in first["loc"][1:])
    return _told(request, 422, t("base.misread", place=place or t("base.request")))


def _unexpected(request: Request, error: Any) -> Response:  # noqa: ARG001
    """A fault of the program's own: the terminal is told all of it, the page a sentence."""
    message = t("base.unexpected")
    if request.url.path.startswith("/api/"):
        return JSONResponse({"told": message}, 500)
    return HTMLResponse(bare("fault.html", message=message), 500)


def _http(request: Request, error: Any) -> Response:
    text = t("base.nothing_there") if error.status_code in (404, 405) else str(error.detail)
    return _told(request, error.status_code, text)
