"""Parts: what is known of each, mending a slip, attaching, the drawer; two tabs, hostile names."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from ohmbook.job.demo import demo_text
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import PARTS, Subject
from tests.web.conftest import Served, notebook_at, start

SPARE = files("ohmbook.demo") / "spare.toml"
BOARD = "Prüfstand 1"
HOSTILE = "\"><script>struck=1</script>ä'"


@pytest.fixture
def spare(tmp_path: Path) -> Iterator[Served]:
    """A server on two boards: the example, and a coil of which one reading has a slip."""
    path = notebook_at(
        tmp_path / "two.ohmbook", example=demo_text(), spare=SPARE.read_text("utf-8")
    )
    served = start(path)
    yield served
    served.stop()


def test_values_notes_and_the_next_reading_stand_there(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.goto(demo.url("b/example/parts"))
    row = page.get_by_role("row").filter(has=page.get_by_role("link", name="L1", exact=True))
    expect(row).to_contain_text("1.200mH")
    expect(row).to_contain_text("1.181 to 1.220")
    expect(page.locator(".known.is-believed").first).to_have_text("only believed")
    expect(page.locator(".verdict")).to_contain_text("Do the readings agree? Yes")
    take = page.get_by_role("link", name="Take this reading").first
    expect(take).to_be_visible(timeout=15_000)
    taken = take.evaluate("one => new URL(one.href).searchParams.get('take')")
    assert json.loads(taken)["reading"]["kind"]
    care = page.locator("#next .care li").first
    expect(care).to_be_visible()


def test_a_slip_is_mended_by_one_touch_and_the_other_tab_shows_it(
    spare: Served, page: Page, faults: list[str]
) -> None:
    other = page.context.new_page()
    other.goto(spare.url("b/spare/parts/L4"))
    expect(other.get_by_text("Probably a slip")).to_be_visible(timeout=15_000)
    page.goto(spare.url("b/spare/parts"))
    page.get_by_role("button", name="Write inductance: 328 uH ± 2 %").click(timeout=15_000)
    expect(page.get_by_text("Probably a slip")).to_have_count(0, timeout=15_000)
    expect(other.get_by_text("Probably a slip")).to_have_count(0, timeout=15_000)
    expect(other.locator(".deeds")).to_be_visible()
    with spare.book.reading() as book:
        assert book.reading("spare", "reading 4").raw["inductance"] == "328 uH ± 2 %"
        assert book.history()[-1].kind == "revise"


def test_a_fix_that_saw_an_older_reading_overwrites_nothing(spare: Served, page: Page) -> None:
    page.goto(spare.url("b/spare/parts"))
    fix = page.get_by_role("button", name="Write inductance: 328 uH ± 2 %")
    expect(fix).to_be_visible(timeout=15_000)
    # whoever is slower saw the reading as it was before the other one revised it
    fix.evaluate("one => { one.dataset.base = '1'; }")
    fix.click()
    expect(page.get_by_role("alert").first).to_contain_text("beside", timeout=10_000)
    expect(page.get_by_role("alert").first).not_to_contain_text("ohmbook notebook choose")
    with spare.book.reading() as book:
        assert book.reading("spare", "reading 4").raw["inductance"] == "32.8 uH ± 2 %"
        assert len(book.beside()) == 1


def test_a_part_in_full(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.url("b/example/parts/L1"))
    rows = page.locator(".picture .rows li")
    expect(rows.first).to_contain_text("reading 3")
    expect(rows.last).to_contain_text("1.200 mH (1.181 to 1.220)")
    assert page.locator(".picture .dot").count() == rows.count()
    assert page.locator(".formula mfrac").count() >= 3
    strip = page.locator(".strip text").all_text_contents()
    assert strip == [str(k) for k in range(1, len(strip) + 1)]  # told by number, not by colour
    shares = page.locator(".causes b").all_inner_texts()
    assert abs(sum(float(one.split()[0]) for one in shares) - 100.0) < 2.0
    page.goto(demo.url("b/example/parts/L2"))
    expect(page.locator(".meanings tbody tr").first).to_contain_text("0.330 mH")


def test_each_bar_stands_under_its_own_words_and_within_the_picture(
    spare: Served, browser: Browser
) -> None:
    for wide in (390, 1280):
        context = browser.new_context(viewport={"width": wide, "height": 844})
        page = context.new_page()
        page.goto(spare.url("b/spare/parts/L4"))
        rows = page.locator(".picture .rows li")
        expect(rows.first).to_be_visible(timeout=15_000)
        # reading 4 has the slip: far off, and told in words besides its dashes
        expect(page.locator(".picture .apart").filter(has_text="reading 4")).to_contain_text(
            "apart from the settled value"
        )
        frame = page.locator(".picture").bounding_box()
        assert frame is not None
        for k in range(rows.count()):
            words = rows.nth(k).locator("p").bounding_box()
            dot = rows.nth(k).locator(".dot").bounding_box()
            assert words is not None
            assert dot is not None
            assert words["y"] + words["height"] <= dot["y"] + 1
            assert dot["y"] - words["y"] - words["height"] < 20
            assert frame["x"] <= dot["x"] <= frame["x"] + frame["width"] - dot["width"]
        for text in page.locator(".picture .axis text:visible").all():
            box = text.bounding_box()
            assert box is not None
            assert frame["x"] - 1 <= box["x"]
            assert box["x"] + box["width"] <= frame["x"] + frame["width"] + 1
        context.close()


def test_a_part_is_added_edited_and_taken_out(demo: Served, page: Page, faults: list[str]) -> None:
    page.goto(demo.url("b/example/parts"))
    page.get_by_text("Add a part").click()
    form = page.locator("#add-form")
    form.get_by_label("Name").fill("C9")
    form.get_by_label("Kind").select_option("capacitor")
    form.get_by_label("Value stated").fill("4.7 parsec")
    form.get_by_role("button").click()
    expect(form.get_by_role("alert")).not_to_be_empty(timeout=15_000)
    form.get_by_label("Value stated").fill("4.7 uF ± 10 %")
    form.get_by_role("button").click()
    page.locator("#body").get_by_role("link", name="C9", exact=True).click(timeout=15_000)
    page.get_by_text("What is known beforehand").click()
    page.locator("#edit-form").get_by_label("What is printed on it").fill("4u7")
    page.locator("#edit-form").get_by_role("button").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("4u7", timeout=15_000)
    page.wait_for_load_state("load")
    with demo.book.reading() as book:
        part = book.plain("example")["parts"]["C9"]
    assert part == {"kind": "capacitor", "value": "4.7 uF ± 10 %", "marking": "4u7"}
    page.get_by_role("button", name="Take it out").click()
    page.wait_for_url("**/parts")
    expect(page.get_by_role("alert").first).to_contain_text("Undo brings it back", timeout=15_000)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#body").get_by_role("link", name="C9", exact=True)).to_be_visible(
        timeout=15_000
    )


def test_into_the_drawer_and_out_of_it(spare: Served, page: Page, faults: list[str]) -> None:
    page.goto(spare.url("b/spare/parts/L4"))
    page.get_by_role("button", name="Put it away with its value").click(timeout=15_000)
    page.wait_for_url("**/spare/parts")
    with spare.book.reading() as book:
        (stated,) = (one["value"] for one in book.plain("drawer")["parts"].values())
    assert stated.startswith("0.3301 mH ± 0.007")
    page.goto(spare.url("b/example/parts"))
    page.get_by_text("Bring a part from the drawer").click()
    page.get_by_label("Name on this board").fill("L9")
    page.get_by_role("button", name="Bring it").click()
    expect(page.locator("#body").get_by_role("link", name="L9", exact=True)).to_be_visible(
        timeout=15_000
    )


def test_what_is_attached_is_shown_small_saved_whole_and_never_run(
    demo: Served, page: Page, faults: list[str], tmp_path: Path
) -> None:
    page.goto(demo.url("b/example/parts/L1"))
    photo = io.BytesIO()
    Image.new("RGB", (600, 400), "teal").save(photo, "PNG")
    chosen = page.locator("#file")
    chosen.set_input_files(
        {"name": f"{HOSTILE}.png", "mimeType": "image/png", "buffer": photo.getvalue()}
    )
    expect(page.locator(".thumbs img")).to_have_count(1, timeout=15_000)
    thumb = page.locator(".thumbs img")
    thumb.scroll_into_view_if_needed()
    expect(thumb).to_have_js_property("complete", value=True)
    expect(thumb).not_to_have_js_property("naturalWidth", value=0)
    with demo.book.reading() as book:
        (one,) = book.attachments("example")
    page_html = b"<!doctype html><script>window.struck = 1</script>"
    chosen.set_input_files({"name": "x.html", "mimeType": "text/html", "buffer": page_html})
    expect(page.locator(".thumbs li")).to_have_count(2, timeout=15_000)
    answer = page.request.get(demo.url("b/example/attachment/x.html"))
    assert answer.headers["content-type"] == "application/octet-stream"
    assert answer.headers["content-disposition"].startswith("attachment;")
    assert "sandbox" in answer.headers["content-security-policy"]
    assert answer.body() == page_html
    href = page.locator(".thumbs a").first.evaluate("one => one.href")
    assert page.request.get(href).body() == photo.getvalue()
    assert page.evaluate("window.struck") is None
    assert one.type == "image/png"


def test_too_large_or_wrong_typed_is_refused_in_words(demo: Served, page: Page) -> None:
    page.goto(demo.url("b/example/parts/L1"))
    url, origin = demo.url("api/b/example/attach?part=L1&name=a"), demo.address.rstrip("/")
    headers = {"content-type": "application/octet-stream", "origin": origin}
    large = page.request.post(url, data=b"\0" * 25_000_001, headers=headers)
    assert large.status == 413
    assert "25 MB" in large.json()["told"]
    wrong = page.request.post(url, data=b"\x7fELF\0\0\1\2", headers=headers)
    assert wrong.status == 422
    assert "neither a picture" in wrong.json()["told"]
    empty = page.request.post(url, data=b"", headers=headers)
    assert empty.status == 422
    page.locator("#file").set_input_files(
        {"name": "a.bin", "mimeType": "image/png", "buffer": b"\x7fELF\0\0\1\2"}
    )
    expect(page.get_by_role("alert").first).to_contain_text("neither a picture")
    with demo.book.reading() as book:
        assert book.attachments("example") == ()


def test_hostile_names_and_markings_are_shown_and_never_run(
    empty: Served, page: Page, faults: list[str]
) -> None:
    with empty.book.reading() as book:
        book.begin_board(BOARD)
        part = {"kind": "inductor", "marking": HOSTILE, "note": HOSTILE}
        book.write("write", HOSTILE, [Change(Subject(BOARD, PARTS, HOSTILE), part)])
    page.goto(empty.address)
    page.get_by_role("link").filter(has_text=BOARD).click()
    page.locator("#body").get_by_role("link", name=HOSTILE).click(timeout=15_000)
    expect(page.get_by_role("heading", level=1)).to_contain_text(HOSTILE)
    page.get_by_text("What is known beforehand").click()
    expect(page.get_by_label("What is printed on it")).to_have_value(HOSTILE)
    page.get_by_role("link", name="History").click()
    expect(page.locator(".deeds.long")).to_contain_text("<script>")
    assert page.evaluate("window.struck") is None


def test_a_phone_sees_it_without_scrolling_sideways(spare: Served, browser: Browser) -> None:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    for path in ("b/spare/parts", "b/example/parts/L1", "b/example/history"):
        page.goto(spare.url(path))
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") == 390, path
    context.close()
