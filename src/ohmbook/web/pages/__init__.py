"""The pages: one file each, one router each, listed here."""

from __future__ import annotations

from fastapi import APIRouter

from ohmbook.web.pages import (
    behaviour,
    common,
    files,
    history,
    network,
    plan,
    reading,
    sketch,
    start,
)

ROUTERS: tuple[APIRouter, ...] = (
    start.router,
    reading.router,
    sketch.router,
    behaviour.router,
    network.router,
    plan.router,
    history.router,
    files.router,
    common.router,
)
