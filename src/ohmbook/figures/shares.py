"""Where the doubt in each value comes from: one stacked strip a value."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ohmbook.documents.estimate import CauseShare
from ohmbook.errors import CallError
from ohmbook.figures.style import (
    FAINT,
    INK,
    MARGIN_IN,
    PAPER,
    SOFT,
    bare_axes,
    heading,
    new_figure,
    stroke,
    styled,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Strip = tuple[str, str, Sequence[CauseShare]]
"""What it is called, how well it is known, and its shares."""

COLOURED = 5
"""Causes with a colour of their own; the rest share one."""

_SEEN = 0.004
"""Least share that is drawn on its own."""

_HATCHES = ("", "//", "..", "\\\\", "xx")
_REST = "everything else"
_WIDTH_IN, _ROW_IN, _TOP_IN, _KEY_IN, _BOTTOM_IN, _GAP_IN = 8.4, 0.3, 0.62, 0.21, 0.5, 0.12
_HEIGHT, _SIZE, _LEAST_PRINTED, _LIGHTER = 0.72, 8.5, 0.04, 0.35


def shares_figure(strips: Sequence[Strip], title: str) -> Figure:
    """Stacked strips: the share of each cause in the variance of each value.

    The causes that matter most over all strips have a colour and a hatching of their own, the same
    in every strip, so that a cause which limits several values is seen at a glance.

    Args:
        strips: from top to bottom.
        title: shown at the top.

    Raises:
        CallError: no strips.
    """
    if not strips:
        raise CallError("A figure of shares needs at least one strip.")
    causes = _foremost(strips)
    with styled():
        keys_in = _KEY_IN * ((len(causes) + 2) // 2) + _GAP_IN
        height_in = _TOP_IN + keys_in + _ROW_IN * len(strips) + _BOTTOM_IN
        figure = new_figure(_WIDTH_IN, height_in)
        heading(
            figure,
            title,
            "each cause's share of the doubt (variance); ± is half of the 95 % interval",
        )
        _key(figure, causes, height_in)
        axes = bare_axes(figure, (0.3, 0.2, 0.4, 0.5))
        axes.grid(False)
        axes.spines["left"].set_visible(False)
        axes.set_xlim(0.0, 100.0)
        axes.set_ylim(len(strips), 0.0)
        axes.set_yticks([])
        axes.set_xlabel("% of the doubt", color=SOFT)
        for row, (_, _, shares) in enumerate(strips):
            _stack(axes, row + 0.5, shares, causes)
        _names(figure, axes, strips, (_TOP_IN + keys_in, height_in))
        return figure


def _foremost(strips: Sequence[Strip]) -> tuple[str, ...]:
    """The causes with the largest shares over all strips."""
    totals: dict[str, float] = {}
    for _, _, shares in strips:
        for one in shares:
            totals[one.cause] = totals.get(one.cause, 0.0) + one.share
    return tuple(sorted(totals, key=lambda cause: -totals[cause])[:COLOURED])


def _stack(axes: Axes, y: float, shares: Sequence[CauseShare], causes: Sequence[str]) -> None:
    by_cause = {one.cause: one.share for one in shares}
    left = 0.0
    for k, cause in enumerate(causes):
        share = by_cause.get(cause, 0.0)
        if share < _SEEN:
            continue
        look = stroke(k)
        axes.barh(
            y,
            100.0 * share,
            _HEIGHT,
            100.0 * left,
            color=look.colour,
            edgecolor=_tint(look.colour),
            linewidth=0.0,
            hatch=_HATCHES[k],
        )
        axes.plot(2 * [100.0 * (left + share)], [y - 0.36, y + 0.36], color=PAPER, linewidth=1.0)
        _printed(axes, y, left, share, k)
        left += share
    axes.barh(y, 100.0 * (1.0 - left), _HEIGHT, 100.0 * left, color=FAINT, linewidth=0.0)


def _tint(colour: str) -> str:
    """A lighter tint, for the hatching."""
    whole = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return "#" + "".join(f"{round(one + _LIGHTER * (255 - one)):02x}" for one in whole)


def _printed(axes: Axes, y: float, left: float, share: float, k: int) -> None:
    if share < _LEAST_PRINTED:
        return
    back = {"facecolor": stroke(k).colour, "edgecolor": "none", "pad": 0.8}
    axes.text(
        100.0 * (left + share / 2.0),
        y,
        f"{100.0 * share:.0f}",
        ha="center",
        va="center_baseline",
        size=_SIZE - 0.5,
        color=PAPER,
        bbox=back,
    )


def _key(figure: Figure, causes: Sequence[str], height_in: float) -> None:
    """What each colour stands for, two to a line, under the heading."""
    from matplotlib.patches import Rectangle

    lines = (len(causes) + 2) // 2
    for k, cause in enumerate([*causes, _REST]):
        down, across = k % lines, k // lines
        y = 1.0 - (_TOP_IN + _KEY_IN * (down + 0.3)) / height_in
        x = MARGIN_IN / _WIDTH_IN + 0.5 * across
        rest = k == len(causes)
        patch = Rectangle(
            (x, y - 0.055 / height_in),
            0.24 / _WIDTH_IN,
            0.12 / height_in,
            transform=figure.transFigure,
            facecolor=FAINT if rest else stroke(k).colour,
            edgecolor=FAINT if rest else _tint(stroke(k).colour),
            linewidth=0.0,
            hatch="" if rest else _HATCHES[k],
        )
        figure.add_artist(patch)
        figure.text(x + 0.34 / _WIDTH_IN, y, cause, size=_SIZE, va="center", color=INK)


def _names(
    figure: Figure, axes: Axes, strips: Sequence[Strip], heights_in: tuple[float, float]
) -> None:
    """Names on the left, how well each is known on the right, and the axes between them."""
    centres = np.arange(len(strips)) + 0.5
    transform = axes.get_yaxis_transform()
    left, right = (
        [
            axes.text(at, y, text, size=_SIZE, ha=side, va="center", transform=transform)
            for y, text in zip(centres, texts, strict=True)
        ]
        for at, side, texts in (
            (0.0, "right", [name for name, _, _ in strips]),
            (1.0, "left", [known for _, known, _ in strips]),
        )
    )
    widths = [
        max(one.get_window_extent().width for one in column) / figure.dpi * 1.04
        for column in (left, right)
    ]
    start_in = widths[0] + MARGIN_IN + _GAP_IN
    span_in = _WIDTH_IN - start_in - widths[1] - MARGIN_IN - _GAP_IN
    top_in, height_in = heights_in
    axes.set_position(
        (
            start_in / _WIDTH_IN,
            _BOTTOM_IN / height_in,
            span_in / _WIDTH_IN,
            (height_in - top_in - _BOTTOM_IN) / height_in,
        )
    )
    for one in left:
        one.set_x(-_GAP_IN / span_in)
    for one in right:
        one.set_x(1.0 + _GAP_IN / span_in)
