"""Consistency: do the readings agree with each other, and which of them strains?

Chi-squared sums the squared residuals of the readings and of the influences' priors; the priors of
the parts' own values take no side. In each direction of the values about which the readings speak
(their own standard uncertainty there below about three of the prior's) a value is fitted to them,
which costs one degree of freedom, and whatever the prior pulls there is taken out. So degrees of
freedom = readings - directions fitted, which is readings - trace of the hat matrix wherever the
priors are wide, and with simulated data chi-squared follows its distribution.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.tails import chi_squared_above
from ohmbook.evidence.unknown import Array

_SPOKEN_OF = 0.3
UNCHECKED = 0.9
_KEPT = "_consistency"


@dataclass(frozen=True, slots=True)
class Consistency:
    """Chi-squared of the readings, its degrees of freedom, and the probability of as much or more
    by chance; None where nothing checks anything (no degree of freedom)."""

    chi_squared: float
    degrees_of_freedom: int
    p_value: float | None


@dataclass(frozen=True, slots=True)
class Strain:
    """How one reading stands against all the others.

    Args:
        label: the reading.
        residual: deleted residual: reading minus what all else makes of it, in the standard
            uncertainty of that difference.
        leverage: how far the reading settles its own fitted value, 0 to 1.
        shift: the same difference in the reading's unit.
    """

    label: str
    residual: float
    leverage: float
    shift: float

    @property
    def unchecked(self) -> bool:
        """Whether nothing else checks the reading (leverage above 0.9)."""
        return self.leverage > UNCHECKED


def consistency(posterior: Posterior) -> Consistency:
    """Chi-squared of readings and influences, without the priors of the parts' values.

    Many ask for it of one posterior, which never changes: kept with it as a cached property is.
    """
    kept = vars(posterior)
    if _KEPT not in kept:
        kept[_KEPT] = _consistency(posterior)
    found: Consistency = kept[_KEPT]
    return found


def _consistency(posterior: Posterior) -> Consistency:
    m = len(posterior.labels)
    prior_u = np.array([unknown.prior.u for unknown in posterior.unknowns])
    influence = np.array([unknown.nuisance for unknown in posterior.unknowns], dtype=bool)
    matrix = posterior.sensitivity * prior_u
    residuals = np.concatenate([posterior.residuals[:m], posterior.residuals[m:][influence]])
    values = _values_alone(matrix[:, ~influence], matrix[:, influence])
    strengths, directions = np.linalg.eigh(values.T @ values)
    spoken = strengths > _SPOKEN_OF**2
    fitted = values @ directions[:, spoken] / np.sqrt(strengths[spoken])
    chi_squared = float(residuals @ residuals - np.sum((fitted.T @ residuals) ** 2))
    degrees = m - int(spoken.sum())
    p_value = chi_squared_above(degrees, chi_squared) if degrees > 0 else None
    return Consistency(max(chi_squared, 0.0), max(degrees, 0), p_value)


def strains(posterior: Posterior) -> tuple[Strain, ...]:
    """Every reading in use against all the others, in their order.

    A shift of reading i moves the whitened residuals along w = K^-1 D^-1 e_i; with M = I - H the
    best shift is w^T r / w^T M w, of variance 1 / w^T M w (Cook, Weisberg 1982, 2.2: the mean
    shift outlier model, here with correlated errors).
    """
    m = len(posterior.labels)
    own = posterior.residuals[:m]
    if posterior.whitening.factors:
        white = posterior.whitening.whiten(np.eye(m))
        rest = white - posterior.sensitivity @ (posterior.gain[:, :m] @ white)
        precision, left = np.sum(white * white, axis=0), np.sum(white * rest, axis=0)
        projected = white.T @ own
    else:
        precision = posterior.whitening.sigma**-2.0
        left = precision * (1.0 - posterior.leverage[:m])
        projected = own / posterior.whitening.sigma
    left = np.maximum(left, 1e-14 * precision)
    return tuple(
        Strain(label, float(p / np.sqrt(v)), float(1.0 - v / c), float(p / v))
        for label, p, v, c in zip(posterior.labels, projected, left, precision, strict=True)
    )


def _values_alone(values: Array, influences: Array) -> Array:
    """The values' columns, over readings and influences' priors, clear of the influences' own."""
    k = influences.shape[1]
    orthogonal, _ = np.linalg.qr(np.vstack([influences, np.eye(k)]))
    padded = np.vstack([values, np.zeros((k, values.shape[1]))])
    return np.asarray(padded - orthogonal @ (orthogonal.T @ padded))
