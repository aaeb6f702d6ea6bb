"""What doors ask for in plain numbers, made into calls of the library."""

from __future__ import annotations

from ohmbook.crossover.behaviour import Behaviour, grid
from ohmbook.job import Settled, behaviour

Grid = tuple[float, float, int]


def behaviour_on(settled: Settled, draws: int, frequencies: Grid | None) -> Behaviour:
    """The behaviour over frequencies evenly spaced on a log scale.

    Args:
        settled: what was settled.
        draws: behind the bands; 0 for none.
        frequencies: lowest and highest, hertz, and how many; None for the usual grid.

    Raises:
        CallError: the frequencies can't be.
    """
    return behaviour(settled, draws=draws, f_hz=None if frequencies is None else grid(*frequencies))
