"""The forward models of an impedance meter: the size and the angle that it would show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.bench.gather import padded, weighted
from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.layout import Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id


@dataclass(frozen=True, slots=True)
class Size:
    """The size of the impedance between the meter's clips: |Z| x product of (1 + gain), ohm."""

    look: Look
    gains: tuple[Id, ...] = ()

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """The gains."""
        return self.gains

    @classmethod
    def bundle(cls, models: Sequence[Size], layout: Layout) -> Predictor:
        """Predict many sizes at once."""
        looks = _looks([one.look for one in models], layout)
        gains = padded([[(g, 1.0) for g in one.gains] for one in models], layout)

        def predict(state: State) -> Jet:
            size = looks(state).magnitude()
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size

        return predict


@dataclass(frozen=True, slots=True)
class Turn:
    """The angle of that impedance in degrees, plus what the meter adds to all its angles.

    `near` is what was read: the prediction is taken within half a turn of it.
    """

    look: Look
    near: float
    errors: tuple[Id, ...] = ()

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """What is added."""
        return self.errors

    @classmethod
    def bundle(cls, models: Sequence[Turn], layout: Layout) -> Predictor:
        """Predict many angles at once."""
        looks = _looks([one.look for one in models], layout)
        added = weighted([[(one, 1.0) for one in model.errors] for model in models], layout)
        near = np.array([one.near for one in models])

        def predict(state: State) -> Jet:
            turn = looks(state).degrees() + added(state)
            return Jet(near + np.mod(turn.value - near + 180.0, 360.0) - 180.0, turn.slope)

        return predict


def _looks(looks: Sequence[Look], layout: Layout) -> Predictor:
    """Each look's own input impedance, in order; looks of one network are solved together."""
    places = [layout.place[one] for one in looks]
    groups = list(dict.fromkeys(group for group, _ in places))
    rows = [[k for k, place in enumerate(places) if place[0] == group] for group in groups]
    inside = [np.array([places[k][1] for k in some], dtype=np.intp) for some in rows]
    back = np.argsort(np.array([k for some in rows for k in some], dtype=np.intp))

    def predict(state: State) -> Jet:
        found = [state.impedance(group, at) for group, at in zip(groups, inside, strict=True)]
        return concatenate(found).pick(back)

    return predict
