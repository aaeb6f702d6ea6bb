"""Modes: the distinct answers that fit, and the evidence of each.

The evidence of an answer is the readings' probability density with the unknowns integrated over
their priors around it, by Laplace's approximation (Kass, Raftery 1995, JASA 90, eq. 5) with the
Gauss-Newton Hessian: exact for a linear problem. Ratios of evidences rank answers and hypotheses
about the same readings.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ohmbook.evidence.fit import Fit
from ohmbook.evidence.posterior import Mode, Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array

_NEGLIGIBLE = 1e-6


def ranked(problem: Problem, fits: Sequence[Fit]) -> tuple[Mode, ...]:
    """Fits as modes with their shares of the evidence, the most probable first."""
    evidences = np.array([_fit_evidence(problem, fit) for fit in fits])
    if not np.isfinite(evidences.max()):
        return ()
    weights = np.exp(evidences - evidences.max())
    shares = weights / weights.sum()
    modes = [
        Mode(fit.t, fit.objective, float(evidence), float(share), fit.converged)
        for fit, evidence, share in zip(fits, evidences, shares, strict=True)
        if share > _NEGLIGIBLE
    ]
    return tuple(sorted(modes, key=lambda mode: -mode.log_evidence))


def log_evidence(posterior: Posterior) -> float:
    """ln of the readings' density, summed over the modes found: for ranking hypotheses.

    Only differences between hypotheses about the same readings mean anything; the readings set
    aside must be the same too.
    """
    best = posterior.modes[0]
    return best.log_evidence - float(np.log(best.share))


def _fit_evidence(problem: Problem, fit: Fit) -> float:
    normal = normal_matrix(problem.jacobian(fit.t) if fit.matrix is None else fit.matrix)
    curvature = float(np.linalg.slogdet(normal)[1])
    constant = len(problem.observed) * np.log(2.0 * np.pi) / 2.0
    return float(
        -0.5 * (fit.objective + curvature) - constant - problem.whitening.log_determinant()
    )


def normal_matrix(matrix: Array) -> Array:
    """B^T B + I."""
    normal = matrix.T @ matrix
    normal[np.diag_indices_from(normal)] += 1.0
    return normal
