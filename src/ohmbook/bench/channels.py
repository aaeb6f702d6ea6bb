"""The forward models of two channels: the ratio of their sizes, and the angle between them.

What the channels share cancels. What they don't is here by name: the ratio of their gains, and a
fixed time by which one is late, shared by all frequencies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.bench.gather import Gather, Sum
from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id

SOURCE, PROBED = 0, 1
"""Probes of a set-up: on the source's side, and on what was read."""


@dataclass(frozen=True, slots=True)
class ChannelSizes:
    """The second channel's size over the first's; both are on one node where `look` is None."""

    look: Look | None
    gain: Id

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at, if any."""
        return () if self.look is None else (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """The ratio of the channels' gains."""
        return (self.gain,)

    @classmethod
    def bundle(cls, models: Sequence[ChannelSizes], layout: Layout) -> Predictor:
        """Predict many ratios at once."""
        over, under = (_gathered(models, probe, layout) for probe in (PROBED, SOURCE))
        gains = layout.columns([one.gain for one in models])

        def predict(state: State) -> Jet:
            one_over = (under.magnitudes(state).log() * -1.0).exp()
            return over.magnitudes(state) * one_over * (state.take(gains) + 1.0)

        return predict


@dataclass(frozen=True, slots=True)
class ChannelTurn:
    """The second channel's angle against the first's in degrees, within half a turn of `near`."""

    look: Look | None
    skew: Id
    f_hz: float
    near: float

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at, if any."""
        return () if self.look is None else (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """The time by which the second channel is late."""
        return (self.skew,)

    @classmethod
    def bundle(cls, models: Sequence[ChannelTurn], layout: Layout) -> Predictor:
        """Predict many angles at once."""
        over, under = (_gathered(models, probe, layout) for probe in (PROBED, SOURCE))
        late = Sum([((one.skew, -360.0 * one.f_hz),) for one in models], layout)
        near = np.array([one.near for one in models])

        def predict(state: State) -> Jet:
            turn = over(state).degrees() + under(state).degrees() * -1.0
            turn = late(turn, state)
            return Jet(near + np.mod(turn.value - near + 180.0, 360.0) - 180.0, turn.slope)

        return predict


def _gathered(
    models: Sequence[ChannelSizes] | Sequence[ChannelTurn], probe: int, layout: Layout
) -> Gather:
    looks = [one.look for one in models]
    return Gather(looks, [probe if look is not None else 0 for look in looks], layout)
