"""A newcomer's walk, from an empty notebook to a crossover: by mouse, by touch and by keys."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.web.conftest import PHONE, Served
from tests.web.test_sketch import nodes, where, written

BOARD = "bench"
EMF_V, SOURCE_OHM = 4.12, 50.0
L1_H, L1_OHM, C1_F, C2_F, L2_H, L2_OHM = 0.82e-3, 0.45, 6.8e-6, 4.7e-6, 0.33e-3, 0.3
PROBES = (("n1", 1000.0), ("n1", 3000.0), ("n2", 3000.0), ("n2", 8000.0), ("in", 1000.0))
SPOTS = {"in": (2, 0), "n1": (12, 0), "n2": (12, 10)}


def amplitude(node: str, f_hz: float) -> str:
    """What a scope would show with both drivers unplugged: two dividers side by side."""
    jw = 2j * math.pi * f_hz
    low, high = 1.0 / (jw * C1_F), L2_OHM + jw * L2_H
    woofer, tweeter = L1_OHM + jw * L1_H + low, high + 1.0 / (jw * C2_F)
    both = woofer * tweeter / (woofer + tweeter)
    at_in = EMF_V * both / (SOURCE_OHM + both)
    shown = {"in": at_in, "n1": at_in * low / woofer, "n2": at_in * high / tweeter}[node]
    return f"{abs(shown) * 1000.0:.0f} mVpp"


def half_at() -> str:
    """Where half of the open amplitude is left across the coil alone: halved until it is found."""
    low, high = 1e3, 1e5
    while high / low > 1.0 + 1e-9:
        f_hz = math.sqrt(low * high)
        z = L1_OHM + 2j * cmath.pi * f_hz * L1_H
        low, high = (f_hz, high) if abs(z / (SOURCE_OHM + z)) < 0.5 else (low, f_hz)
    return f"{low / 1000.0:.2f} kHz"


class Person:
    """Somebody at the page, with a mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, one: Locator) -> None:
        one.click()

    def button(self, name: str) -> None:
        self.press(self.page.get_by_role("button", name=name, exact=True))

    def link(self, name: str) -> None:
        self.press(self.page.get_by_role("link", name=name, exact=True))

    def fill(self, label: str, text: str) -> None:
        self.field(label).fill(text)

    def field(self, label: str) -> Locator:
        return self.page.get_by_role("textbox", name=label).locator("visible=true").first

    def tool(self, name: str) -> None:
        tools = self.page.get_by_role("toolbar", name="Tools")
        self.press(tools.get_by_role("button", name=name).first)

    def spot(self, x: int, y: int) -> None:
        self.page.mouse.click(*where(self.page, x, y))

    def place(self, x: int, y: int, *, stands: bool = False) -> None:
        """A part in hand with its middle at a spot."""
        self.spot(x, y)

    def enter(self, text: str) -> None:
        """Into the field that has just opened."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def drag(self, slider: Locator) -> None:
        slider.scroll_into_view_if_needed()
        box = slider.bounding_box()
        assert box
        y = box["y"] + box["height"] / 2
        self.page.mouse.move(box["x"] + box["width"] / 2, y)
        self.page.mouse.down()
        self.page.mouse.move(box["x"] + box["width"] * 0.7, y, steps=6)
        self.page.mouse.up()


class Finger(Person):
    """The same with a finger on a phone."""

    def press(self, one: Locator) -> None:
        one.tap()

    def spot(self, x: int, y: int) -> None:
        self.page.touchscreen.tap(*where(self.page, x, y))

    def drag(self, slider: Locator) -> None:
        slider.scroll_into_view_if_needed()
        box = slider.bounding_box()
        assert box
        y, steps = box["y"] + box["height"] / 2, 6
        touch = self.page.context.new_cdp_session(self.page)
        for k in range(steps + 1):
            x = box["x"] + box["width"] * (0.5 + 0.2 * k / steps)
            kind = "touchStart" if k == 0 else "touchMove"
            touch.send(
                "Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]}
            )
        touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


class Keys(Person):
    """The same with the keyboard alone."""

    MOST = 500

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self.at = [0, 0]

    def reach(self, one: Locator) -> None:
        """Tab on until it has the focus; back where that is nearer."""
        expect(one).to_be_visible()
        for key in ["Tab"] * self.MOST:
            if one.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press(key)
        raise AssertionError(f"Tab never comes to {one}")

    def press(self, one: Locator) -> None:
        self.reach(one)
        self.page.keyboard.press("Enter")

    def fill(self, label: str, text: str) -> None:
        self.reach(self.field(label))
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def spot(self, x: int, y: int) -> None:
        if not self.page.evaluate("document.activeElement.id === 'canvas'"):
            self.reach(self.page.locator("#canvas"))
        for axis, (less, more) in enumerate((("Left", "Right"), ("Up", "Down"))):
            by = (x, y)[axis] - self.at[axis]
            for _ in range(abs(by)):
                self.page.keyboard.press(f"Arrow{more if by > 0 else less}")
        self.at = [x, y]
        self.page.keyboard.press("Enter")

    def place(self, x: int, y: int, *, stands: bool = False) -> None:
        self.spot(*((x, y - 2) if stands else (x - 2, y)))  # the cursor is where its first end goes

    def drag(self, slider: Locator) -> None:
        self.reach(slider)
        for _ in range(12):
            self.page.keyboard.press("ArrowRight")


def check_source(who: Person) -> None:
    page = who.page
    who.press(page.get_by_role("button", name="One part"))
    page.wait_for_url("**/reading")
    who.fill("Nothing connected", f"{EMF_V} Vpp")
    who.fill("The resistor", "47.2 ohm ± 0.5 %")
    who.fill("With the resistor across it", f"{EMF_V * 47.2 / (47.2 + SOURCE_OHM):.2f} Vpp")
    who.button("Write it down")
    page.wait_for_url("**/reading?kind=**")


def read_coil(who: Person) -> None:
    who.fill("Amplitude with nothing connected", f"{EMF_V} Vpp")
    who.fill("Frequency", half_at())
    expect(who.page.locator("#values")).to_contain_text("L1 inductance")
    who.button("Write it down")
    expect(who.page.locator("#done")).to_contain_text("L1")


def draw(who: Person) -> None:
    """A two-way of second order, its first coil the one that has been read."""
    page = who.page
    who.link("Sketch")
    page.wait_for_selector("#canvas[data-ready]")
    who.press(page.locator("#undrawn").get_by_role("button", name="L1"))
    who.place(4, 0)
    who.tool("Capacitor")
    who.place(4, 10)
    who.button("Turn")
    who.tool("Capacitor")
    who.place(8, 2, stands=True)
    written(page)


def finish_drawing(who: Person) -> None:
    who.tool("Coil")
    who.place(8, 12, stands=True)
    who.tool("Driver")
    who.place(12, 2, stands=True)
    who.place(12, 12, stands=True)
    who.tool("Wire")
    for spot in ((6, 0), (12, 0), (6, 10), (12, 10), (2, 10), (2, 0)):
        who.spot(*spot)
    who.tool("Input")
    who.spot(2, 0)
    who.tool("Ground")
    for spot in ((8, 4), (12, 4), (8, 14), (12, 14)):
        who.spot(*spot)
    who.tool("Output")
    who.spot(8, 0)
    who.enter("low side")
    written(who.page)


def probe(who: Person) -> None:
    page = who.page
    who.tool("Probe")
    for node, f_hz in PROBES:
        who.spot(*SPOTS[node])
        expect(page.locator("#probe-form")).to_be_visible()
        expect(page.locator("#probe-form .caution")).to_be_visible()
        who.fill("Amplitude", amplitude(node, f_hz))
        who.fill("Frequency", f"{f_hz / 1000.0:g} kHz")
        who.press(page.locator("#probe-form").get_by_role("button", name="Write it"))
        expect(page.locator("#probe-form")).to_be_hidden(timeout=20_000)


def count(served: Served) -> int:
    with served.book.reading() as book:
        return len(book.readings(BOARD))


def at_rest(slider: Locator) -> str:
    """Where a slider is once it moves no more: key presses are worked off one after another."""
    was = ""
    while (now := slider.input_value()) != was:
        was = now
        slider.page.wait_for_timeout(700)
    return now


def drag_and_undo(who: Person, served: Served) -> None:
    page = who.page
    expect(page.locator(".bh-main")).to_be_visible(timeout=20_000)
    expect(page.locator(".part.settled .label.value")).to_have_count(4)
    row = page.locator("[data-key='C1/capacitance']")
    expect(row.locator("input:not([type=range])")).to_have_value(re.compile(r"4\.\d+ µF"))
    before = page.locator("[data-plot=gain] canvas").evaluate("one => one.toDataURL()")
    slider = page.locator("[data-key='C1/capacitance'] input[type=range]")
    who.drag(slider)
    expect(page.locator(".bh-changes li").first).to_contain_text("dB", timeout=10_000)
    after = page.locator("[data-plot=gain] canvas").evaluate("one => one.toDataURL()")
    assert after != before, "the drawn curve follows the hand"
    moved = at_rest(slider)
    taken = count(served)
    who.press(page.locator("#undo"))
    expect(page.locator("#state")).to_have_text("Taken back")
    assert count(served) == taken - 1
    who.press(page.locator("#redo"))
    expect(page.locator("#state")).to_have_text("Done again")
    assert count(served) == taken
    page.reload()
    page.wait_for_selector("#canvas[data-ready]")
    expect(page.locator(".part")).to_have_count(6)
    expect(page.locator(".part.settled .label.value")).to_have_count(4, timeout=20_000)
    expect(slider).to_have_value(moved, timeout=20_000)
    expect(page.locator(".bh-changes li").first).to_contain_text("dB", timeout=20_000)


def walk(who: Person, served: Served) -> None:
    """The whole of it."""
    page = who.page
    page.goto(served.address)
    check_source(who)
    read_coil(who)
    draw(who)
    finish_drawing(who)
    assert nodes(served, BOARD) == {
        "L1": ("in", "n1"), "C1": ("in", "n2"), "C2": ("n1", "gnd"), "L2": ("n2", "gnd"),
        "driver 1": ("n1", "gnd"), "driver 2": ("n2", "gnd"),
    }  # fmt: skip
    probe(who)
    assert count(served) == 2 + len(PROBES)
    settled = served.book.settled(BOARD)
    truth = {("L1", "inductance"): L1_H, ("C2", "capacitance"): C1_F,
             ("C1", "capacitance"): C2_F, ("L2", "inductance"): L2_H}  # fmt: skip
    for one, value in truth.items():
        found = settled.estimate(*one)
        assert found.determined, one
        assert found.low < value < found.high, one
    drag_and_undo(who, served)


@pytest.fixture
def phone_page(browser: Browser) -> Iterator[Page]:
    more: dict[str, Any] = PHONE
    context = browser.new_context(**more)
    page = context.new_page()
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))
    yield page
    context.close()
    assert found == []


def test_the_walk_with_a_mouse(empty: Served, page: Page, faults: list[str]) -> None:
    walk(Person(page), empty)


def test_the_walk_on_a_phone(empty: Served, phone_page: Page) -> None:
    walk(Finger(phone_page), empty)


def test_the_walk_by_keys_alone(empty: Served, page: Page, faults: list[str]) -> None:
    walk(Keys(page), empty)
