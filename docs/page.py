"""Pictures of the bench page on the built-in board, in the system's Chromium (`make docs`)."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright
from tests.web.conftest import BROWSERS, QUIET, notebook_at, start

from ohmbook.job.demo import demo_text

DOCS = Path(__file__).parent
PAGES = {"sketch": "b/example/sketch"}


def pictures(folder: Path) -> None:
    """Each page as docs/page-NAME.png, in the light theme.

    Args:
        folder: where a notebook for it may be made.
    """
    served = start(notebook_at(folder / "page.ohmbook", example=demo_text()))
    found = next(path for one in BROWSERS if (path := shutil.which(one)))
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=found, args=list(QUIET))
        page = browser.new_page(viewport={"width": 1280, "height": 800}, color_scheme="light")
        for name, path in PAGES.items():
            page.goto(served.url(path))
            page.wait_for_selector(".bh-main:not([hidden]) .uplot")
            page.wait_for_selector(".part.settled .label.value")
            page.wait_for_timeout(1500)
            page.screenshot(path=DOCS / f"page-{name}.png")
        browser.close()
    served.stop()
