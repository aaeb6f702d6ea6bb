"""Taking a reading: the first coil, cautions, drafts, slips, revisions."""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, Page, expect

from ohmbook.bench import kinds as bench_kinds
from ohmbook.bench.kinds import KINDS
from tests.bench.two_lamps import TwoLamps
from tests.web.conftest import Served, notebook_at, start

EVERY_KIND = tuple(get_args(one.model_fields["kind"].annotation)[0] for one in KINDS)
FIRST_KINDS = EVERY_KIND[:6]
WITHOUT_CAUTION = ("meter", "generator off", "impedance", "clips shorted", "clips open")
"""On a coil alone a meter does nothing that could hurt; clips or a probe on themselves neither."""

CHOSEN_FIRST = ("coupled coils", "sweep")
"""Drawn once more is chosen than a part."""


class Counted:
    """A person at the page: every click, choice and filled-in field counts one."""

    def __init__(self, page: Page) -> None:
        self.page, self.actions = page, 0

    def click(self, name: str) -> None:
        self.actions += 1
        self.page.get_by_role("button", name=name).click()

    def fill(self, label: str, text: str) -> None:
        self.actions += 1
        self.page.get_by_label(label, exact=False).locator("visible=true").first.fill(text)


def test_a_newcomers_first_coil_with_its_source_check_in_eight_actions(
    empty: Served, page: Page, faults: list[str]
) -> None:
    page.goto(empty.address)
    person = Counted(page)
    person.click("One part")
    page.wait_for_url("**/reading")
    expect(page.get_by_role("heading", level=1)).to_contain_text("First, once")
    person.fill("Nothing connected", "4.12 Vpp")
    person.fill("The resistor", "47.2 ohm ± 0.5 %")
    person.fill("With the resistor across it", "2.00 Vpp")
    expect(page.locator("#values")).to_contain_text("generator")
    person.click("Write it down")
    page.wait_for_url("**/reading?kind=**")
    expect(page.get_by_text("The check is written down")).to_be_visible()
    person.fill("Amplitude with nothing connected", "4.12 Vpp")
    person.fill("Frequency", "5.6 kHz")
    expect(page.locator("#values")).to_contain_text("L1 inductance")
    person.click("Write it down")
    expect(page.locator("#done")).to_contain_text("L1 0.8")
    assert person.actions <= 8
    settled = empty.book.settled("bench")
    coil, source = settled.estimate("L1", "inductance"), settled.estimate("generator", "resistance")
    assert coil.determined
    assert source.determined
    assert 0.7e-3 < coil.low < coil.high < 0.95e-3


def test_the_check_can_be_skipped_and_what_was_written_taken_back(
    empty: Served, page: Page, faults: list[str]
) -> None:
    page.goto(empty.address)
    page.get_by_role("button", name="One part").click()
    page.get_by_role("link", name="Not now, read a part first").click()
    page.get_by_role("textbox", name="Amplitude with nothing connected").fill("4.12 Vpp")
    page.get_by_role("textbox", name="Frequency").fill("5.6")
    page.get_by_role("button", name="Use 5.6 kHz").click()
    expect(page.locator("#values")).to_contain_text("mH")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#done")).to_be_visible()
    page.get_by_role("button", name="Take it back").click()
    expect(page.locator("#wanting")).to_contain_text("Taken back")
    expect(page.get_by_role("textbox", name="Frequency")).to_have_value("5.6 kHz")
    with empty.book.reading() as book:
        assert book.plain("bench") == {}
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("button", name="Another like this").click()
    expect(page.get_by_label("Part", exact=True)).to_have_value("L1")
    expect(page.get_by_role("textbox", name="Frequency")).to_have_value("")


@pytest.mark.parametrize("phone", [False, True])
def test_every_caution_stands_before_its_wiring_picture(
    demo: Served, browser: Browser, phone_context_args: dict[str, object], phone: bool
) -> None:
    context = browser.new_context(**(phone_context_args if phone else {}))  # type: ignore[arg-type]
    page = context.new_page()
    for kind in FIRST_KINDS if phone else EVERY_KIND:
        if kind in CHOSEN_FIRST:
            continue
        part = "&part=L1" if kind in FIRST_KINDS else ""
        page.goto(demo.url(f"b/example/reading?kind={quote(kind)}{part}"))
        picture = page.locator("figure.wiring svg").first
        expect(picture).to_be_visible()
        order = page.evaluate(
            "[...document.querySelectorAll('#setups .caution, #setups figure')]"
            ".map(one => [one.tagName, one.getBoundingClientRect().top])"
        )
        assert order[-1][0] == "FIGURE", kind
        if kind not in WITHOUT_CAUTION:
            assert [tag for tag, _ in order] == ["DIV", "FIGURE"] * (len(order) // 2), kind
            assert order[0][1] < order[1][1], kind
            assert page.locator("#setups .caution li").first.is_visible(), kind
        assert page.locator("#setups .clips li").count() > 0, kind
    context.close()


def test_a_slip_is_told_and_mended_with_one_touch(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.goto(demo.url("b/example/reading?kind=amplitude%20ratio&part=L1"))
    page.get_by_role("textbox", name="Amplitude with nothing connected").fill("6.16 Vpp")
    page.get_by_role("textbox", name="Frequency").fill("3.881 MHz")
    fix = page.get_by_role("button", name="Use 3.881 kHz")
    expect(fix).to_be_visible(timeout=15_000)
    fix.click()
    expect(page.get_by_role("textbox", name="Frequency")).to_have_value("3.881 kHz")
    expect(page.locator("#doubts")).to_be_empty(timeout=15_000)
    expect(page.locator("#agree")).to_contain_text("Yes")


def test_what_is_typed_is_there_after_a_reload_and_a_killed_server(
    tmp_path: Path, page: Page
) -> None:
    path = notebook_at(tmp_path / "bench.ohmbook", bench='parts.L1 = { kind = "inductor" }\n')
    served = start(path)
    port = served.port
    page.goto(served.url("b/bench/reading?kind=amplitude%20ratio"))
    page.get_by_role("textbox", name="Amplitude with nothing connected").fill("4.12 Vpp")
    page.reload()
    expect(page.get_by_role("textbox", name="Amplitude with nothing connected")).to_have_value(
        "4.12 Vpp"
    )
    served.stop()
    page.get_by_role("textbox", name="Frequency").fill("5.6 kHz")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#state")).to_have_attribute("data-state", "away")
    served = start(path, port)
    try:
        expect(page.locator("#done")).to_be_visible(timeout=15_000)
        with served.book.reading() as book:
            (kept,) = book.readings("bench")
        assert kept.raw["frequency"] == "5.6 kHz"
        page.goto(served.url("b/bench/reading?kind=amplitude%20ratio"))
        expect(page.get_by_role("textbox", name="Frequency")).to_have_value("")
    finally:
        served.stop()


def test_a_reading_is_put_right_with_its_cells_checked(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.goto(demo.url("b/example/reading?revise=reading%205"))
    cell = page.get_by_label("0.7 kHz, w, mVpp")
    expect(cell).to_have_value("1104")
    cell.fill("1o4")
    expect(page.locator("td[data-mark=bad]")).to_have_count(1)
    cell.fill("1105")
    expect(page.locator("td[data-mark=good]").first).to_be_visible(timeout=15_000)
    cell.press("Enter")
    expect(page.get_by_label("1.2 kHz, w, mVpp")).to_be_focused()
    page.get_by_role("button", name="Write the correction down").click()
    expect(page.locator("#done")).to_be_visible()
    with demo.book.reading() as book:
        assert len(book.readings("example")) == 5
        assert "1105" in book.reading("example", "reading 5").raw["table"]
        assert book.history()[-1].kind == "revise"


def test_a_suggested_reading_is_taken_up_with_only_its_result_left_blank(
    demo: Served, page: Page, faults: list[str]
) -> None:
    reading = {"kind": "resistance", "between": ["a", "b"], "instrument": "meter",
               "detached": ["woofer", "tweeter"], "leads": "@reading 4"}  # fmt: skip
    take = json.dumps({"reading": reading, "expected": {"value": "15.0 ohm"}})
    page.goto(demo.url(f"b/example/reading?take={quote(take)}"))
    blank = page.get_by_label("The meter shows")
    expect(blank).to_have_attribute("placeholder", "15.0 ohm")
    blank.fill("15.1 ohm")
    expect(page.locator("#agree")).to_contain_text("Do the readings agree?")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#done")).to_be_visible()
    with demo.book.reading() as book:
        raw = book.readings("example")[-1].raw
    assert raw == {**reading, "value": "15.1 ohm"}


def test_the_pad_types_numbers_with_units(
    empty: Served, browser: Browser, phone_context_args: dict[str, object]
) -> None:
    context = browser.new_context(**phone_context_args)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(empty.address)
    page.get_by_role("button", name="One part").tap()
    page.get_by_role("link", name="Not now, read a part first").tap()
    field = page.get_by_role("textbox", name="Frequency")
    field.tap()
    pad = page.locator("#pad")
    expect(pad).to_be_visible()
    assert field.get_attribute("inputmode") == "none"
    for key in ("5", ".", "6", "kHz"):
        pad.get_by_role("button", name=key, exact=True).tap()
    expect(field).to_have_value("5.6 kHz")
    sizes = page.eval_on_selector_all(
        "#pad button:not(.blank)",
        "all => all.map(one => Math.min(one.offsetWidth, one.offsetHeight))",
    )
    assert min(sizes) >= 44
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()


def test_a_part_a_generator_and_a_scope_of_ones_own_by_keyboard_alone(
    empty: Served, page: Page, faults: list[str]
) -> None:
    page.goto(empty.address)
    page.get_by_role("button", name="One part").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/reading")
    page.get_by_role("link", name="Not now, read a part first").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**kind=**")
    page.get_by_role("radio", name="coil").focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("textbox", name="Name", exact=True)).to_have_value("C1")
    source = page.get_by_label("Generator", exact=True)
    source.focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    resistance = page.get_by_role("textbox", name="Output resistance")
    expect(resistance).to_have_attribute("placeholder", "50 ohm ± 5 %")
    resistance.focus()
    page.keyboard.type("600 ohm ± 1 %")
    page.get_by_role("textbox", name="Amplitude with nothing connected", exact=True).last.focus()
    page.keyboard.type("4.12 Vpp")
    page.keyboard.press("Enter")
    expect(page.get_by_role("textbox", name="Frequency", exact=True)).to_be_focused()
    page.keyboard.type("153 Hz")
    expect(page.locator("#values")).to_contain_text("C1 capacitance")
    page.keyboard.press("Enter")
    expect(page.locator("#done")).to_be_focused()
    with empty.book.reading() as book:
        raw = book.plain("bench")
        assert len(book.history()) == 2  # the board, and all of this as one act
    assert raw["parts"] == {"C1": {"kind": "capacitor"}}
    assert raw["sources"]["generator"] == {"like": "generator", "resistance": "600 ohm ± 1 %"}
    # half of the amplitude across C: X = R / sqrt 3, so C = sqrt 3 / (2 pi f R)
    found = empty.book.settled("bench").estimate("C1", "capacitance")
    assert found.low < 3**0.5 / (2 * 3.141592653589793 * 153 * 600) < found.high


def test_another_tab_s_reading_is_counted_and_an_outdated_revision_stands_beside(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.goto(demo.url("b/example/reading?revise=reading%203"))
    page.get_by_role("textbox", name="Frequency", exact=True).fill("3882 Hz")
    other = page.context.new_page()
    other.goto(demo.url("b/example/reading?revise=reading%203"))
    other.get_by_role("textbox", name="Frequency", exact=True).fill("3883 Hz")
    other.get_by_role("button", name="Write the correction down").click()
    expect(other.locator("#done")).to_be_visible()
    page.get_by_role("button", name="Write the correction down").click()
    expect(page.get_by_role("alert")).to_contain_text("changed by someone else")
    with demo.book.reading() as book:
        assert book.reading("example", "reading 3").raw["frequency"] == "3883 Hz"
        assert len(book.beside()) == 1


def test_the_throw_away_kind_is_taken_for_nothing(
    empty: Served, page: Page, faults: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench_kinds, "KINDS", (*bench_kinds.KINDS, TwoLamps))
    page.goto(empty.address)
    page.get_by_role("button", name="One part").click()
    page.get_by_role("link", name="Two lamps").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Two lamps")
    page.get_by_role("radio", name="resistor").check()
    page.get_by_role("textbox", name="Like").fill("12 ohm ± 5 %")
    expect(page.locator("#values")).to_contain_text("R1 resistance")
    expect(page.locator("#setups .clips")).to_contain_text("lamp + to a")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#done")).to_contain_text("R1 12")
    with empty.book.reading() as book:
        assert book.plain("bench") == {
            "parts": {"R1": {"kind": "resistor"}},
            "readings": [{"kind": "two lamps", "part": "R1", "like": "12 ohm ± 5 %"}],
        }
