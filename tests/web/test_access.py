"""Every page, light and dark, looked over by the open checker of accessibility rules, axe-core."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.web.conftest import PHONE, Served

AXE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PAGES = (
    "",
    "b/example/parts",
    "b/example/parts/L1",
    "b/example/reading",
    "b/example/reading?kind=amplitude%20ratio&part=L4",
    "b/example/sketch",
    "b/example/behaviour",
    "b/example/plan",
    "b/example/history",
    "b/example/nothing-there",
    "network",
)
"""The pages of the built-in board."""


def violations(page: Page) -> list[str]:
    """What axe finds at fault on a page as it stands, in a line each."""
    page.evaluate(AXE.read_text("utf-8"))
    found: dict[str, Any] = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    assert found["passes"], "axe looked at nothing"
    return [
        f"{one['id']}: {one['help']}: {node['target']} {node['html'][:120]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_no_page_breaks_a_rule_of_accessibility(
    demo: Served, browser: Browser, theme: Any, size: str
) -> None:
    # axe's own script is let in by the test alone: the page's policy forbids it
    more: dict[str, Any] = PHONE if size == "phone" else {}
    context = browser.new_context(color_scheme=theme, bypass_csp=True, **more)
    page = context.new_page()
    found = {}
    for path in PAGES:
        page.goto(demo.url(path))
        page.wait_for_load_state("load")
        page.wait_for_timeout(300)
        told = violations(page)
        if told:
            found[path] = told
    context.close()
    assert found == {}
