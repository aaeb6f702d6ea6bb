"""The door to the bench's network, where the person asked for it."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request

from ohmbook.errors import CallError
from ohmbook.web.passes import Passes
from ohmbook.web.rendering import t


@dataclass(frozen=True)
class Door:
    """Where the bench's network comes in.

    Args:
        addresses: where the server is reached from there, each with a slash at its end.
        passes: who is in.
    """

    addresses: tuple[str, ...]
    passes: Passes


def door_of(request: Request) -> Door:
    """The server's door.

    Raises:
        CallError: it was not asked for.
    """
    found: Door | None = request.app.state.network
    if found is None:
        raise CallError(t("network.shut"))
    return found
