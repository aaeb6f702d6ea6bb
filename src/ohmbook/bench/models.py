"""The forward models that several reading kinds share: what an instrument would show.

Volts are peak to peak inside; `bench.volts` converts from and to what a person wrote.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.layout import ZERO, Index, Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import REFERENCE_HZ, Id


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
        drift = _weighted([one.drift for one in models], layout)
        gains = _padded([[(g, 1.0) for g in one.shown.gains] for one in models], layout)
        excess = _weighted([one.shown.excess for one in models], layout)
        look = _Gather([one.look for one in models], [one.probe for one in models], layout)

        def predict(state: State) -> Jet:
            size = look(state).magnitude() * state.take(emf) * (drift(state) + 1.0)
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size + excess(state)

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
        first = _Gather(list(looks), [one.probe for one in models], layout)
        others: list[Look | None] = [None if one.against is None else one.look for one in models]
        second = _Gather(others, [one.against or 0 for one in models], layout)

        near = np.array([one.near for one in models])

        def predict(state: State) -> Jet:
            turn = first(state).degrees() + second(state).degrees() * -1.0
            return Jet(near + np.mod(turn.value - near + 180.0, 360.0) - 180.0, turn.slope)

        return predict


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
        gains = _padded([[(g, 1.0) for g in one.gains] for one in models], layout)
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
        gains = _padded([[(g, 1.0) for g in one.gains] for one in models], layout)

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
        total = _weighted([one.terms for one in models], layout)
        gains = _padded([[(g, 1.0) for g in one.gains] for one in models], layout)

        def predict(state: State) -> Jet:
            size = total(state)
            for columns, _ in gains:
                size = size * (state.take(columns) + 1.0)
            return size

        return predict


Terms = Sequence[tuple[Id, float]]


def _padded(rows: Sequence[Terms], layout: Layout) -> list[tuple[np.ndarray, np.ndarray]]:
    depth = max((len(row) for row in rows), default=0)
    full = [[*row, *[(ZERO, 0.0)] * (depth - len(row))] for row in rows]
    return [
        (layout.columns([row[k][0] for row in full]), np.array([row[k][1] for row in full]))
        for k in range(depth)
    ]


def _weighted(rows: Sequence[Terms], layout: Layout) -> Predictor:
    """Sums of values times fixed weights: one matrix, which is its own slope."""
    weights = np.zeros((len(rows), layout.size))
    for k, row in enumerate(rows):
        for one, weight in row:
            weights[k, layout.index[one]] += weight
    slope = weights[:, : layout.count]
    used = np.flatnonzero(weights.any(axis=0))
    inner = weights[:, used].T

    def predict(state: State) -> Jet:
        return Jet(state.z[:, used] @ inner, slope if state.with_slopes else None)

    return predict


class _Gather:
    """Picks each row's own probe out of the solved circuits; rows without a look are 1."""

    def __init__(self, looks: Sequence[Look | None], probes: Sequence[int], layout: Layout) -> None:
        places = [None if look is None else layout.place[look] for look in looks]
        groups = dict.fromkeys(None if place is None else place[0] for place in places)
        self.pieces: list[tuple[int | None, Index, Index]] = []
        order: list[int] = []
        for group in groups:
            rows = [k for k, one in enumerate(places) if (one[0] if one else None) == group]
            inside = [place[1] if (place := places[k]) else 0 for k in rows]
            at = [probes[k] for k in rows]
            self.pieces.append(
                (group, np.array(at, dtype=np.intp), np.array(inside, dtype=np.intp))
            )
            order += rows
        self.back = np.argsort(np.array(order, dtype=np.intp))
        self.nothing = layout.columns([ZERO])

    def __call__(self, state: State) -> Jet:
        found = []
        for group, probes, looks in self.pieces:
            if group is None:
                found.append((state.take(self.nothing) + 1.0).pick(looks))
            else:
                found.append(state.transfer(group, probes, looks))
        return concatenate(found).pick(self.back)
