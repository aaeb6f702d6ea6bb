"""The forward models without a screen: ohmmeters, testers' own answers, causes read directly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.bench.gather import padded, weighted
from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.layout import ZERO, Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import REFERENCE_HZ, Id


@dataclass(frozen=True, slots=True)
class DirectResistance:
    """What an ohmmeter shows between two clips: (path + leads) x product of (1 + gain)."""

    look: Look
    leads: Id
    gains: tuple[Id, ...]

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at, at 0 Hz."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """Leads and gains."""
        return (self.leads, *self.gains)

    @classmethod
    def bundle(cls, models: Sequence[DirectResistance], layout: Layout) -> Predictor:
        """Predict many resistances at once."""
        leads = layout.columns([one.leads for one in models])
        gains = padded([[(g, 1.0) for g in one.gains] for one in models], layout)
        places = [layout.place[one.look] for one in models]

        def predict(state: State) -> Jet:
            paths = [state.impedance(g, np.array([k])).real() for g, k in places]
            size = concatenate(paths) + state.take(leads)
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size

        return predict


@dataclass(frozen=True, slots=True)
class PartValue:
    """A tester's own answer: value x (f / reference)^-loss x product of (1 + gain)."""

    value: Id
    gains: tuple[Id, ...] = ()
    loss: Id = ZERO
    f_hz: float = REFERENCE_HZ

    @property
    def looks(self) -> tuple[Look, ...]:
        """No circuit: the tester has answered for it."""
        return ()

    @property
    def ids(self) -> tuple[Id, ...]:
        """Value, loss exponent and gains."""
        return (self.value, self.loss, *self.gains)

    @classmethod
    def bundle(cls, models: Sequence[PartValue], layout: Layout) -> Predictor:
        """Predict many answers at once."""
        value = layout.columns([one.value for one in models])
        loss = layout.columns([one.loss for one in models])
        octave = np.array([-np.log(one.f_hz / REFERENCE_HZ) for one in models])
        gains = padded([[(g, 1.0) for g in one.gains] for one in models], layout)

        def predict(state: State) -> Jet:
            size = state.take(value) * (state.take(loss) * octave).exp()
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size

        return predict


@dataclass(frozen=True, slots=True)
class Sum:
    """A weighted sum of causes, read directly: noise on a screen, leads on a meter."""

    terms: tuple[tuple[Id, float], ...]
    gains: tuple[Id, ...] = ()

    @property
    def looks(self) -> tuple[Look, ...]:
        """No circuit."""
        return ()

    @property
    def ids(self) -> tuple[Id, ...]:
        """The terms and the gains."""
        return (*(one for one, _ in self.terms), *self.gains)

    @classmethod
    def bundle(cls, models: Sequence[Sum], layout: Layout) -> Predictor:
        """Predict many sums at once."""
        total = weighted([one.terms for one in models], layout)
        gains = padded([[(g, 1.0) for g in one.gains] for one in models], layout)

        def predict(state: State) -> Jet:
            size = total(state)
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size

        return predict
