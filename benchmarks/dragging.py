"""A value dragged on the behaviour page: from the hand's move to the curve with its band.

    python -m benchmarks.dragging [SECONDS] [SEED]

Headless Chromium on a server in this process. A slider is moved at every frame, to another value
each time; each move is a request of its own or is overtaken by a later one, and no answer is used
twice. Timed is from the input event to the end of the drawing that shows that value or a later
one, and to the frame after it; while moving with 200 draws, at rest with 1000. Then what each page
of the built-in board weighs over the wire, and when it first paints, nothing cached. Prints what
is wanted beside what was measured.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from shutil import which
from typing import Any

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright
from tests.web.conftest import BROWSERS, QUIET, Served, notebook_at, start

from benchmarks import simulate
from ohmbook.job.demo import demo_text

PAGES = ("parts", "reading", "sketch", "plan", "history", "behaviour")
WANTED_MEDIAN_MS, WANTED_P95_MS = 33.0, 60.0
WANTED_PAINT_MS, WANTED_KB = 1000.0, 250.0
SLIDER = "[data-key='{key}'] input[type=range]"

WATCH = """
() => {
  const held = { asked: [], drawn: [] };
  const plain = window.fetch;
  window.fetch = (url, options) => {
    if (String(url).endsWith("/moved")) held.asked.push(options.body);
    return plain(url, options);
  };
  performance.setResourceTimingBufferSize(5000);
  document.addEventListener("ohmbook:drawn", (event) => {
    const one = { ...event.detail, at: performance.now() };
    requestAnimationFrame(() => { one.frame = performance.now(); });
    held.drawn.push(one);
  });
  window.held = held;
}
"""

DRAG = """
async ([selector, places]) => {
  const slider = document.querySelector(selector);
  const moves = [];
  let seq = null;
  await new Promise((done) => {
    const end = performance.now() + places.ms;
    let k = 0;
    const step = () => {
      const now = performance.now();
      if (now >= end) { done(); return; }
      slider.value = String(places.at[k % places.at.length] + k * 1e-4);
      k += 1;
      moves.push(performance.now());
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  });
  slider.dispatchEvent(new Event("change", { bubbles: true }));
  await new Promise((done) => setTimeout(done, 800));
  const answers = performance.getEntriesByType("resource")
    .filter((one) => one.name.endsWith("/moved"))
    .map((one) => [one.encodedBodySize, one.responseEnd - one.startTime]);
  return { moves, drawn: held.drawn, asked: held.asked, answers };
}
"""

PAINT = """
() => new Promise((done) => {
  const look = () => {
    const found = performance.getEntriesByName("first-contentful-paint")[0];
    if (found) done(found.startTime); else setTimeout(look, 20);
  };
  look();
})
"""


@dataclass(frozen=True)
class Dragged:
    """One drag.

    Args:
        drawn_ms: for each move, until a curve of that or a later value was drawn.
        frame_ms: the same until the frame after.
        answer_ms: from a request to the end of its answer, 200 draws.
        rest_ms: the same of the last one, 1000 draws.
        curves: drawn while moving, a second.
        answer_kb: of one answer with 200 draws.
        asked: requests; as many of them were different.
    """

    drawn_ms: np.ndarray[Any, np.dtype[np.float64]]
    frame_ms: np.ndarray[Any, np.dtype[np.float64]]
    answer_ms: float
    rest_ms: float
    curves: float
    answer_kb: float
    asked: tuple[int, int]


@contextmanager
def chromium() -> Iterator[Browser]:
    """The system's, headless."""
    found = next((path for one in BROWSERS if (path := which(one))), None)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(QUIET))
        yield browser
        browser.close()


def drag(page: Page, address: str, key: str, seconds: float, seed: int) -> Dragged:
    """Drag one value of an open behaviour page.

    Args:
        page: a fresh one.
        address: of the behaviour page.
        key: of the value, "L1/inductance".
        seconds: how long.
        seed: of the places it goes to.
    """
    page.goto(address)
    page.wait_for_selector(".uplot canvas")
    page.wait_for_timeout(600)
    page.evaluate(WATCH)
    rng = np.random.default_rng(seed)
    walk = 500.0 + 250.0 * np.sin(np.arange(4000) / 23.0) + rng.uniform(-3.0, 3.0, 4000)
    places = {"ms": 1000.0 * seconds, "at": walk.tolist()}
    found = page.evaluate(DRAG, [SLIDER.format(key=key), places])
    return _read(found, seconds)


def _read(found: Mapping[str, Any], seconds: float) -> Dragged:
    moves, drawn = found["moves"], [one for one in found["drawn"] if one["moved"]]
    moving = [one for one in drawn if one["draws"] == 200]
    at, frame = [], []
    for k, moment in enumerate(moves):
        shown = next((one for one in drawn if one["seq"] >= k + 1), None)
        if shown is not None and shown["at"] >= moment:
            at.append(shown["at"] - moment)
            frame.append(shown["frame"] - moment)
    answers = list(zip(found["answers"], found["asked"], strict=True))
    few = [(size, took) for (size, took), body in answers if '"draws":200' in body]
    rest = [took for (_, took), body in answers if '"draws":1000' in body]
    return Dragged(
        np.array(at), np.array(frame), float(np.median([took for _, took in few])), rest[-1],
        len(moving) / seconds, float(np.median([size for size, _ in few])) / 1e3,
        (len(found["asked"]), len(set(found["asked"]))),
    )  # fmt: skip


def weigh(browser: Browser, address: str) -> tuple[float, float, int]:
    """A page's weight over the wire, kB, its first paint, ms, and its status; nothing cached."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    total = [0.0]
    wire.on("Network.loadingFinished", lambda one: total.append(one["encodedDataLength"]))
    answer = page.goto(address)
    page.wait_for_timeout(1200)
    paint = float(page.evaluate(PAINT))
    context.close()
    return sum(total) / 1e3, paint, 0 if answer is None else answer.status


def three_way_text() -> str:
    """A sheet of a three-way board: 18 parts."""
    rng = np.random.default_rng(3)
    board, desk = simulate.three_way(rng, True), simulate.Bench(rng, True)
    return simulate.sheet(board, desk, [simulate.check(board, desk), simulate.grid(board, desk)])


def _table(title: str, told: Dragged) -> Iterator[str]:
    yield f"{title}: {told.curves:.0f} curves a second, {told.answer_kb:.1f} kB each, "
    yield f"  {told.asked[0]} requests, {told.asked[1]} of them different"
    for words, ms in (("drawn", told.drawn_ms), ("the frame after", told.frame_ms)):
        median, p95 = np.median(ms), np.quantile(ms, 0.95)
        yield (
            f"  input to curve with band, {words:16} median {median:5.1f} ms "
            f"(wanted {WANTED_MEDIAN_MS:.0f}), 95 % {p95:5.1f} ms (wanted {WANTED_P95_MS:.0f})"
        )
    yield f"  request to answer {told.answer_ms:5.1f} ms, with 1000 draws {told.rest_ms:5.1f} ms"


def _weights(browser: Browser, served: Served) -> Iterator[str]:
    for name in PAGES:
        size, paint, status = weigh(browser, served.url(f"b/demo/{name}"))
        if status == 200:
            yield (
                f"  {name:10} {size:6.0f} kB (wanted {WANTED_KB:.0f}), "
                f"first paint {paint:5.0f} ms (wanted {WANTED_PAINT_MS:.0f})"
            )


def main() -> None:
    """Print the tables."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    boards = {"demo": demo_text(), "three-way": three_way_text()}
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        served = start(notebook_at(Path(folder) / "bench.ohmbook", **boards))
        try:
            for board in boards:
                page = browser.new_page(viewport={"width": 1280, "height": 800})
                address = served.url(f"b/{board}/behaviour")
                found = drag(page, address, "L1/inductance", seconds, seed)
                print("\n".join(_table(board, found)))
                page.close()
            print("Each page of the built-in board, nothing cached")
            print("\n".join(_weights(browser, served)))
        finally:
            served.stop()


if __name__ == "__main__":
    main()
