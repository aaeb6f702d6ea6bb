"""Pages from templates, and every English word of the page in one folder."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse

from ohmbook.errors import CallError
from ohmbook.web.openbook import OpenBook

HERE = Path(str(files("ohmbook.web")))
THEMES = ("light", "dark")


@cache
def words() -> dict[str, str]:
    """Every text by its name: "parts.title" is `title` in words/parts.toml."""
    return {
        f"{path.stem}.{key}": text
        for path in sorted((HERE / "words").glob("*.toml"))
        for key, text in tomllib.loads(path.read_text("utf-8")).items()
    }


def t(name: str, /, **values: object) -> str:
    """A text by its name, with values put in where it has {these}.

    Raises:
        KeyError: there is no such text, or a value is missing.
    """
    text = words()[name]
    return text.format(**values) if values else text


@cache
def words_module() -> str:
    """The same for the page's scripts, as a module."""
    return f"export default {json.dumps(words(), ensure_ascii=False)};\n"


def board_url(board: str, page: str = "parts", *more: str) -> str:
    """The address of a board's page."""
    return "/".join(("/b", quote(board, safe=""), page, *(quote(one, safe="") for one in more)))


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(t=t, board_url=board_url)
    return made


def bare(template: str, **values: Any) -> str:
    """A page that knows nothing of the notebook."""
    return _environment().get_template(template).render(values)


def page(request: Request, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
    """A page.

    Args:
        request: it answers.
        template: its file; `board` and `here` (the page's name in the way-finder) tell where it is.
        status: of the answer.
        values: what the template shows.
    """
    book: OpenBook = request.app.state.book
    with book.reading() as notebook:
        shared = {
            "boards": notebook.boards(),
            "file": book.path.name,
            "last": len(notebook.history()),
            "beside": len(notebook.beside()),
        }
    theme = request.cookies.get("theme", "")
    shared |= {"identity": book.identity, "theme": theme if theme in THEMES else ""}
    shared["near"] = request.scope.get("ohmbook.near", False)
    given = {"board": None, "here": "", **shared, **values}
    text = _environment().get_template(template).render(given)
    return HTMLResponse(text, status_code=status)


def known_board(book: OpenBook, board: str) -> str:
    """The board, if there is one.

    Raises:
        CallError: there is none of that name.
    """
    with book.reading() as notebook:
        if board not in notebook.boards():
            raise CallError(f'There is no board "{board}" in this notebook.')
    return board
