"""What one reading alone says of a part: the rest held at what all readings say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, sqrt

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import Estimate, Implied

MOST = 6
_TOO_WIDE = 1.5


def implied(answer: Answer, estimate: Estimate) -> tuple[Implied, ...]:
    """Each reading's own implied value, the most telling first, the settled value last.

    Linear about the settled answer: reading i alone says t + r_i / J_i, with every cause of error
    where it was believed before, and the doubt of its own error and of those causes. The other
    parts are held at what all readings say.
    """
    one: Id = (estimate.name, estimate.quantity)
    ends, u = (estimate.low, estimate.high), estimate.standard_uncertainty
    settled = Implied("all readings together", estimate.value, *ends, True, u)
    if one not in answer.posterior.ids:
        return (settled,)
    posterior, compiled = answer.posterior, answer.compiled
    x, k = posterior.x, posterior.index(one)
    slope_x = compiled.jacobian(x)
    rate = np.array(
        [
            xi if unknown.scale == "log" else 1.0
            for xi, unknown in zip(x, posterior.unknowns, strict=True)
        ]
    )
    slope = slope_x * rate
    prior_u = np.array([unknown.prior.u for unknown in posterior.unknowns])
    cause = np.array([unknown.nuisance for unknown in posterior.unknowns])
    alone = np.where(cause, _believed(answer), x)
    residual = compiled.observed - compiled.predict(alone[None, :])[0]
    variance = np.diag(compiled.covariance) + ((slope * prior_u)[:, cause] ** 2).sum(axis=1)
    rows = []
    for i, row in enumerate(compiled.rows):
        if slope[i, k] == 0.0:
            continue
        u = sqrt(float(variance[i])) / abs(float(slope[i, k]))
        shift = float(residual[i] / slope[i, k])
        if u < _TOO_WIDE and abs(shift) < 3 * _TOO_WIDE:
            rows.append(
                (
                    u,
                    Implied(
                        row.label,
                        estimate.value * exp(shift),
                        estimate.value * exp(shift - 1.96 * u),
                        estimate.value * exp(shift + 1.96 * u),
                    ),
                )
            )
    best = _chosen(rows, {row.label: row.reading for row in compiled.rows})
    order = {row.label: i for i, row in enumerate(compiled.rows)}
    chosen = sorted(best, key=lambda entry: order[entry.label])
    return (*chosen, settled)


def _believed(answer: Answer) -> np.ndarray:
    """Every unknown at the centre of what was believed before, natural units."""
    return np.array(
        [
            exp(one.prior.centre) if one.scale == "log" else one.prior.centre
            for one in answer.posterior.unknowns
        ]
    )


def _chosen(rows: Sequence[tuple[float, Implied]], reading: Mapping[str, str]) -> list[Implied]:
    """The best row of every reading, then the best of the rest."""
    ranked = [entry for _, entry in sorted(rows, key=lambda pair: pair[0])]
    first = {reading[entry.label]: entry for entry in reversed(ranked)}
    chosen = [*first.values(), *(entry for entry in ranked if entry not in first.values())]
    return chosen[: max(MOST, len(first))]
