"""Design: what one more reading would do, before it is taken.

A hypothetical reading adds its rows to the linearised problem; the covariance after it follows by
a low-rank update, without a fit (Chaloner, Verdinelli 1995, Statistical Science 10, on Bayesian
design; the update is Woodbury's identity).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.unknown import Array, Id


def gain_of(
    posterior: Posterior, rows: Array, noise: Array, ids: Sequence[Id]
) -> Mapping[Id, float]:
    """Standard uncertainties on the unknowns' scales after a hypothetical reading.

    Args:
        posterior: as it stands.
        rows: Jacobian of the reading by t at the mode, in the posterior's order, shape (m, n).
        noise: covariance of its own errors, shape (m, m), or their standard uncertainties, (m,);
            influences that only this reading has belong in it.
        ids: whose uncertainties are asked for.
    """
    own = np.diag(noise**2) if noise.ndim == 1 else noise
    places = [posterior.index(id_) for id_ in ids]
    variances = np.diag(updated(posterior.covariance, rows, own))[places]
    return {id_: float(np.sqrt(v)) for id_, v in zip(ids, variances, strict=True)}


def updated(covariance: Array, rows: Array, noise: Array) -> Array:
    """The covariance (n, n) after readings with Jacobian rows (m, n) and own covariance (m, m)."""
    carried = rows @ covariance
    after = covariance - carried.T @ np.linalg.solve(noise + carried @ rows.T, carried)
    return np.asarray(0.5 * (after + after.T))
