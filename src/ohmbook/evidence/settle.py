"""Settle: every unknown from every reading, in one fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ohmbook.evidence.aside import without_slips
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.search import answers, beginning, posterior_of
from ohmbook.evidence.unknown import Id, Unknown


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
    modes = answers(problem, beginning(problem, begin), starts, seed)
    posterior = posterior_of(problem, modes)
    return without_slips(unknowns, blocks, posterior, starts, seed) if set_aside else posterior
