"""The pages: one file each, one router each, listed here."""

from __future__ import annotations

from fastapi import APIRouter

from ohmbook.web.pages import common, history, part, parts, start

ROUTERS: tuple[APIRouter, ...] = (
    start.router,
    parts.router,
    part.router,
    history.router,
    common.router,
)
