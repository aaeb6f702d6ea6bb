"""The pages: one file each, one router each, listed here."""

from __future__ import annotations

from fastapi import APIRouter

from ohmbook.web.pages import (
    behaviour,
    common,
    history,
    network,
    part,
    parts,
    plan,
    reading,
    sketch,
    start,
)

ROUTERS: tuple[APIRouter, ...] = (
    start.router,
    parts.router,
    part.router,
    reading.router,
    sketch.router,
    behaviour.router,
    network.router,
    plan.router,
    history.router,
    common.router,
)
