"""The forward models of a screen: the amplitude and the phase that it would show.

Volts are peak to peak inside; `bench.volts` converts from and to what a person wrote.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.bench.gather import Gather, Product, Sum, padded, weighted
from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id


@dataclass(frozen=True, slots=True)
class Shown:
    """The causes between a voltage and what a screen shows of it.

    shown = voltage x product of (1 + gain) + sum of excess x size (volts, peak to peak).
    """

    gains: tuple[Id, ...] = ()
    excess: tuple[tuple[Id, float], ...] = ()

    @property
    def ids(self) -> tuple[Id, ...]:
        """Every cause in it."""
        return (*self.gains, *(one for one, _ in self.excess))


@dataclass(frozen=True, slots=True)
class Amplitude:
    """The amplitude on a screen: of a node where `look` is given, else of the EMF itself.

    Args:
        emf: the source's open amplitude, volts peak to peak.
        drift: causes whose sum is the relative departure of the EMF at this frequency.
        shown: what the instrument adds.
        look: the circuit, None for the open source.
        probe: which of the circuit's probes.
    """

    emf: Id
    drift: tuple[tuple[Id, float], ...]
    shown: Shown
    look: Look | None = None
    probe: int = 0

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at, if any."""
        return () if self.look is None else (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """EMF, drifts and instrument causes."""
        return (self.emf, *(one for one, _ in self.drift), *self.shown.ids)

    @classmethod
    def bundle(cls, models: Sequence[Amplitude], layout: Layout) -> Predictor:
        """Predict many amplitudes at once."""
        emf = layout.columns([one.emf for one in models])
        drift = weighted([one.drift for one in models], layout)
        drifts = any(one.drift for one in models)
        gains = padded([[(g, 1.0) for g in one.shown.gains] for one in models], layout)
        excess = Sum([one.shown.excess for one in models], layout)
        look = Gather([one.look for one in models], [one.probe for one in models], layout)
        product = Product([(emf, 0.0), *((columns, 1.0) for columns, _ in gains)], layout)

        def predict(state: State) -> Jet:
            size = product(look.magnitudes(state), state)
            return excess(size * (drift(state) + 1.0) if drifts else size, state)

        return predict


@dataclass(frozen=True, slots=True)
class Ratio:
    """The amplitude of a network's first probe over that of its second."""

    look: Look

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """No cause besides the circuit's: what one instrument does to both cancels."""
        return ()

    @classmethod
    def bundle(cls, models: Sequence[Ratio], layout: Layout) -> Predictor:
        """Predict many ratios at once."""
        looks: list[Look | None] = [one.look for one in models]
        over, under = (Gather(looks, [probe] * len(models), layout) for probe in (0, 1))

        def predict(state: State) -> Jet:
            return (over.magnitudes(state).log() + under.magnitudes(state).log() * -1.0).exp()

        return predict


@dataclass(frozen=True, slots=True)
class Angle:
    """The phase of a probe in degrees, against the EMF or against another probe.

    `near` is what was read: the prediction is taken within half a turn of it.
    """

    look: Look
    probe: int
    near: float
    against: int | None = None

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """No cause besides the circuit's."""
        return ()

    @classmethod
    def bundle(cls, models: Sequence[Angle], layout: Layout) -> Predictor:
        """Predict many phases at once."""
        looks = [one.look for one in models]
        first = Gather(list(looks), [one.probe for one in models], layout)
        others: list[Look | None] = [None if one.against is None else one.look for one in models]
        second = Gather(others, [one.against or 0 for one in models], layout)

        near = np.array([one.near for one in models])

        def predict(state: State) -> Jet:
            turn = first(state).degrees() + second(state).degrees() * -1.0
            return Jet(near + np.mod(turn.value - near + 180.0, 360.0) - 180.0, turn.slope)

        return predict
