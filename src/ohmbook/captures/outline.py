"""A long record made short for a picture, without making up a slow sine that is not there."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Capture, Channel


def outline(x: NDArray[Any], y: NDArray[Any], most: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """At most about `most` points: the smallest and the largest value of each stretch.

    Every n-th sample alone would alias. A short record comes back as it is.
    """
    width = len(x) // max(most // 2, 1)
    if width < 2:
        return x, y
    count = len(x) // width
    cut = y[: count * width].reshape(count, width)
    edges = np.column_stack([cut.min(axis=1), cut.max(axis=1)]).ravel()
    return np.repeat(x[: count * width : width], 2), edges


def drawn(one: Channel) -> NDArray[Any]:
    """What of a channel is drawn: its values, or their size where they are complex."""
    return np.abs(one.values) if one.values.dtype.kind == "c" else one.values


def preview(capture: Capture, most: int = 600) -> dict[str, Any] | None:
    """A capture's picture as plain numbers; None where there is nothing to draw yet.

    Args:
        capture: as read.
        most: points a channel, about.
    """
    axis = capture.axis
    if axis is None or not capture.channels:
        return None
    lines = [outline(axis.values, drawn(one), most) for one in capture.channels[:6]]
    return {
        "quantity": axis.quantity,
        "unit": axis.unit,
        "x": [float(one) for one in lines[0][0]],
        "channels": [
            {"name": one.name, "unit": one.unit, "y": [float(v) for v in y]}
            for one, (_, y) in zip(capture.channels, lines, strict=False)
        ],
    }
