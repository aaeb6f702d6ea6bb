"""The history: strike, restore, revise, undo, choose; the board as it stood; what is taken away."""

from __future__ import annotations

import io
import zipfile

from playwright.sync_api import Locator, Page, expect

from ohmbook.job.demo import demo_text
from ohmbook.sheet.read import read_sheet
from tests.web.conftest import Served


def opened(page: Page, name: str) -> Locator:
    """A reading of the list, folded open."""
    found = page.locator(f"[data-reading='{name}']")
    found.locator("summary").click()
    return found


def test_a_reading_is_struck_restored_and_revised_and_both_tabs_see_it(
    demo: Served, page: Page, faults: list[str]
) -> None:
    other = page.context.new_page()
    other.goto(demo.url("b/example/history"))
    page.goto(demo.url("b/example/history"))
    one = opened(page, "reading 3")
    one.get_by_label("Why is it struck?").fill("probe slipped")
    one.get_by_role("button", name="Strike it").click()
    for tab in (page, other):
        expect(tab.locator(".is-struck")).to_contain_text("struck: probe slipped")
    page.locator(".is-struck").get_by_role("button", name="Let it count again").click()
    expect(page.locator(".is-struck")).to_have_count(0)
    one = page.locator("[data-reading='reading 3']")
    text = one.get_by_label("The reading as a sheet has it")
    text.fill("[[readings]]\nkind = ")
    one.get_by_role("button", name="Put this in its place").click()
    expect(one.locator(".revise-form").get_by_role("alert")).to_contain_text("line 2")
    text.fill(text.input_value() + '"amplitude ratio"\npart = "L1"\nfrequency = "3.9 kHz"\n')
    text.fill(text.input_value() + 'half_of = "6.16 Vpp"\n')
    one.get_by_role("button", name="Put this in its place").click()
    expect(page.locator("[data-reading='reading 3'] .gist")).to_contain_text("3.9 kHz")
    expect(page.locator("[data-reading='reading 3'] pre").first).to_contain_text("3881")
    kinds = page.locator(".deeds b").all_inner_texts()
    assert kinds[:3] == ["revise", "restore", "strike"]


def test_an_act_is_undone_where_it_stands(demo: Served, page: Page, faults: list[str]) -> None:
    with demo.book.reading() as book:
        struck = book.strike("example", "reading 2", "battery low")
    page.goto(demo.url("b/example/history"))
    page.get_by_role("button", name=f"Undo {struck.act}").click()
    expect(page.locator(".deed.undone")).to_contain_text("battery low")
    expect(page.locator(".is-struck")).to_have_count(0)


def test_what_is_kept_beside_is_chosen(demo: Served, page: Page, faults: list[str]) -> None:
    with demo.book.reading() as book:
        seen = book.reading("example", "reading 2").entry.id
        book.strike("example", "reading 2", "first")
        raw = {"kind": "generator off", "value": "1.3 mVpp"}
        beside = book.revise("example", "reading 2", raw, seen)
        assert beside.beside
    page.goto(demo.url("b/example/history"))
    expect(page.locator(".besides")).to_contain_text("revise")
    page.locator(".besides").get_by_role("button", name="Let it count").click()
    expect(page.locator(".besides")).to_have_count(0)
    expect(page.locator("[data-reading='reading 2'] .gist")).to_contain_text("1.3 mVpp")


def test_the_board_as_it_stood_is_looked_at_only(
    demo: Served, page: Page, faults: list[str]
) -> None:
    with demo.book.reading() as book:
        book.strike("example", "reading 5", "wrong board")
    page.goto(demo.url("b/example/history"))
    page.get_by_role("link", name="As it stood then: 1").click()
    row = page.get_by_role("row").filter(has_text="L1").first
    expect(row).to_contain_text("1.200mH")
    assert page.locator("main button, main form").count() == 0
    page.goto(demo.url("b/example/history?at=2"))
    expect(page.locator(".is-struck")).to_contain_text("wrong board")
    page.goto(demo.url("b/example/history?at=999"))
    expect(page.locator(".message")).to_contain_text("no number 999")


def test_what_is_taken_away_is_whole_and_safely_named(demo: Served, page: Page) -> None:
    def taken(path: str) -> bytes:
        answer = page.request.get(demo.url(path))
        assert answer.status == 200
        assert answer.headers["content-disposition"].startswith("attachment; filename=")
        assert "sandbox" in answer.headers["content-security-policy"]
        return answer.body()

    text = taken("b/example/download/sheet").decode()
    with demo.book.reading() as book:
        same = book.sheet("example")
    again = read_sheet(text=text)
    assert again.parts == same.parts
    assert [one.model_dump() for one in again.readings] == [
        one.model_dump() for one in same.readings
    ]
    assert len(again.readings) == len(read_sheet(text=demo_text()).readings)
    lines = taken("b/example/download/values").decode().split("\r\n")
    assert lines[0].startswith("board,name,quantity,value")
    assert lines[1].startswith("example,L1,inductance,0.00119993")
    whole = zipfile.ZipFile(io.BytesIO(taken("download/archive")))
    assert {"README.txt", "history/acts.csv", "boards/example.toml"} <= set(whole.namelist())
    assert page.request.get(demo.url("b/nobody/download/sheet")).status == 404
