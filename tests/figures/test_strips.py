"""Strips of shares and bars of two boards: what is drawn is what was given, and it fits."""

from __future__ import annotations

import pytest
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from ohmbook.documents.comparison import Comparison, PartDifference
from ohmbook.documents.estimate import CauseShare
from ohmbook.errors import CallError
from ohmbook.figures.compare import compare_figure
from ohmbook.figures.shares import shares_figure

SHARES = [
    CauseShare("read-out of reading 1", 0.6),
    CauseShare("generator's flatness", 0.3),
    CauseShare("what is believed of C1's losses", 0.1),
]


def one(name: str, ratio: float, verdict: str = "agrees") -> PartDifference:
    ends = ratio * 0.99, ratio * 1.01
    return PartDifference(
        name,
        "capacitance",
        "F",
        1e-6,
        ratio * 1e-6,
        1e3,
        ratio,
        *ends,
        None,
        None,
        0.99,
        verdict,  # type: ignore[arg-type]
        *ends,
    )


def test_each_strip_fills_its_row_with_its_shares() -> None:
    figure = shares_figure([("L1", "±1 %", SHARES), ("C1", "±2 %", SHARES[:2])], "Doubts")
    bars = [p for p in figure.axes[0].patches if isinstance(p, Rectangle)]
    first = [bar for bar in bars if bar.get_y() < 1.0]
    assert sum(bar.get_width() for bar in first) == pytest.approx(100.0)
    assert sorted(round(bar.get_width()) for bar in first if bar.get_width() > 0.01) == [10, 30, 60]


def test_nothing_written_leaves_the_page() -> None:
    long = "woofer's level at a frequency that somebody asked for"
    for figure in (
        shares_figure([(long, "±1 %", SHARES)], "Doubts"),
        compare_figure(comparison(one("C3", 1.14, "differs"), one("L1", 1.0))),
    ):
        width, height = figure.get_size_inches() * figure.dpi
        for text in figure.findobj(Text):
            assert isinstance(text, Text)
            if text.get_text():
                box = text.get_window_extent()
                assert box.x0 >= 0.0
                assert box.x1 <= width + 1.0
                assert box.y1 <= height + 1.0


def comparison(*parts: PartDifference) -> Comparison:
    return Comparison(("left", "right"), parts, None, (), (), (), (), None)


def test_a_difference_lies_within_the_axis() -> None:
    figure = compare_figure(comparison(one("C3", 1.14, "differs"), one("L1", 1.0)))
    low, high = figure.axes[0].get_xlim()
    assert low < 0.0 < 14.0 < high
    assert "+14.0 %, differs" in [text.get_text() for text in figure.axes[0].texts]


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(CallError):
        shares_figure([], "Doubts")
    with pytest.raises(CallError):
        compare_figure(comparison())
