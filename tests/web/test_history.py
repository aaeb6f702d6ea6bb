"""The history page: strike, count again, undo, a board as it once stood, what is taken along."""

from __future__ import annotations

import io
import tomllib
import urllib.request
import zipfile

from playwright.sync_api import Page, expect

from tests.web.conftest import Served

NASTY = '<img src=x onerror="window.ran=1">\'"'


def fetched(served: Served, path: str) -> tuple[bytes, dict[str, str]]:
    with urllib.request.urlopen(served.url(path), timeout=30) as answer:
        return answer.read(), {key.lower(): value for key, value in answer.headers.items()}


def test_a_reading_is_struck_and_counts_again(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.url("b/example/history"))
    row = page.locator('[data-reading="reading 3"]')
    row.get_by_role("button", name="Strike").click()
    row.get_by_label("Why does it not count?").fill(NASTY)
    page.keyboard.press("Enter")
    expect(row).to_contain_text(f"struck: {NASTY}")
    assert page.evaluate("window.ran") is None
    with demo.book.reading() as book:
        assert book.reading("example", "reading 3").struck == NASTY
    row.get_by_role("button", name="Count it again").click()
    expect(row.get_by_role("button", name="Strike")).to_be_visible()
    # each is an act of the history, and can be taken back there
    acts = page.locator(".acts li")
    expect(acts).to_have_count(3)
    acts.first.get_by_role("button", name="Undo").click()
    expect(row).to_contain_text("struck")
    expect(page.locator("#act-3")).to_contain_text("taken back")


def test_two_pages_see_each_other(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.url("b/example/history"))
    other = page.context.new_page()
    other.goto(demo.url("b/example/history"))
    with demo.book.reading() as book:  # as the command line would write
        book.strike("example", "reading 2", "lead came off")
    for one in (page, other):
        expect(one.locator('[data-reading="reading 2"]')).to_contain_text("lead came off")


def test_what_two_wrote_on_the_same_thing_is_kept_beside_and_chosen(
    demo: Served, page: Page, faults: list[str]
) -> None:
    with demo.book.reading() as book:
        raw = book.reading("example", "reading 4").raw
        seen = book.reading("example", "reading 4").entry.id
        book.revise("example", "reading 4", {**raw, "note": "first"})
        assert book.revise("example", "reading 4", {**raw, "note": "second"}, base=seen).beside
    page.goto(demo.url("b/example/history"))
    beside = page.locator('[data-mark="beside"]')
    beside.get_by_role("button", name="Let it count").click()
    expect(beside).to_have_count(0)
    with demo.book.reading() as book:
        assert book.reading("example", "reading 4").raw["note"] == "second"


def test_a_board_as_it_once_stood(demo: Served, page: Page, faults: list[str]) -> None:
    with demo.book.reading() as book:
        book.strike("example", "reading 5", "all of it")
    page.goto(demo.url("b/example/history/1"))
    row = page.get_by_role("row", name="L1 inductance")
    expect(row).to_contain_text("1.200mH")  # as with reading 5
    page.goto(demo.url("b/example/history/99"))
    expect(page.get_by_text("no number 99")).to_be_visible()


def test_what_is_taken_along(demo: Served) -> None:
    sheet, headers = fetched(demo, "b/example/take/sheet")
    assert tomllib.loads(sheet.decode())["title"] == "Hall monitor, left"
    assert headers["content-disposition"].startswith("attachment; ")
    values, _ = fetched(demo, "b/example/take/values")
    assert values.decode().splitlines()[0].startswith("board,name,quantity,value")
    notebook, _ = fetched(demo, "take/notebook")
    assert "history/acts.csv" in zipfile.ZipFile(io.BytesIO(notebook)).namelist()
    figures, _ = fetched(demo, "b/example/take/figures")
    assert "response.svg" in zipfile.ZipFile(io.BytesIO(figures)).namelist()
