"""The sketch page: a two-way drawn by mouse, by keys and by touch; undo; nothing is lost."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.conftest import Served, start
from tests.web.test_access import violations

G = 14
BOARD = "new"
TWO_WAY = {
    "L1": ("in", "n1"),
    "woofer": ("n1", "gnd"),
    "C1": ("in", "n2"),
    "tweeter": ("n2", "gnd"),
}


@pytest.fixture
def begun(empty: Served) -> Served:
    empty.book.do(lambda notebook: notebook.begin_board(BOARD))
    return empty


def opened(page: Page, served: Served, board: str = BOARD) -> None:
    page.goto(served.url(f"/b/{board}/sketch"))
    page.wait_for_selector("#canvas[data-ready]")


def nodes(served: Served, board: str = BOARD) -> dict[str, tuple[str, ...]]:
    """What the notebook says each part is between."""
    with served.book.reading() as book:
        sketch = book.plain(board).get("sketch", {})
    return {name: tuple(pair) for name, pair in sketch.get("between", {}).items()}


def raw(served: Served, board: str = BOARD) -> dict[str, Any]:
    with served.book.reading() as book:
        return book.plain(board)


def written(page: Page) -> None:
    """Until the last change is in the notebook."""
    expect(page.locator("#canvas")).to_have_attribute("data-written", "true")
    expect(page.locator("#state")).to_have_attribute("data-state", "saved")


def where(page: Page, x: float, y: float) -> tuple[float, float]:
    """A spot of the grid on the screen."""
    left, top, shown_x, shown_y, zoom = page.evaluate(
        """() => { const svg = document.getElementById("canvas");
        const box = svg.getBoundingClientRect(), view = svg.viewBox.baseVal;
        return [box.left, box.top, view.x, view.y, box.width / view.width]; }"""
    )
    return left + (x * G - shown_x) * zoom, top + (y * G - shown_y) * zoom


def click(page: Page, x: float, y: float) -> None:
    page.mouse.click(*where(page, x, y))


def raw_drawing(page: Page) -> dict[str, list[int]]:
    """Where each part lies, as the server tells it."""
    told = page.evaluate("async () => (await fetch(`/api${location.pathname}`)).json()")
    found: dict[str, list[int]] = told["drawing"]["parts"]
    return found


def tool(page: Page, name: str) -> None:
    page.get_by_role("toolbar", name="Tools").get_by_role("button", name=name).first.click()


def draw_by_mouse(page: Page) -> None:
    """Middles of the parts: coils and capacitors lie, drivers stand."""
    tool(page, "Coil")
    click(page, 4, 0)
    tool(page, "Capacitor")
    click(page, 4, 10)
    tool(page, "Driver")
    page.locator("#canvas").press("t")
    click(page, 12, 4)
    click(page, 12, 14)
    tool(page, "Wire")
    for spot in ((6, 0), (12, 2), (6, 10), (12, 12), (2, 0), (-4, 0), (-4, 0), (-4, 0), (2, 10)):
        click(page, *spot)
    tool(page, "Input")
    click(page, -4, 0)
    tool(page, "Ground")
    click(page, 12, 6)
    click(page, 12, 16)
    written(page)
    tool(page, "Select")
    for y, name in ((4, "woofer"), (14, "tweeter")):
        click(page, 12, y)
        page.get_by_label("Name", exact=True).fill(name)
        page.get_by_label("Name", exact=True).press("Enter")
    written(page)


def test_a_two_way_is_drawn_by_mouse(begun: Served, page: Page, faults: list[str]) -> None:
    opened(page, begun)
    draw_by_mouse(page)
    assert nodes(begun) == TWO_WAY
    assert raw(begun)["sketch"]["input"] == "in"
    expect(page.get_by_text("Nothing doubtful in the drawing")).to_be_visible()

    # undo and redo step by step; the notebook follows
    page.locator("#canvas").press("Control+z")
    written(page)
    assert set(nodes(begun)) == {"L1", "woofer", "C1", "driver 2"}
    page.locator("#canvas").press("Control+Shift+z")
    written(page)
    assert nodes(begun) == TWO_WAY

    # reloaded it is all there
    before = raw(begun)
    page.reload()
    page.wait_for_selector("#canvas[data-ready]")
    expect(page.locator(".part")).to_have_count(4)
    page.wait_for_timeout(500)
    assert raw(begun) == before

    # the header's undo takes back what was written last, and the page follows
    page.locator("#undo").click()
    expect(page.locator(".label.name", has_text="driver 2")).to_be_visible()


def test_parts_move_with_their_wires_and_doubts_are_pointed_at(
    begun: Served, page: Page, faults: list[str]
) -> None:
    opened(page, begun)
    draw_by_mouse(page)
    page.mouse.move(*where(page, 4, 0))
    page.mouse.down()
    page.mouse.move(*where(page, 5, 2), steps=4)
    page.mouse.move(*where(page, 4, 3), steps=4)
    page.mouse.up()
    written(page)
    assert nodes(begun) == TWO_WAY
    assert raw(begun)["sketch"]["drawing"]["parts"]["L1"] == [2, 3, 0]

    # a node is shown under the pointer, and its whole net with it
    page.mouse.move(*where(page, 12, 0.5))
    page.mouse.move(*where(page, 12, 2))
    expect(page.locator(".net-tag")).to_have_text("n1")

    # what hangs is pointed at and told
    tool(page, "Resistor")
    click(page, 24, 0)
    written(page)
    expect(page.locator("#remarks li")).to_have_count(1)
    expect(page.locator("#remarks")).to_contain_text("R1 is joined to nothing yet")
    expect(page.locator(".remark")).to_have_count(1)
    page.locator("#canvas").press("Delete")
    written(page)
    expect(page.locator("#remarks li")).to_have_count(0)
    assert "R1" not in raw(begun)["parts"], "of a part that says nothing nothing is kept"


class Keys:
    """The keyboard, and where the grid cursor is."""

    def __init__(self, page: Page) -> None:
        self.page, self.at = page, [0, 0]

    def go(self, x: int, y: int) -> None:
        for axis, (less, more) in enumerate((("Left", "Right"), ("Up", "Down"))):
            by = (x, y)[axis] - self.at[axis]
            arrow = f"Arrow{more if by > 0 else less}"
            self.press(*[f"Shift+{arrow}"] * (abs(by) // 4), *[arrow] * (abs(by) % 4))
        self.at = [x, y]

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)


def draw_by_keys(keys: Keys) -> None:
    keys.go(2, 0)
    keys.press("l", "Enter")
    keys.go(2, 10)
    keys.press("c", "Enter", "d", "t")
    for spot in ((12, 2), (12, 12)):
        keys.go(*spot)
        keys.press("Enter")
    keys.press("w")
    for spot in ((6, 0), (12, 2), (6, 10), (12, 12), (2, 10), (2, 0)):
        keys.go(*spot)
        keys.press("Enter")
    keys.press("i", "Enter", "g")
    for foot in ((12, 6), (12, 16)):
        keys.go(*foot)
        keys.press("Enter")
    keys.press("Escape")
    for y, name in ((4, "woofer"), (14, "tweeter")):
        keys.go(12, y)
        keys.press("Enter", "e")
        keys.page.keyboard.type(name)
        keys.press("Enter")


def to_canvas(page: Page) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "canvas":
            return
    raise AssertionError("Tab never comes to the drawing")


def test_a_two_way_is_drawn_by_keys_alone(begun: Served, page: Page, faults: list[str]) -> None:
    opened(page, begun)
    to_canvas(page)
    keys = Keys(page)
    draw_by_keys(keys)
    written(page)
    assert nodes(begun) == TWO_WAY
    keys.go(12, 2)
    expect(page.locator("#sketch-live")).to_have_text(
        "12 right, 2 down: + end of woofer, wire, node n1"
    )

    # choose, move, duplicate, erase
    keys.go(4, 0)
    keys.press("Enter", "m", "ArrowUp", "ArrowUp", "Enter")
    written(page)
    assert raw(begun)["sketch"]["drawing"]["parts"]["L1"] == [2, -2, 0]
    assert nodes(begun) == TWO_WAY
    keys.press("Shift+D")
    written(page)
    assert "L2" in raw(begun)["parts"]
    keys.press("Delete")
    written(page)
    assert "L2" not in raw(begun)["parts"]
    assert nodes(begun) == TWO_WAY

    # every tool can be reached and says whether it is in hand
    keys.press("p")
    expect(page.get_by_role("button", name="Probe")).to_have_attribute("aria-pressed", "true")
    keys.go(12, 2)
    keys.press("Enter")
    expect(page.get_by_text("Unplug the amplifier")).to_be_visible()
    keys.press("Escape")
    expect(page.locator("#probe-form")).to_be_hidden()


@pytest.fixture
def phone(begun: Served, browser: Browser, phone_context_args: dict[str, Any]) -> Iterator[Page]:
    """The sketch on a phone, with a two-way begun from a shape, by touch alone."""
    context = browser.new_context(**phone_context_args)
    page = context.new_page()
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))
    opened(page, begun)
    page.get_by_text("Begin with").tap()
    page.get_by_role("button", name="Two-way, second order").tap()
    tap(page, 0, 0)
    page.get_by_role("button", name="All of it").tap()
    written(page)
    yield page
    context.close()
    assert found == []


def tap(page: Page, x: float, y: float) -> None:
    page.touchscreen.tap(*where(page, x, y))


def frame(page: Page) -> list[float]:
    """Where one looks: left, top, width."""
    found: list[float] = page.evaluate(
        "(({x, y, width}) => [x, y, width])(document.getElementById('canvas').viewBox.baseVal)"
    )
    return found


def fingers(page: Page, *ways: tuple[tuple[float, float], tuple[float, float]]) -> None:
    """Each finger from one point of the screen to another."""
    touch = page.context.new_cdp_session(page)
    for kind, share in (("touchStart", 0.0), ("touchMove", 0.5), ("touchMove", 1.0)):
        spots = [
            {"x": a[0] + (b[0] - a[0]) * share, "y": a[1] + (b[1] - a[1]) * share, "id": k}
            for k, (a, b) in enumerate(ways)
        ]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_timeout(60)


def test_a_finger_moves_the_paper_two_zoom_and_what_is_chosen_is_moved(
    begun: Served, phone: Page
) -> None:
    assert set(nodes(begun)) == {"L1", "C1", "woofer", "C2", "L2", "tweeter"}
    seen = frame(phone)
    middle = where(phone, 6, 10)
    fingers(phone, (middle, (middle[0] + 60, middle[1])))
    assert frame(phone)[0] < seen[0]
    assert frame(phone)[2] == seen[2]
    seen = frame(phone)
    fingers(phone, ((100, 400), (60, 400)), ((200, 400), (300, 400)))
    assert frame(phone)[2] == pytest.approx(seen[2] * 100 / 240, rel=0.05)
    phone.get_by_role("button", name="All of it").tap()
    before = nodes(begun)
    x, y, _ = raw(begun)["sketch"]["drawing"]["parts"]["L1"]
    tap(phone, x + 2, y)
    fingers(phone, (where(phone, x + 2, y), where(phone, x + 2, y - 3)))
    written(phone)
    assert raw(begun)["sketch"]["drawing"]["parts"]["L1"] == [x, y - 3, 0]
    assert nodes(begun) == before


def test_a_node_is_touched_and_an_amplitude_typed(begun: Served, phone: Page) -> None:
    phone.get_by_role("toolbar", name="Tools").get_by_role("button", name="Probe").tap()
    x, y, _ = raw(begun)["sketch"]["drawing"]["parts"]["woofer"]
    tap(phone, x, y)
    expect(phone.get_by_text("Unplug the amplifier")).to_be_visible()
    phone.get_by_label("Amplitude").fill("0.47")
    phone.get_by_role("textbox", name="Frequency").fill("2 kHz")
    phone.get_by_role("button", name="Write it").tap()
    expect(phone.locator("#probe-form .fault")).to_contain_text("the unit is missing")
    with begun.book.reading() as book:
        assert book.readings(BOARD) == ()
    sheet = '[sources.generator]\nopen = "4 Vpp"\n[instruments.scope]\nkind = "oscilloscope"\n'
    begun.book.do(lambda notebook: notebook.put(BOARD, sheet))
    phone.get_by_label("Amplitude").fill("0.47 Vpp")
    phone.get_by_role("button", name="Write it").tap()
    expect(phone.locator("#probe-form")).to_be_hidden()
    expect(phone.locator(".probed")).to_have_count(1)
    tap(phone, x, y)
    expect(phone.get_by_role("textbox", name="Frequency")).to_have_value("2 kHz")
    with begun.book.reading() as book:
        (reading,) = book.readings(BOARD)
    assert reading.raw["amplitudes"] == {"n1": "0.47 Vpp"}
    assert reading.raw["detached"] == ["woofer", "tweeter"]


def test_the_example_is_laid_out_with_its_values(
    demo: Served, page: Page, faults: list[str]
) -> None:
    opened(page, demo, "example")
    expect(page.locator(".part")).to_have_count(12)
    expect(page.locator(".part.settled .label.value").first).to_have_text(
        re.compile(r"1\.\d+ mH"), timeout=15000
    )
    assert "drawing" not in raw(demo, "example")["sketch"], "looking writes nothing"
    page.mouse.move(*where(page, 0, 5))
    page.mouse.move(*where(page, 0, 6))
    expect(page.locator(".net-tag")).to_have_text("in")
    # a pinch of the pointer's own: the wheel zooms once the drawing has been touched
    width = page.evaluate("document.getElementById('canvas').viewBox.baseVal.width")
    page.locator("#canvas").focus()
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(100)
    now = page.evaluate("document.getElementById('canvas').viewBox.baseVal.width")
    assert now < width


def test_nodes_that_are_to_be_read_are_marked_here_and_in_a_picture_elsewhere(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.goto(demo.url("/b/example/sketch?read=w,z"))
    page.wait_for_selector("#canvas[data-ready]")
    expect(page.locator(".wanted text")).to_have_text(["w", "z"])
    page.goto(demo.address)
    page.evaluate(
        """async () => {
        const {showSketch} = await import("/static/js/sketch/picture.js");
        const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
        svg.id = "picture";
        document.querySelector("main").append(svg);
        await showSketch(svg, "example", {read: ["m"]});
        }"""
    )
    expect(page.locator("#picture .part")).to_have_count(12)
    expect(page.locator("#picture .wanted text")).to_have_text(["m"])


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_sketch_at_work_breaks_no_rule_of_accessibility(
    demo: Served, browser: Browser, theme: Any
) -> None:
    """With its forms open, things chosen and doubted."""
    context = browser.new_context(color_scheme=theme, bypass_csp=True)
    page = context.new_page()
    page.route("**/sketch/values", lambda route: route.fulfill(json=DOUBTED))
    opened(page, demo, "example")
    for one in ("Photo under the drawing", "Keys", "Begin with"):
        page.locator("summary", has_text=one).click()
    expect(page.get_by_role("button", name="L-pad")).to_be_visible()
    assert violations(page) == []
    x, y, _ = raw_drawing(page)["L1"]
    tool(page, "Resistor")
    page.locator("summary", has_text="Begin with").click()
    click(page, 25, 8)
    written(page)
    tool(page, "Probe")
    click(page, x, y)
    expect(page.locator("#probe-form")).to_be_visible()
    assert violations(page) == []
    context.close()


def test_what_is_drawn_while_the_server_is_away_is_kept(
    begun: Served, page: Page, stays_here: list[str]
) -> None:
    opened(page, begun)
    tool(page, "Coil")
    click(page, 4, 0)
    written(page)
    port, path = begun.port, begun.path
    begun.stop()
    click(page, 4, 8)
    page.wait_for_timeout(700)
    expect(page.locator("#state")).to_have_attribute("data-state", "away")
    click(page, 4, 16)
    page.wait_for_timeout(200)
    again = start(path, port)
    try:
        expect(page.locator("#state")).to_have_attribute("data-state", "saved", timeout=8000)
        page.wait_for_timeout(600)
        assert set(raw(again)["parts"]) == {"L1", "L2", "L3"}
        page.reload()
        page.wait_for_selector("#canvas[data-ready]")
        expect(page.locator(".part")).to_have_count(3)
        with again.book.reading() as book:
            assert book.beside() == ()
    finally:
        again.stop()
        begun.book = again.book


def test_two_tabs_see_each_other_and_lose_nothing(
    begun: Served, page: Page, faults: list[str]
) -> None:
    opened(page, begun)
    other = page.context.new_page()
    opened(other, begun)
    tool(page, "Coil")
    click(page, 4, 0)
    expect(other.locator(".part")).to_have_count(1)
    tool(other, "Resistor")
    other.mouse.click(*where(other, 4, 12))
    expect(page.locator(".part")).to_have_count(2)
    written(page)
    assert set(raw(begun)["parts"]) == {"L1", "R1"}
    with begun.book.reading() as book:
        assert book.beside() == ()

    # both draw at once: the second is shown the first one's, and undo brings its own back
    for one, x in ((page, 14), (other, 20)):
        tool(one, "Capacitor")
        one.locator("#canvas").evaluate("svg => svg.focus()")
        one.mouse.click(*where(one, x, 6))
    written(page)
    written(other)
    expect(page.locator(".label.name", has_text="C1")).to_have_count(1)
    expect(other.locator(".label.name", has_text="C1")).to_have_count(1)
    late = other if other.locator("#sketch-failed").text_content() else page
    late.locator("#canvas").press("Control+z")
    written(late)
    expect(page.locator(".label.name", has_text="C2")).to_have_count(1)
    assert {"C1", "C2"} <= set(raw(begun)["parts"]), "undo takes none of the other's parts away"
    expect(late.locator("#undrawn")).to_have_text("C1")


DOUBTED = {
    "values": {"C1": {"value": "14.0 µF", "well": "±2 %", "state": "doubtful"}},
    "findings": [
        {
            "kind": "sketch doubt",
            "message": "The readings do not agree with the sketch.",
            "parts": ["C1"],
            "explanations": [{"what": "C1 is at m", "change": "", "chance": "over 99 %"}],
        }
    ],
    "fault": "",
}


def test_what_the_readings_doubt_is_drawn_on_its_parts(
    demo: Served, page: Page, faults: list[str]
) -> None:
    page.route("**/sketch/values", lambda route: route.fulfill(json=DOUBTED))
    opened(page, demo, "example")
    expect(page.locator(".doubted")).to_have_count(1)
    expect(page.locator(".part.doubtful .label.name")).to_have_text("C1")
    expect(page.locator("#doubts")).to_contain_text("C1 is at m; over 99 %")


def test_a_circuit_that_the_drawing_has_lost_stays_and_is_told(
    demo: Served, page: Page, faults: list[str]
) -> None:
    opened(page, demo, "example")
    before = {name: one.between for name, one in demo.book.sheet("example").parts.items()}
    lying = raw_drawing(page)
    for name, (dx, dy) in {"C1": (0, 2), "L3": (2, 0)}.items():
        click(page, lying[name][0] + dx, lying[name][1] + dy)
        page.locator("#canvas").press("Delete")
    written(page)
    expect(page.locator("#undrawn li")).to_have_count(2)
    expect(page.locator("#sketch-held")).to_contain_text("stays as it was")
    expect(page.locator("#remarks li").first).to_contain_text("not the one drawn")
    assert {name: one.between for name, one in demo.book.sheet("example").parts.items()} == before
    page.get_by_role("button", name="Draw it anew from the sheet").click()
    written(page)
    expect(page.locator("#remarks li")).to_have_count(0)
    expect(page.locator(".part")).to_have_count(12)
    expect(page.locator("#sketch-held")).to_have_text("")


@pytest.mark.parametrize("wide", [1100, 1280, 1500, 1900])
def test_the_networks_to_begin_with_open_on_the_screen(
    begun: Served, page: Page, wide: int
) -> None:
    page.set_viewport_size({"width": wide, "height": 800})
    opened(page, begun)
    page.locator("summary", has_text="Begin with").click()
    expect(page.get_by_role("button", name="L-pad")).to_be_visible()
    box = page.locator("#shapes .sheet").bounding_box()
    assert box
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= wide


def test_a_board_is_probed_before_anything_is_known_of_the_bench(
    begun: Served, page: Page, faults: list[str]
) -> None:
    """No source and no scope yet: the usual ones come with the first reading, and that is said."""
    opened(page, begun)
    draw_by_mouse(page)
    tool(page, "Probe")
    click(page, 12, 2)
    form = page.locator("#probe-form")
    expect(form.locator("[data-new]")).to_contain_text("generator, scope")
    form.get_by_label("Amplitude read").fill("12 kHz")
    form.get_by_role("button", name="Write it").click()
    expect(form.get_by_role("alert")).to_have_text(re.compile('^"12 kHz": "kHz" is a unit of freq'))
    form.get_by_label("Amplitude read").fill("3,08 Vpp")
    form.get_by_role("button", name="Write it").click()
    expect(form).to_be_hidden()
    told = raw(begun)
    assert list(told["sources"]) == ["generator"]
    assert list(told["instruments"]) == ["scope"]
    assert told["readings"][0]["amplitudes"] == {"n1": "3,08 Vpp"}
    click(page, 12, 2)
    expect(form).to_be_visible()
    expect(form.locator("[data-new]")).to_be_hidden()
