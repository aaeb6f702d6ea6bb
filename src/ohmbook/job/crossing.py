"""Push a settled sheet through its crossover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import Id
from ohmbook.crossover.behaviour import Behaviour, behave
from ohmbook.crossover.leaning import leanings
from ohmbook.crossover.wiring import crossover_network, fixed_values, output_names
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.job.settled import Settled, settle
from ohmbook.job.spread import spread


def behaviour(
    what: Settled | Sheet,
    *,
    draws: int = 1000,
    f_hz: NDArray[np.float64] | None = None,
    seed: int = 1,
    levels_hz: Sequence[float] = (),
) -> Behaviour:
    """What the crossover does, with its 95 % band from the joint answer.

    Args:
        what: a settled sheet, or a sheet, which is settled first.
        draws: joint draws for the band; 0 gives best values only.
        f_hz: shape (m,), Hz, increasing; 400 points from 20 Hz to 20 kHz where None.
        seed: of the draws.
        levels_hz: where the outputs' levels are wanted among the features whose spread is split.

    Returns:
        Each output's gain and phase, the input impedance, their features, and where the spread
        of each comes from (worked out by the circuit's slopes, not from the draws).

    Raises:
        OhmbookError: no sketch, no input or no outputs, or readings that cannot be settled.
    """
    if draws < 0:
        raise CallError(f"{draws} draws were asked for; expected 0 or more.")
    settled = settle(what, seed=seed) if isinstance(what, Sheet) else what
    sketch, parts = settled.sheet.sketch, settled.sheet.parts
    network = crossover_network(sketch, parts)
    fixed = fixed_values(sketch, parts)
    posterior, constants = settled.posterior, settled.answer.compiled.constants
    best: dict[Id, float] = {one: constants[one] for one in network.ids if one in constants}
    best |= {one: posterior.value(one) for one in network.ids if one in posterior.ids}
    drawn: dict[Id, float | NDArray[np.float64]] | None = None
    if draws:
        table = posterior.draws(draws, seed)
        drawn = {
            **best,
            **{one: table[:, posterior.index(one)] for one in network.ids if one in posterior.ids},
            **fixed,
        }
    values = {**best, **fixed}
    shown = behave(network, output_names(sketch, parts), values, drawn, f_hz)
    leant = leanings(network, values, shown, levels_hz)
    found = (spread(settled.answer, one, frozenset(fixed)) for one in leant)
    return replace(shown, spread=tuple(one for one in found if one is not None))
