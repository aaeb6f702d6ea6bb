"""Settle: every unknown from every reading, in one fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ohmbook.evidence.aside import without_slips
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.search import beginning, doubtful, modes_of, posterior_of, search, wider
from ohmbook.evidence.unknown import Id, Unknown

_BETTER = 0.9
"""To what share a wider search must lower the objective for slips to be looked for once more."""


def settle(
    unknowns: Sequence[Unknown],
    blocks: Sequence[Block],
    *,
    starts: int = 5,
    seed: int = 1,
    begin: Mapping[Id, float] | None = None,
    set_aside: bool = True,
) -> Posterior:
    """Maximum a posteriori of all unknowns given all readings, with its joint uncertainty.

    Args:
        unknowns: each with its scale and prior.
        blocks: readings with the models that predict them; labels are unique over all blocks.
        starts: how many starts: the prior centre (or `begin`) and screened prior draws.
        seed: of those draws; the same seed gives the same answer.
        begin: values to begin from, natural units; the others begin at their prior centres.
        set_aside: whether a reading that is a gross slip may be left out (`Posterior.set_aside`).

    Returns:
        The posterior at the most probable answer; `modes` holds every distinct one.

    Raises:
        SettleError: a reading without room for error, not a number, or nothing can be predicted.
        CallError: ids or shapes that do not match.
    """
    problem = Problem.of(unknowns, blocks)
    start = beginning(problem, begin)
    fits = search(problem, start, starts, seed)
    near = modes_of(problem, fits)
    posterior = posterior_of(problem, near)
    if set_aside:
        # A gross slip is why most searches find no good answer: looked for before searching wider.
        without = without_slips(unknowns, blocks, posterior, starts, seed)
        if without is not posterior:
            return without
    if starts == 1 or not (doubtful(problem, near[0]) and doubtful(problem, fits[0])):
        return posterior
    modes = modes_of(problem, wider(problem, start, starts, seed, fits))
    posterior = posterior_of(problem, modes)
    if set_aside and modes[0].objective < _BETTER * near[0].objective:
        return without_slips(unknowns, blocks, posterior, starts, seed)
    return posterior
