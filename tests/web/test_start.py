"""The first page: boards, and ways to begin one."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from tests.web.conftest import PHONE, Served


def test_the_example_is_one_touch_away(empty: Served, page: Page, faults: list[str]) -> None:
    page.goto(empty.address)
    expect(page.get_by_text("Nothing is in it yet")).to_be_visible()
    page.get_by_role("button", name="The example board").click()
    page.wait_for_url("**/b/example/**")
    with empty.book.reading() as book:
        assert book.boards() == ("example",)


def test_a_sheet_at_fault_is_told_and_nothing_is_begun(
    empty: Served, page: Page, faults: list[str]
) -> None:
    page.goto(empty.address)
    page.get_by_text("Take in a bench sheet").click()
    page.get_by_label("Name of the board").fill("left")
    page.get_by_label("or its text").fill('[parts]\nL1 = { kind = "inductance" }\n')
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_contain_text("line 2")
    with empty.book.reading() as book:
        assert book.boards() == ()


def test_a_long_name_leaves_a_phone_its_width_and_an_empty_board_its_words(
    empty: Served, browser: Browser
) -> None:
    name = "x" * 80
    empty.book.do(lambda notebook: notebook.begin_board(name))
    context = browser.new_context(**PHONE)  # type: ignore[arg-type]
    page = context.new_page()
    for path in ("", f"b/{name}/parts", f"b/{name}/reading", f"b/{name}/plan", f"b/{name}/history"):
        page.goto(empty.url(path))
        assert page.evaluate("document.documentElement.scrollWidth") == 390, path
    page.goto(empty.url(f"b/{name}/parts"))
    expect(page.locator("#next")).to_contain_text("Once there is a part")
    context.close()


def test_undo_takes_back_what_was_begun(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.address)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status")).to_have_text("Taken back")
    page.reload()
    expect(page.get_by_text("Nothing is in it yet")).to_be_visible()


def test_a_board_whose_beginning_is_taken_back_says_so_on_its_open_page(
    empty: Served, page: Page, stays_here: list[str]
) -> None:
    empty.book.do(lambda notebook: notebook.begin_board("left"))
    page.goto(empty.url("b/left/parts"))
    expect(page.locator("#next")).to_contain_text("Once there is a part")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("its beginning was taken back")).to_be_visible()
    expect(page.locator("main")).not_to_contain_text("told")
    page.get_by_role("button", name="Redo").click()
    expect(page.get_by_text("its beginning was taken back")).to_be_hidden()
