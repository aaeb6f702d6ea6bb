"""The plan page: made, typed into, kept, written down, printed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.web.conftest import Served, notebook_at, start

READY_MS = 30_000


def make(page: Page, served: Served, numbers: int) -> None:
    page.goto(served.url("b/example/plan"))
    expect(page.locator("#enough")).to_contain_text("Not yet within", timeout=READY_MS)
    page.get_by_label("How many numbers").fill(str(numbers))
    page.get_by_role("button", name="Work it out").click()
    page.wait_for_url("**/plan?made=*", timeout=READY_MS)


def waiting(served: Served) -> list[dict[str, Any]]:
    with served.book.reading() as book:
        return [one.raw for one in book.readings("example") if "?" in str(one.raw)]


def test_a_plan_is_made_typed_into_kept_and_written_down(
    demo: Served, page: Page, faults: list[str]
) -> None:
    make(page, demo, 6)
    steps = page.locator(".step-at")
    count = steps.count()
    assert count >= 1
    for k in range(count):  # the caution stands before the clips, the picture and the blanks
        inside = steps.nth(k)
        order = inside.evaluate(
            "one => ['.caution', '.clips', '.picture svg', '.read']"
            ".map((name) => one.querySelector(name).getBoundingClientRect().top)"
        )
        assert order == sorted(order)
    assert demo.book.last() == 1

    # the nodes to be read are marked on the person's own drawing too
    link = page.get_by_role("link", name="marked on the sketch").first.get_attribute("href")
    other = page.context.new_page()
    other.goto(demo.url(str(link)))
    expect(other.locator(".wanted text").first).to_be_visible(timeout=READY_MS)
    other.close()

    # what is expected stands beside the blank; typed so it fits, ten times too large it does not
    first = page.locator(".read").first
    expect(first.locator(".expected")).to_contain_text("≈", timeout=READY_MS)
    number, unit = first.locator(".expected").inner_text().removeprefix("≈ ").split()
    first.locator("input").fill(f"{10 * float(number):.4g} {unit}")
    expect(first.locator(".sign")).to_contain_text("look again", timeout=READY_MS)
    first.locator("input").fill("xyz")
    expect(first.locator(".sign")).to_contain_text("no number", timeout=READY_MS)
    first.locator("input").fill(f"{number} {unit}")
    expect(first.locator(".sign")).to_have_text("✓ fits", timeout=READY_MS)

    # a draft outlives the page, and the server; the plan does too
    port = demo.port
    demo.stop()
    again = start(demo.path, port)
    page.reload()
    expect(page.locator(".read").first.locator("input")).to_have_value(
        f"{number} {unit}", timeout=READY_MS
    )
    expect(page.locator(".step-at")).to_have_count(count)

    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_url("**/plan", timeout=READY_MS)
    expect(page.get_by_role("button", name="Keep this plan")).to_have_count(0)
    kept = waiting(again)
    assert len(kept) in (count, count - 1)  # a step of one number is whole already
    with again.book.reading() as book:
        assert book.history()[-1].kind == "write"
        assert number in str([one.raw for one in book.readings("example")][-count:])

    # the rest is filled in and written down at once
    for read in page.locator(".read").all():
        expect(read.locator(".expected")).to_contain_text("≈", timeout=READY_MS)
        read.locator("input").fill(read.locator(".expected").inner_text().removeprefix("≈ "))
    page.get_by_role("button", name="Write down all that is filled in").click()
    expect(page.get_by_role("status").first).to_have_text("Written down.", timeout=READY_MS)
    assert waiting(again) == []
    assert again.book.settled("example").consistency.p_value is not None
    again.stop()
    demo.book = again.book  # stopped already: the fixture's own end finds nothing to do
    demo.stop = lambda: None  # type: ignore[method-assign]


def test_a_plan_is_stopped_and_a_step_let_go(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.url("b/example/plan"))
    page.get_by_label("How many numbers").fill("60")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("Stopped.")).to_be_visible()
    blank = {"kind": "resistance", "between": ["in", "w"], "leads": "0.4 ohm", "value": "?"}
    demo.book.do(lambda book: book.add("example", blank))
    page.reload()
    expect(page.locator(".step-at")).to_have_count(1)
    page.emulate_media(media="print")
    expect(page.locator(".sheet-lines")).to_be_visible()
    expect(page.get_by_role("button", name="Write down this step")).to_be_hidden()
    page.emulate_media(media="screen")
    page.get_by_role("button", name="Not going to read this").click()
    expect(page.locator(".step-at")).to_have_count(0)
    with demo.book.reading() as book:
        assert book.readings("example")[-1].struck == "planned, not read"


DRAWN = """
sketch = { input = "in", ground = "gnd" }
[parts]
L1 = { kind = "inductor", between = ["in", "w"] }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }
"""


@pytest.fixture
def drawn(tmp_path: Path) -> Iterator[Served]:
    """A board that was drawn, and nothing said of what it will be read with."""
    served = start(notebook_at(tmp_path / "drawn.ohmbook", example=DRAWN))
    yield served
    served.stop()


def test_a_board_that_is_only_drawn_gets_its_plan_with_the_usual_bench(
    drawn: Served, page: Page, faults: list[str]
) -> None:
    page.goto(drawn.url("b/example/parts"))
    expect(page.locator("#next")).to_contain_text("make a reading plan", timeout=READY_MS)
    make(page, drawn, 4)
    expect(page.locator(".step-at").first).to_be_visible()
    with drawn.book.reading() as book:
        plain = book.plain("example")
    assert list(plain["sources"]) == ["generator"]
    assert list(plain["instruments"]) == ["scope"]
