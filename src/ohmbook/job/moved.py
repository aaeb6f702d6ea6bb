"""What if: a settled crossover's curves again, with some of its values moved by hand.

The settled answer is taken apart once into plain values (`Bench`): a network, the best values,
joint draws of them. A moved value takes its draws along: they are scaled so that the best value is
the one set by hand and its relative spread stays, as does how it moves with the others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import respond
from ohmbook.circuit.network import Id, Network
from ohmbook.crossover.behaviour import Behaviour, default_grid
from ohmbook.crossover.features import HIGH, LOW
from ohmbook.crossover.quick import behave_quickly
from ohmbook.crossover.wiring import crossover_network, fixed_values, output_names
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.part import MAIN_QUANTITY, PartKind
from ohmbook.errors import CallError
from ohmbook.job.settled import Settled
from ohmbook.units.quantity import Unit

DRAWS = 1000
"""Joint draws at rest; while a value moves, the first few hundred of them do."""

FEW = 200
"""Draws while a value moves."""

FARTHEST = 1e6
"""How many times as large or small a value may be made."""

GRID_STEP = 10
CHOICES = 60
_NARROW, _FAR_DOWN = 1e-6, 700.0

UNITS: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}

Moves = Mapping[Id, float] | Mapping[str, float]
"""Values by (part, quantity), SI; or by the part's name factors on its main quantity."""


@dataclass(frozen=True, slots=True)
class Movable:
    """A value that can be moved.

    Args:
        id: its part and quantity.
        kind: of the part.
        main: whether it is the part's main quantity.
        value, low, high: settled, SI, as the estimate has it; all alike where it is exact.
        unit: SI.
        frequency_hz: where it holds; None for resistances.
        determined: whether the readings determine it.
    """

    id: Id
    kind: PartKind
    main: bool
    value: float
    low: float
    high: float
    unit: Unit
    frequency_hz: float | None = None
    determined: bool = False


@dataclass(frozen=True, eq=False)
class Bench:
    """A settled crossover as values, for its curves to be worked out again and again.

    Args:
        settled: what it was taken from.
        network: driven at its input, looked at across its outputs.
        outputs: their names.
        best: the best values by (owner, quantity), SI.
        drawn: joint draws of those that are uncertain, each of shape (draws,).
        movable: what can be moved, by (part, quantity), in the parts' order.
    """

    settled: Settled
    network: Network
    outputs: tuple[str, ...]
    best: Mapping[Id, float]
    drawn: Mapping[Id, NDArray[np.float64]]
    movable: Mapping[Id, Movable]

    def moved(
        self,
        to: Moves,
        draws: int = DRAWS,
        *,
        exact: bool | frozenset[Id] = False,
        coarse: bool = False,
        f_hz: NDArray[np.float64] | None = None,
    ) -> Behaviour:
        """The curves with some values moved.

        Args:
            to: the values moved: SI by (part, quantity), at the frequency at which the estimate
                holds; or a factor by the part's name, on its main quantity.
            draws: for the band, `DRAWS` at most; 0 for none.
            exact: whether what was moved is taken as exact (all of it, or these) instead of
                keeping its relative spread.
            coarse: whether the bands' edges may be filled in between every fourth frequency, for
                curves that are on the move.
            f_hz: shape (m,), Hz, increasing; 400 points from 20 Hz to 20 kHz where None.

        Returns:
            Gains and input impedance with bands, phases, and the best curves' features.

        Raises:
            CallError: a value that is not on the board or cannot be, or too many draws.
            CircuitError: values with which the circuit has no answer.
        """
        if not 0 <= draws <= DRAWS:
            raise CallError(f"{draws} draws were asked for; expected 0 to {DRAWS}.")
        factors = self.factors(to)
        values = {one: x * factors.get(one, 1.0) for one, x in self.best.items()}
        drawn: dict[Id, float | NDArray[np.float64]] = dict(values)
        for one, row in self.drawn.items() if draws else ():
            moved = one in factors
            if not (moved and (exact is True or (exact and one in exact))):
                drawn[one] = row[:draws] * factors[one] if moved else row[:draws]
        return behave_quickly(self.network, self.outputs, values, drawn, f_hz, coarse=coarse)

    def factors(self, to: Moves) -> dict[Id, float]:
        """How many times its settled value each moved value is.

        Raises:
            CallError: a value that is not on the board or cannot be.
        """
        found: dict[Id, float] = {}
        for target, x in to.items():
            one = self._main(target) if isinstance(target, str) else target
            if one not in self.movable:
                known = ", ".join(f"{part} ({what})" for part, what in self.movable)
                raise CallError(f"There is no value {one} to move here; there are {known}.")
            if not 0.0 <= x < inf:
                raise CallError(f"{one[0]} cannot be moved to {x:g}: expected 0 or more.")
            found[one] = x if isinstance(target, str) else x / self.movable[one].value
            if found[one] and not 1.0 / FARTHEST <= found[one] <= FARTHEST:
                raise CallError(
                    f"{one[0]} cannot be moved to {x:g}: expected 0, or at most a million times "
                    "as much or as little as is settled."
                )
        return found

    def _main(self, part: str) -> Id:
        found = (one.id for one in self.movable.values() if one.main and one.id[0] == part)
        return next(found, (part, "value"))


def bench(settled: Settled, *, seed: int = 1) -> Bench:
    """Take a settled sheet's crossover apart into values that can be moved.

    Args:
        settled: a settled sheet.
        seed: of the draws; those of `behaviour` with as many draws and the same seed.

    Raises:
        OhmbookError: no sketch, no input or no outputs.
    """
    sketch, parts = settled.sheet.sketch, settled.sheet.parts
    network, fixed = crossover_network(sketch, parts), fixed_values(sketch, parts)
    posterior, constants = settled.posterior, settled.answer.compiled.constants
    free = [one for one in network.ids if one in posterior.ids and one not in fixed]
    best = {one: constants[one] for one in network.ids if one in constants}
    best |= {one: posterior.value(one) for one in free} | fixed
    table = posterior.draws(DRAWS, seed)
    drawn = {one: table[:, posterior.index(one)] for one in free}
    order = _few_first(network, best, drawn)
    drawn = {one: row[order] for one, row in drawn.items()}
    for row in drawn.values():
        row.flags.writeable = False
    names = output_names(sketch, parts)
    return Bench(settled, network, names, best, drawn, _movable(settled, best, fixed))


def _few_first(
    network: Network, best: Mapping[Id, float], drawn: Mapping[Id, NDArray[np.float64]]
) -> NDArray[np.intp]:
    """An order of the draws in which the first few have a band as near as may be to that of all.

    So the band hardly moves when a dragged value comes to rest. Of some random choices the best
    is taken: its edges are off by 3 % of the band's width (rms), an ordinary choice's by 6 %.
    """
    if not drawn:
        return np.arange(DRAWS)
    found = respond(network, {**best, **drawn}, default_grid()[::GRID_STEP])
    sizes = np.concatenate([found.transfer, found.input_impedance[None]])
    with np.errstate(divide="ignore"):
        levels = np.log(np.abs(sizes)).swapaxes(1, 2)
    levels = np.where(np.isfinite(levels), levels, -_FAR_DOWN)
    whole = _edges(levels)
    width = np.maximum(whole[..., 1] - whole[..., 0], _NARROW)[..., None]
    rng = np.random.default_rng(0)
    orders = [rng.permutation(DRAWS) for _ in range(CHOICES)]
    off = [np.square((_edges(levels[..., one[:FEW]]) - whole) / width).sum() for one in orders]
    return orders[int(np.argmin(off))]


def _edges(levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """The nearest draws to the band's edges, over the last axis."""
    draws = levels.shape[-1]
    places = [round(share * (draws - 1)) for share in (LOW, HIGH)]
    return np.asarray(np.partition(levels, places, axis=-1)[..., places])


def _movable(
    settled: Settled, best: Mapping[Id, float], fixed: Mapping[Id, float]
) -> dict[Id, Movable]:
    told = {(one.name, one.quantity): one for one in settled.estimates}
    found = {}
    for name, part in settled.sheet.parts.items():
        main = MAIN_QUANTITY[part.kind]
        for quantity in dict.fromkeys((main, "resistance")):
            one = (name, quantity)
            if best.get(one, 0.0) > 0.0:
                estimate = None if one in fixed else told.get(one)
                found[one] = _one(one, part.kind, estimate, best[one])
    return found


def _one(one: Id, kind: PartKind, told: Estimate | None, value: float) -> Movable:
    main = one[1] == MAIN_QUANTITY[kind]
    if told is None:
        return Movable(one, kind, main, value, value, value, UNITS[one[1]])
    return Movable(
        one,
        kind,
        main,
        told.value,
        told.low,
        told.high,
        told.unit,
        told.frequency_hz,
        told.determined,
    )
