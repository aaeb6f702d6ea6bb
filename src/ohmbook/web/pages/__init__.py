"""The pages: one file each, one router each, listed here."""

from __future__ import annotations

from fastapi import APIRouter

from ohmbook.web.pages import common, network, plan, reading, start

ROUTERS: tuple[APIRouter, ...] = (
    start.router,
    reading.router,
    network.router,
    plan.router,
    common.router,
)
