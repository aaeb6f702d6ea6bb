"""A small picture of a capture: its channels over time or frequency."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Capture
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
            y = np.abs(one.values) if one.values.dtype.kind == "c" else one.values
            x, shown = outline(axis.values, y)
            name = f"{one.name} {one.unit}".strip()
            axes.plot(x, shown, color=stroke(k).colour, linewidth=1.2, label=name)
        _label(axes, capture)
        return figure


def outline(x: NDArray[Any], y: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
    """A long record by the smallest and largest value of each stretch.

    Every n-th sample alone would show a plausible slow sine that is not there.
    """
    width = len(x) // (_MOST // 2)
    if width < 2:
        return x, y
    count = len(x) // width
    cut = y[: count * width].reshape(count, width)
    edges = np.column_stack([cut.min(axis=1), cut.max(axis=1)]).ravel()
    return np.repeat(x[: count * width : width], 2), edges


def _label(axes: Axes, capture: Capture) -> None:
    assert capture.axis is not None
    quantity = capture.axis.quantity
    axes.set_xlabel({"time": "time in s", "frequency": "frequency in Hz", "index": "row"}[quantity])
    first, last = capture.axis.values[0], capture.axis.values[-1]
    if quantity == "frequency" and first > 0.0 and last > 10.0 * first:
        axes.set_xscale("log")
    axes.legend(frameon=False, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=6)
