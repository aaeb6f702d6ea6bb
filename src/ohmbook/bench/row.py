"""A row: one number that was read, how far to trust it, and the model that predicts it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol, Self

from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import Layout, Look
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id
from ohmbook.evidence.unknown import Shape
from ohmbook.units.quantity import Unit

Predictor = Callable[[State], Jet]


class Model(Protocol):
    """How a reading comes about. Rows with the same model class are predicted together."""

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuits it looks at."""

    @property
    def ids(self) -> tuple[Id, ...]:
        """The values it depends on, besides those of its circuits."""

    @classmethod
    def bundle(cls, models: Sequence[Self], layout: Layout) -> Predictor:
        """One predictor for several rows: a function of the state that gives m values."""


@dataclass(frozen=True, slots=True)
class Row:
    """One observation.

    Args:
        reading: the reading's name.
        label: the row in words ("reading 3: w at 3.0 kHz").
        observed: what was read, in the model's unit (volts: peak to peak).
        variance: of its own error, the one that no unknown shares.
        shape: the distribution of that own error.
        model: what predicts it.
        grid: size of the read-out step, 0 where there is none: repeats on a fixed grid that
            agree within it share one read-out error.
        place: line offset in a table, for messages; None elsewhere.
        unit: of `observed`, for messages.
    """

    reading: str
    label: str
    observed: float
    variance: float
    shape: Shape
    model: Model
    grid: float = 0.0
    place: int | None = None
    unit: Unit = "V"
