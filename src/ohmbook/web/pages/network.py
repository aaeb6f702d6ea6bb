"""Use your phone: the address and the pass for it, and who is in. Shown on this machine only."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, Response

from ohmbook.errors import CallError
from ohmbook.web.asked import Asked, Name, Number
from ohmbook.web.door import Door, door_of
from ohmbook.web.guard import cookie_of
from ohmbook.web.network import code_of, link_of, spaced
from ohmbook.web.passes import PASS_S, WrongPassError
from ohmbook.web.rendering import page, t

router = APIRouter()


@router.get("/network")
def panel(request: Request) -> Response:
    """The page."""
    door: Door | None = request.app.state.network
    return page(request, "network.html", door=door, state=None if door is None else _state(door))


@router.get("/api/network")
def state(request: Request) -> dict[str, Any]:
    """The pass that is good now, and who is in."""
    return _state(door_of(request))


@router.post("/api/network/pass")
def fresh(asked: Asked, request: Request) -> dict[str, Any]:  # noqa: ARG001
    """A new pass."""
    door = door_of(request)
    door.passes.fresh()
    return _state(door)


class Which(Asked):
    """A device that is in."""

    number: Number


@router.post("/api/network/end")
def end(asked: Which, request: Request) -> dict[str, Any]:
    """Let a device in no longer."""
    door = door_of(request)
    if not door.passes.end(asked.number):
        raise CallError(t("network.not_in"))
    return _state(door)


class Word(Asked):
    """A pass, as typed."""

    word: Name


@router.post("/api/network/enter")
def enter(asked: Word, request: Request) -> Response:
    """Let a device in."""
    door, client = door_of(request), request.client
    device = request.headers.get("user-agent", "")[:300]
    try:
        token = door.passes.enter(asked.word, "" if client is None else client.host, device)
    except WrongPassError as no:
        told = t("network.void") if no.void else t("network.wrong", wait=max(1, round(no.wait_s)))
        return JSONResponse({"told": told}, 429)
    answer = JSONResponse({"in": True})
    answer.set_cookie(cookie_of(request.scope), token, httponly=True, samesite="strict")
    return answer


def _state(door: Door) -> dict[str, Any]:
    word = door.passes.shown()
    return {
        "word": None if word is None else spaced(word),
        "minutes": round(PASS_S / 60.0),
        "codes": [
            {
                "address": one,
                "code": None if word is None else code_of(link_of(one, word)),
            }
            for one in door.addresses
        ],
        "guests": [
            {
                "number": one.number,
                "address": one.address,
                "device": _device(one.device),
                "since": t("network.since", minutes=int(for_s // 60)),
            }
            for one, for_s in door.passes.guests()
        ],
    }


def _device(agent: str) -> str:
    """What a browser says that it runs on: the first words between its brackets."""
    inside = agent.partition("(")[2].partition(")")[0].split(";")
    found = "; ".join(one.strip() for one in inside[:2])
    return "".join(one for one in found if one.isprintable())[:60] or t("network.some_device")
