"""The behaviour page: curves that follow a dragged value, and nothing written by it."""

from __future__ import annotations

import http.client
import json
import random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from ohmbook.job import behaviour
from ohmbook.job.packed import unpacked
from tests.web.conftest import Served, notebook_at, start

PATH = "b/example/behaviour"
API = "/api/b/example/behaviour"
L1 = "[data-key='L1/inductance']"


def call(served: Served, method: str, path: str, body: object = None) -> tuple[int, bytes]:
    """A request as the page sends it."""
    line = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    headers = {"Origin": served.address.rstrip("/"), "Content-Type": "application/json"}
    line.request(method, path, None if body is None else json.dumps(body), headers)
    answer = line.getresponse()
    found = answer.status, answer.read()
    line.close()
    return found


def moved(served: Served, to: list[dict[str, Any]], **more: Any) -> tuple[int, bytes]:
    """A request for moved curves."""
    token = unpacked(call(served, "GET", API)[1])[0]["token"]
    return call(served, "POST", f"{API}/moved", {"token": token, "to": to, **more})


def one(part: str, quantity: str, to: float | str) -> dict[str, Any]:
    return {"part": part, "quantity": quantity, "to": to}


def opened(page: Page, served: Served) -> None:
    """The page with its curves drawn."""
    page.goto(served.url(PATH))
    expect(page.locator(".uplot canvas").first).to_be_visible()
    expect(page.locator(".bh-strip").first).to_be_visible()
    page.evaluate("() => document.fonts.ready.then(() => new Promise(requestAnimationFrame))")


def picture(page: Page) -> str:
    """The gain chart's pixels."""
    found: str = page.evaluate(
        "() => document.querySelector('[data-plot=gain] canvas').toDataURL()"
    )
    return found


def settled_at_rest(page: Page) -> None:
    """Wait for the answer with 1000 draws to be drawn."""
    page.wait_for_function("() => window.rested")


WATCH = """
() => {
  window.rested = false;
  window.seen = [];
  document.addEventListener("ohmbook:drawn", (event) => {
    window.seen.push(event.detail);
    window.rested = event.detail.moved && event.detail.draws === 1000;
  });
}
"""

# The server


def test_settled_curves_are_those_of_the_library(demo: Served) -> None:
    status, data = call(demo, "GET", API)
    header, rows = unpacked(data)
    shown = behaviour(demo.book.settled("example"))
    assert status == 200
    assert header["outputs"] == ["woofer", "tweeter"]
    np.testing.assert_allclose(rows["gain_db", "woofer"], shown.outputs[0].gain_db, rtol=1e-6)
    assert header["values"][0]["part"] == "L1"
    assert header["values"][0]["span"]


def test_a_typed_value_is_read_as_people_write_it(demo: Served) -> None:
    status, data = moved(demo, [one("L1", "inductance", "2m2")])
    header, _ = unpacked(data)
    assert status == 200
    assert header["values"][0]["value"] == pytest.approx(2.2e-3)
    assert header["values"][0]["change"] == "+83 %"
    assert header["draws"] == 200


@pytest.mark.parametrize(
    ("to", "told"),
    [
        ([one("L1", "inductance", "2.2 uF")], "H"),
        ([one("L9", "inductance", 1e-3)], "There is no value"),
        ([one("L1", "beauty", "1 mH")], 'no "beauty"'),
        ([one("L1", "inductance", -1.0)], "could not be read"),
        ([one("L1", "inductance", 1e308)], "a million times"),
    ],
)
def test_what_cannot_be_moved_is_told(demo: Served, to: list[dict[str, Any]], told: str) -> None:
    status, data = moved(demo, to)
    assert status == 422
    assert told in json.loads(data)["told"]


def test_a_token_that_is_kept_no_longer_is_told_apart(demo: Served) -> None:
    status, _ = call(demo, "POST", f"{API}/moved", {"token": "gone", "to": []})
    assert status == 409


def test_a_board_without_a_sketch_says_what_is_missing(tmp_path: Any, page: Page) -> None:
    text = '[parts]\nL1 = { kind = "inductor", marking = "0.82" }\n'
    served = start(notebook_at(tmp_path / "b.ohmbook", example=text))
    try:
        status, data = call(served, "GET", API)
        assert status == 422
        assert "not joined" in json.loads(data)["told"]
        page.goto(served.url(PATH))
        expect(page.get_by_text("The parts are not joined yet")).to_be_visible()
        expect(page.get_by_role("link", name="To the sketch")).to_have_attribute(
            "href", "/b/example/sketch"
        )
    finally:
        served.stop()


def test_whatever_is_sent_is_answered(demo: Served) -> None:
    """200 seeded bodies of odd values: told, or worked out; never a server's fault."""
    chance = random.Random(1)
    header = unpacked(call(demo, "GET", API)[1])[0]
    ids = [(told["part"], told["quantity"]) for told in header["values"]] + [("nix", "inductance")]
    odd: tuple[Any, ...] = (
        0,
        1e-300,
        1e308,
        1e-12,
        1,
        "1e400 mH",
        "",
        "0 ohm",
        "4k7",
        "-3 mH",
        None,
        True,
        [],
        {},
    )
    statuses = set()
    for _ in range(200):
        some = [(*one_id, chance.choice(odd)) for one_id in chance.sample(ids, 2)]
        to: Any = [{"part": p, "quantity": q, "to": x} for p, q, x in some]
        body = {"token": header["token"], "to": chance.choice([to, to, to, None, 3, [[]]])}
        status, data = call(demo, "POST", f"{API}/moved", body)
        statuses.add(status)
        if status == 200:
            assert unpacked(data)[0]["draws"] == 200
        else:
            assert json.loads(data)["told"]
    assert statuses == {200, 422}


@pytest.mark.parametrize("at", ["0", "-1", "nan", "inf", "1e12", "abc", ""])
def test_a_frequency_that_cannot_be_is_told(demo: Served, at: str) -> None:
    token = unpacked(call(demo, "GET", API)[1])[0]["token"]
    status, data = call(demo, "GET", f"{API}/width?token={token}&at={at}")
    assert status == 422
    assert json.loads(data)["told"]


# The page


def test_dragging_moves_the_curves_and_leaves_the_settled_ones(
    demo: Served, page: Page, faults: list[str]
) -> None:
    """A small version of benchmarks.dragging: results, not times."""
    opened(page, demo)
    acts = demo.book.last()
    before = picture(page)
    bodies: list[str] = []
    page.on("request", lambda it: bodies.append(it.post_data or "") if "/moved" in it.url else None)
    page.evaluate(WATCH)
    page.evaluate(
        """async (selector) => {
          const slider = document.querySelector(selector);
          for (let k = 0; k < 30; k += 1) {
            slider.value = String(500 + 6 * k);
            slider.dispatchEvent(new Event("input", { bubbles: true }));
            await new Promise(requestAnimationFrame);
          }
        }""",
        f"{L1} input[type=range]",
    )
    settled_at_rest(page)
    assert picture(page) != before
    seen = page.evaluate("() => window.seen")
    assert {entry["draws"] for entry in seen if entry["moved"]} == {200, 1000}
    assert len(bodies) == len(set(bodies)) >= 5
    expect(page.locator(".bh-ghost")).to_be_visible()
    expect(page.locator(".bh-changes")).to_contain_text("woofer and tweeter now cross at")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("+62 %")
    page.get_by_role("button", name="L1, coil back to settled").click()
    expect(page.locator(".bh-changes")).to_contain_text("Nothing is moved")
    page.wait_for_function("(was) => document.querySelector('[data-plot=gain] canvas')"
                           ".toDataURL() === was", arg=before)  # fmt: skip
    assert demo.book.last() == acts


def test_by_keyboard_alone(demo: Served, page: Page, faults: list[str]) -> None:
    opened(page, demo)
    plots = page.locator(".bh-plots")
    plots.focus()
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("PageUp")
    expect(page.locator(".bh-said")).to_contain_text("160 Hz: woofer \u22120.")
    said = page.locator(".bh-said").inner_text()
    page.keyboard.press("Shift+ArrowRight")
    assert page.locator(".bh-said").inner_text() != said
    slider = page.locator(f"{L1} input[type=range]")
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("+1.0 %")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("+1.1 %")
    for _ in range(9):  # faster than curves are drawn, and no step is lost
        page.keyboard.press("PageUp")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("x 2.4")
    field = page.get_by_label("L1, coil, type a value")
    field.fill("0.82 mH")
    field.press("Enter")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("\u221232 %")
    expect(slider).to_have_attribute("aria-valuetext", "0.820 mH, \u221232 % from settled")
    field.fill("0.82 parsnips")
    field.press("Enter")
    expect(page.locator(".bh-fault")).to_contain_text("Not worked out")
    expect(field).to_have_attribute("aria-invalid", "true")


def test_a_pinned_version_stays_and_is_compared(
    demo: Served, page: Page, faults: list[str]
) -> None:
    opened(page, demo)
    page.evaluate(WATCH)
    slider = page.locator(f"{L1} input[type=range]")
    slider.focus()
    slider.press("PageUp")
    settled_at_rest(page)
    page.get_by_role("button", name="Pin this version").click()
    expect(page.get_by_label("Name of version A")).to_have_value("L1 +10 %")
    page.get_by_role("button", name="All back to settled").click()
    expect(page.locator(".bh-pinned li").first).to_contain_text("woofer: up to +1.1 dB")
    page.reload()
    expect(page.get_by_label("Name of version A")).to_have_value("L1 +10 %")
    expect(page.locator(".bh-pinned li").first).to_contain_text("woofer: up to +1.1 dB")
    page.get_by_role("button", name="Go to version A").click()
    expect(page.locator(f"{L1} .bh-change")).to_have_text("+10 %")
    page.get_by_role("button", name="Remove version A").click()
    expect(page.locator(".bh-pinned")).to_have_count(0)


def test_what_is_moved_stays_when_a_reading_is_written(
    demo: Served, page: Page, faults: list[str]
) -> None:
    opened(page, demo)
    slider = page.locator(f"{L1} input[type=range]")
    slider.focus()
    slider.press("PageUp")
    expect(page.locator(f"{L1} .bh-change")).to_have_text("+10 %")
    before = page.locator("[data-key='R3/resistance'] .bh-span").inner_text()
    with demo.book.reading() as book:
        reading = {"kind": "resistance", "part": "R3", "value": "12.0 ohm ± 0.5 %",
                   "leads": "0 ohm", "instrument": "meter"}  # fmt: skip
        book.add("example", reading)
    expect(page.locator("[data-key='R3/resistance'] .bh-span")).not_to_have_text(
        before, timeout=15_000
    )
    expect(page.locator(f"{L1}.moved")).to_be_visible()


def test_on_a_phone_one_chart_at_a_time_and_its_words_beside_it(
    demo: Served, browser: Browser, phone_context_args: dict[str, Any]
) -> None:
    context = browser.new_context(**phone_context_args)
    page = context.new_page()
    opened(page, demo)
    expect(page.locator("[data-plot=impedance] canvas")).to_be_hidden()
    page.get_by_role("button", name="Impedance", exact=True).tap()
    expect(page.locator("[data-plot=impedance] canvas")).to_be_visible()
    page.locator(f"{L1} input[type=range]").scroll_into_view_if_needed()
    box = page.locator(f"{L1} input[type=range]").bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + 0.7 * box["width"], box["y"] + 12.0)
    expect(page.locator(f"{L1}.moved")).to_be_visible()
    expect(page.locator(".bh-brief")).to_contain_text("woofer")
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    context.close()


def test_a_server_that_was_away_is_asked_again(
    demo: Served, page: Page, stays_here: list[str]
) -> None:
    """Killed while a value is moved: what is moved stays, and follows once it is back."""
    opened(page, demo)
    port, path = demo.port, demo.path
    demo.stop()
    slider = page.locator(f"{L1} input[type=range]")
    slider.focus()
    slider.press("PageUp")
    expect(page.locator(".bh-fault")).to_contain_text("does not answer")
    again = start(path, port)
    try:
        expect(page.locator(f"{L1} .bh-change")).to_have_text("+10 %", timeout=15_000)
        expect(page.locator(".bh-fault")).to_be_hidden()
        expect(page.locator(".bh-changes")).to_contain_text("woofer: up to")
    finally:
        again.stop()
        demo.server, demo.thread = again.server, again.thread
