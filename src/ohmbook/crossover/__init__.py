"""What a crossover does: from a sketch and values to responses with bands."""

from ohmbook.crossover.behaviour import (
    Band,
    Behaviour,
    ImpedanceCurve,
    OutputCurve,
    behave,
    default_grid,
    grid,
)
from ohmbook.crossover.features import Bounded, Corner, Crossing, Minimum, Slope, Traits
from ohmbook.crossover.wiring import crossover_network, fixed_values, output_names

__all__ = [
    "Band",
    "Behaviour",
    "Bounded",
    "Corner",
    "Crossing",
    "ImpedanceCurve",
    "Minimum",
    "OutputCurve",
    "Slope",
    "Traits",
    "behave",
    "crossover_network",
    "default_grid",
    "fixed_values",
    "grid",
    "output_names",
]
