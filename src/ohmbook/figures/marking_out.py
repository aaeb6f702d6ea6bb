"""Put a label into axes where it covers nothing, with a dot and a leader where it has a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmbook.figures.boxes import Box, Spot, around, near_point
from ohmbook.figures.labelling import Floats, Taken, free_spot
from ohmbook.figures.style import INK, PAPER, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

_MARGIN = 3.0
_NEAREST, _SPACING = 22.0, 11.0


@dataclass(frozen=True, slots=True)
class Marker:
    """A label, and the point that it is about.

    Args:
        text: what it says; may have several lines.
        colour: of the text.
        at: the point in data coordinates, marked with a ring and joined by a leader; or None.
        bold: whether the text is.
    """

    text: str
    colour: str = INK
    at: Spot | None = None
    bold: bool = False


def pixels(axes: Axes, x: Floats, y: Floats) -> Floats:
    """Data coordinates in pixels, shape (n, 2); NaN where y is infinite.

    Args:
        axes: whose limits are already set.
        x: shape (n,).
        y: shape (n,).
    """
    finite = np.where(np.isfinite(y), y, np.nan)
    return np.asarray(axes.transData.transform(np.column_stack([x, finite])), dtype=np.float64)


def mark(axes: Axes, marker: Marker, spots: Sequence[Spot], taken: Taken) -> Taken:
    """Draw a label at the best free place.

    Args:
        axes: whose limits are already set.
        marker: what to write.
        spots: middles to try, pixels, the best first; for a marker with a point, places around
            it are tried after these.
        taken: what must not be covered.

    Returns:
        What is taken from now on.
    """
    text = axes.text(
        0.0,
        0.0,
        marker.text,
        color=marker.colour,
        size=8.5,
        ha="center",
        va="center",
        weight="bold" if marker.bold else "normal",
        linespacing=1.25,
        transform=axes.transAxes,
        zorder=6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0, "alpha": 0.8},
    )
    size = _size(text)
    window = axes.get_window_extent()
    frame = Box(window.x0 + 2, window.y0 + 2, window.x1 - 2, window.y1 - 2)
    start = None
    if marker.at is not None:
        start = _spot(axes.transData.transform(marker.at))
        taken = _ring(axes, marker.at, start, taken)
        spots = [*spots, *_around_point(start, size, frame)]
    spot = free_spot(spots, size, taken, frame, start)
    # In shares of the axes: pixels would move when the figure is saved at another resolution.
    text.set_position(_share(axes, spot))
    box = around(spot, size)
    if marker.at is not None and start is not None:
        _leader(axes, marker.at, near_point(box, start))
    return taken.with_box(box)


def _size(text: Text) -> Spot:
    extent = text.get_window_extent()
    return extent.width + 2 * _MARGIN, extent.height + 2 * _MARGIN


def _ring(axes: Axes, at: Spot, centre: Spot, taken: Taken) -> Taken:
    axes.plot(
        [at[0]],
        [at[1]],
        marker="o",
        markersize=7.0,
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        markeredgewidth=1.2,
        linestyle="none",
        zorder=5,
    )
    return taken.with_box(around(centre, (14.0, 14.0)))


def _around_point(centre: Spot, size: Spot, frame: Box) -> list[Spot]:
    """Every place on a net over the frame, those whose edge is nearest to a point first."""
    xs = np.arange(frame.x0 + size[0] / 2.0, frame.x1 - size[0] / 2.0, _SPACING)
    ys = np.arange(frame.y0 + size[1] / 2.0, frame.y1 - size[1] / 2.0, _SPACING)
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    gap = np.maximum(np.abs(places - centre) - np.asarray(size) / 2.0, 0.0)
    distance = np.hypot(gap[:, 0], gap[:, 1])
    order = np.argsort(distance, kind="stable")
    return [_spot(places[k]) for k in order if distance[k] > _NEAREST]


def _spot(pair: Floats) -> Spot:
    return float(pair[0]), float(pair[1])


def _share(axes: Axes, spot: Spot) -> Spot:
    return _spot(axes.transAxes.inverted().transform(spot))


def _leader(axes: Axes, at: Spot, near: Spot) -> None:
    """A thin line from the ring to the nearest point of the label."""
    arrow: dict[str, Any] = {
        "arrowstyle": "-",
        "color": SOFT,
        "linewidth": 0.8,
        "shrinkA": 0.0,
        "shrinkB": 4.5,
    }
    axes.annotate(
        "",
        xy=at,
        xycoords="data",
        xytext=_share(axes, near),
        textcoords="axes fraction",
        arrowprops=arrow,
        zorder=4,
    )
