"""Where the spread of a feature of the behaviour comes from."""

from __future__ import annotations

from ohmbook.bench.estimates import Answer
from ohmbook.bench.shares import cause_shares, part_shares, uncertainty
from ohmbook.circuit.network import Id
from ohmbook.crossover.leaning import Leaning
from ohmbook.documents.estimate import Spread


def spread(answer: Answer, leaning: Leaning, fixed: frozenset[Id]) -> Spread | None:
    """Split a feature's spread: the joint answer pushed through the feature's slopes.

    Args:
        answer: the joint answer.
        leaning: the feature with its slopes by value.
        fixed: values that the behaviour does not take from the answer (drivers' rated ohms).

    Returns:
        The split by cause and by part; None where nothing uncertain moves the feature.
    """
    posterior = answer.posterior
    weights = {
        one: slope * _by_scale(answer, one)
        for one, slope in leaning.slopes.items()
        if one in posterior.ids and one not in fixed
    }
    u = uncertainty(answer, weights)
    if u == 0.0:
        return None
    causes, parts = cause_shares(answer, weights), part_shares(answer, weights)
    return Spread(leaning.feature, leaning.value, u, leaning.unit, causes, parts)


def _by_scale(answer: Answer, one: Id) -> float:
    """From a slope by ln p (by itself for a loss) to one on the unknown's own scale."""
    scale = answer.posterior.unknowns[answer.posterior.index(one)].scale
    if scale == "log" or one[1] == "loss":
        return 1.0
    value = answer.posterior.value(one)
    return 1.0 - value if scale == "logit" else 1.0 / value
