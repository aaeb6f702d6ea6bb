"""Forward models that are a function of values or of a circuit's extremes: times, frequencies.

What is read is worked out as the instrument would find it (a resonance is looked for on the
circuit itself), and its slopes come by central differences, all of them solved side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.extremes import Amplitude, bend_at, half_power, summit
from ohmbook.bench.gather import Terms, weighted
from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.layout import Index, Layout, Look
from ohmbook.bench.row import Predictor
from ohmbook.bench.state import State
from ohmbook.circuit.network import Id

Floats = NDArray[np.float64]
Function = Callable[..., Floats]

STEP = 1e-4
"""Of the differences, relative; a loss exponent's is absolute. The error of a slope is of the
order of its square."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A number that follows from values in closed form.

    Args:
        function: of one array for each of `of`, shape (draws,), and of `fixed`.
        of: the values it depends on.
        fixed: numbers it is told.
        errors: causes with weights; their sum is the relative error of what is shown.
        at_hz: where it was read, for reporting; None where no frequency belongs to it.
    """

    function: Function
    of: tuple[Id, ...]
    fixed: tuple[float, ...] = ()
    errors: tuple[tuple[Id, float], ...] = ()
    at_hz: float | None = None

    @property
    def f_hz(self) -> float | None:
        """Where it was read."""
        return self.at_hz

    @property
    def looks(self) -> tuple[Look, ...]:
        """No circuit: the formula is the circuit."""
        return ()

    @property
    def ids(self) -> tuple[Id, ...]:
        """Values and errors."""
        return (*self.of, *(one for one, _ in self.errors))

    @classmethod
    def bundle(cls, models: Sequence[Formula], layout: Layout) -> Predictor:
        """Predict many numbers, one formula after the other."""
        columns = [layout.columns(one.of) for one in models]
        powers = [_relative(one.of) for one in models]

        def each(state: State) -> list[Jet]:
            found = []
            for one, at, relative in zip(models, columns, powers, strict=True):

                def solve(values: Floats, one: Formula = one) -> Floats:
                    return one.function(*values.T, *one.fixed)

                found.append(by_differences(state, at, relative, solve))
            return found

        return _shown(each, [one.errors for one in models], layout)


@dataclass(frozen=True, slots=True)
class Extreme:
    """Where the amplitude of a probe is largest or smallest, Hz; or how wide it is there.

    Args:
        look: the circuit; its frequency is where to look first.
        largest: whether a peak is meant; a dip where not.
        width: the width where the amplitude has changed by 3 dB (a factor of sqrt 2), instead of
            the frequency itself.
        errors: as in `Formula`.
        near_of: inductance and capacitance whose resonance is near.
    """

    look: Look
    largest: bool
    width: bool
    near_of: tuple[Id, Id]
    errors: tuple[tuple[Id, float], ...] = ()

    @property
    def looks(self) -> tuple[Look, ...]:
        """The circuit it looks at."""
        return (self.look,)

    @property
    def ids(self) -> tuple[Id, ...]:
        """The causes."""
        return (*self.near_of, *(one for one, _ in self.errors))

    @classmethod
    def bundle(cls, models: Sequence[Extreme], layout: Layout) -> Predictor:
        """Predict many, one circuit after the other."""
        keys = [(one.look, one.largest, one.near_of) for one in models]
        finders = {key: _Finder(one, layout) for key, one in zip(keys, models, strict=True)}
        wide = {key for key, one in zip(keys, models, strict=True) if one.width}

        def each(state: State) -> list[Jet]:
            found = {key: finder.find(state, key in wide) for key, finder in finders.items()}
            return [found[key][one.width] for key, one in zip(keys, models, strict=True)]

        return _shown(each, [one.errors for one in models], layout)


def by_differences(
    state: State, columns: Index, relative: NDArray[np.bool_], solve: Callable[[Floats], Floats]
) -> Jet:
    """One number of every draw, with its slopes by the values in some columns.

    Args:
        state: all values.
        columns: where the values stand.
        relative: which of them are moved by a share of themselves, others by `STEP`.
        solve: values of shape (draws, k) to numbers of shape (draws,).
    """
    values, count = state.z[:, columns], state.layout.count
    if not state.with_slopes:
        return Jet(solve(values)[:, None])
    draws, k = values.shape
    step = np.where(relative, STEP * np.abs(values), STEP)
    moved = np.repeat(values[None], 2 * k + 1, axis=0)
    for j in range(k):
        moved[2 * j + 1, :, j] += step[:, j]
        moved[2 * j + 2, :, j] -= step[:, j]
    found = solve(moved.reshape(-1, k)).reshape(2 * k + 1, draws)
    slope = np.zeros((draws, 1, count))
    for j, column in enumerate(columns):
        if column < count:
            one = np.divide(
                found[2 * j + 1] - found[2 * j + 2],
                2.0 * step[:, j],
                out=np.zeros(draws),
                where=step[:, j] > 0.0,
            )
            slope[:, 0, column] += one
    return Jet(found[0][:, None], slope)


def entered(known: Sequence[Id], one: Id, instead: Id) -> Id:
    """An id where it is among those known, else what stands for it."""
    return one if one in known else instead


def _shown(
    each: Callable[[State], list[Jet]], errors: Sequence[Terms], layout: Layout
) -> Predictor:
    error = weighted(errors, layout)

    def predict(state: State) -> Jet:
        return concatenate(each(state)) * (error(state) + 1.0)

    return predict


LINEAR = ("loss", "phase", "noise excess")
"""How quantities begin that may be 0 or below; all others are positive."""


def _relative(ids: Sequence[Id]) -> NDArray[np.bool_]:
    return np.array([not one[1].startswith(LINEAR) for one in ids], dtype=bool)


class _Finder:
    """Looks for one circuit's extreme, and for its 3 dB points."""

    def __init__(self, model: Extreme, layout: Layout) -> None:
        self.model = model
        self.known = tuple(one for one in model.look.network.ids if one in layout.index)
        self.columns = layout.columns(self.known)
        self.near = layout.columns(model.near_of)
        self.relative = _relative(self.known)

    def find(self, state: State, wide: bool) -> tuple[Jet, Jet]:
        """Where the extreme is and how wide, Hz; the same twice where no width is wanted."""
        product = state.z[:, self.near].prod(axis=1)
        near = -0.5 * np.log(product) - np.log(2.0 * np.pi)
        amplitude = Amplitude(self.model.look.network, self.known, state.z[:, self.columns].T)
        top = summit(amplitude, near, self.model.largest)
        points = [top]
        if wide:
            points += half_power(amplitude, top, self.model.largest)
        at = np.stack(points)
        slopes = self._slopes(state, amplitude, at) if state.with_slopes else None
        f_hz = np.exp(at)
        jets = [
            Jet(one[:, None], None if slopes is None else (one[:, None] * slopes[k])[:, None])
            for k, one in enumerate(f_hz)
        ]
        return jets[0], jets[2] + jets[1] * -1.0 if wide else jets[0]

    def _slopes(self, state: State, amplitude: Amplitude, at: Floats) -> Floats:
        """How ln f of each point moves with each unknown, by the theorem of implicit functions.

        At the extreme the slope stays 0; at a 3 dB point the size stays that of the extreme less
        3 dB, and the extreme's own shift does not change its size.

        Args:
            state: for the unknowns.
            amplitude: the circuit.
            at: ln f of the extreme and of what else is wanted, shape (points, draws).

        Returns:
            Shape (points, draws, n).
        """
        draws, k = at.shape[1], len(self.known)
        size, rise = amplitude.moved(self.relative, STEP)(np.tile(at.T, (2 * k, 1)))
        size, rise = (one.reshape(k, 2, draws, -1) for one in (size, rise))
        values = state.z[:, self.columns].T
        twice = 2.0 * np.where(self.relative[:, None], STEP * np.abs(values), STEP)[..., None]
        by_size, by_rise = (
            np.divide(one[:, 0] - one[:, 1], twice, out=np.zeros(one[:, 0].shape), where=twice > 0)
            for one in (size, rise)
        )
        moves = [-by_rise[:, :, 0] / bend_at(amplitude, at[0])]
        for point in range(1, len(at)):
            own = amplitude(at[point][:, None])[1][:, 0]
            moves.append((by_size[:, :, 0] - by_size[:, :, point]) / own)
        found = np.zeros((len(at), draws, state.layout.count))
        for j, column in enumerate(self.columns):
            if column < state.layout.count:
                found[:, :, column] += np.stack([one[j] for one in moves])
        return found
