"""What every request that writes has in common, and what became of it as JSON."""

from __future__ import annotations

import re
from typing import Annotated, Any

from fastapi import Depends, Request
from pydantic import BaseModel, ConfigDict, Field

from ohmbook.notebook.change import Saved
from ohmbook.web.openbook import OpenBook

Number = Annotated[int, Field(ge=0, le=2**53)]
"""Of an act or an entry."""

Name = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(max_length=20_000)]
SheetText = Annotated[str, Field(max_length=1_500_000)]


class Asked(BaseModel):
    """The body of a request: an unknown key is refused, and nothing is turned into another kind.

    Args:
        after: the last act that the page knew of when this was first sent.
    """

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    after: Number | None = None


def _book(request: Request) -> OpenBook:
    found: OpenBook = request.app.state.book
    return found


Book = Annotated[OpenBook, Depends(_book)]
"""The open notebook, in a route's parameters."""


def saved_json(saved: Saved) -> dict[str, Any]:
    """What became of an act."""
    return {
        "act": saved.act,
        "entries": list(saved.entries),
        "beside": saved.beside,
        "told": _on_the_page(saved.told),
    }


def _on_the_page(told: str) -> str:
    """Without the notebook's path and the command: the page's history has both to choose from."""
    told = re.sub(r" of the history of \S.*?\. Look at both", " in the history. Look at both", told)
    return told.replace(" (ohmbook notebook choose)", "")
