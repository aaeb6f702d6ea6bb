"""A small picture of a capture: its channels over time or frequency."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ohmbook.captures.capture import Capture
from ohmbook.captures.outline import drawn, outline
from ohmbook.errors import CaptureError
from ohmbook.figures.style import bare_axes, heading, new_figure, stroke, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST = 4000


def capture_figure(capture: Capture) -> Figure:
    """The channels of a capture, the longest ones thinned.

    Raises:
        CaptureError: there is nothing to draw yet.
    """
    axis = capture.axis
    if axis is None or not capture.channels:
        raise CaptureError(capture.name, "there is nothing to draw yet", "answer what is asked")
    with styled():
        figure = new_figure(8.0, 4.2)
        heading(figure, capture.name, f"{len(axis.values)} rows, as read")
        axes = bare_axes(figure, (0.1, 0.14, 0.87, 0.66))
        for k, one in enumerate(capture.channels[:6]):
            x, shown = outline(axis.values, drawn(one), _MOST)
            name = f"{one.name} {one.unit}".strip()
            axes.plot(x, shown, color=stroke(k).colour, linewidth=1.2, label=name)
        _label(axes, capture)
        return figure


def _label(axes: Axes, capture: Capture) -> None:
    assert capture.axis is not None
    quantity = capture.axis.quantity
    axes.set_xlabel({"time": "time in s", "frequency": "frequency in Hz", "index": "row"}[quantity])
    first, last = capture.axis.values[0], capture.axis.values[-1]
    if quantity == "frequency" and first > 0.0 and last > 10.0 * first:
        axes.set_xscale("log")
    axes.legend(frameon=False, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=6)
