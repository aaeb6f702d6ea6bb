"""How far a search is, told to whoever waits for it: so many steps done of so many."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Progress = Callable[[int, int], None]

WHOLE = 1000
"""Steps of a whole of which searches are parts."""


@dataclass
class Steps:
    """Steps of one search, told as they are done.

    Args:
        progress: called with (done, of); None where nobody waits.
        of: how many steps there are, or may be.
    """

    progress: Progress | None
    of: int
    done: int = 0

    def step(self, count: int = 1) -> None:
        """So many more are done; never more than all."""
        self.done = min(self.done + count, self.of)
        if self.progress is not None:
            self.progress(self.done, self.of)


def part(progress: Progress | None, first: float, last: float) -> Progress | None:
    """A callback for one part of a whole, from one share of it to another."""
    if progress is None:
        return None

    def told(done: int, of: int) -> None:
        progress(round(WHOLE * (first + (last - first) * done / max(of, 1))), WHOLE)

    return told
