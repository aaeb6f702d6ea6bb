"""Rectangles and points: the little plane geometry that labels and diagrams share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its sides along the axes."""

    x0: float
    y0: float
    x1: float
    y1: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1
        )

    def within(self, other: Box) -> bool:
        """Whether this one lies inside the other."""
        return (
            other.x0 <= self.x0
            and self.x1 <= other.x1
            and other.y0 <= self.y0
            and self.y1 <= other.y1
        )

    def holds(self, spot: Sequence[float]) -> bool:
        """Whether a point lies inside."""
        return self.x0 < spot[0] < self.x1 and self.y0 < spot[1] < self.y1

    def grown(self, by: float) -> Box:
        """The box with a margin added on every side."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)


def around(spot: Spot, size: Spot) -> Box:
    """The box of a given size around a middle."""
    half_width, half_height = size[0] / 2.0, size[1] / 2.0
    return Box(
        spot[0] - half_width, spot[1] - half_height, spot[0] + half_width, spot[1] + half_height
    )


def near_point(box: Box, spot: Spot) -> Spot:
    """The point of a box that is nearest to a spot."""
    return min(max(spot[0], box.x0), box.x1), min(max(spot[1], box.y0), box.y1)


def hull(boxes: Iterable[Box]) -> Box:
    """The smallest box that holds all of them; at least one."""
    every = list(boxes)
    return Box(
        min(one.x0 for one in every),
        min(one.y0 for one in every),
        max(one.x1 for one in every),
        max(one.y1 for one in every),
    )
