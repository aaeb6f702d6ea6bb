"""The pages: one file each, one router each, listed here."""

from __future__ import annotations

from fastapi import APIRouter

from ohmbook.web.pages import behaviour, common, sketch, start

ROUTERS: tuple[APIRouter, ...] = (
    start.router,
    sketch.router,
    behaviour.router,
    common.router,
)
