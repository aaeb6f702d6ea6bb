"""Rank: which unknowns the readings determine."""

from __future__ import annotations

from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.unknown import Id

DETERMINED_BELOW = 0.5


def determined(posterior: Posterior, id_: Id) -> bool:
    """Whether the readings determine an unknown: its u is under half its prior's."""
    prior_u = posterior.unknowns[posterior.index(id_)].prior.u
    return posterior.u(id_) < DETERMINED_BELOW * prior_u


def determined_ids(posterior: Posterior) -> tuple[Id, ...]:
    """The ids of the values (not the influences) that the readings determine."""
    return tuple(
        unknown.id
        for unknown in posterior.unknowns
        if not unknown.nuisance and determined(posterior, unknown.id)
    )
