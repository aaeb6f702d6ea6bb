"""Whitening: residuals counted in standard uncertainties, correlations undone.

With the covariance C = D R D (D the standard uncertainties, R the correlations) and R = K K^T,
the whitened residual is K^-1 D^-1 (y - f). Whitened input i takes the shape of observation i;
where observations correlate, K is lower triangular, so the first of a row of repeats carries the
error they share and keeps its shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.errors import SettleError
from ohmbook.evidence.unknown import Array


@dataclass(frozen=True, slots=True)
class Factor:
    """K of one group of correlated observations, and its inverse."""

    matrix: Array
    inverse: Array


@dataclass(frozen=True, slots=True)
class Whitening:
    """What makes m observations' own errors independent, each of unit variance.

    Args:
        sigma: standard uncertainty of each observation's own error, shape (m,).
        factors: for each group of correlated observations their rows and K.
    """

    sigma: Array
    factors: tuple[tuple[NDArray[np.intp], Factor], ...]

    @classmethod
    def of(cls, covariances: Sequence[Array], labels: Sequence[str]) -> Whitening:
        """The whitening of blocks that are independent of each other.

        Raises:
            SettleError: an own error has no variance, or a covariance cannot be one.
        """
        sigmas, factors, start = [], [], 0
        for covariance in covariances:
            rows = np.arange(start, start + len(covariance))
            named = labels[start : start + len(covariance)]
            sigma = _sigma(covariance, named)
            sigmas.append(sigma)
            if np.count_nonzero(covariance) > len(covariance):
                factors.append((rows, _factor(covariance / np.outer(sigma, sigma), named)))
            start += len(covariance)
        return cls(np.concatenate(sigmas) if sigmas else np.zeros(0), tuple(factors))

    def whiten(self, rows: Array) -> Array:
        """K^-1 D^-1 applied to the rows of an array, shape (m,) or (m, k)."""
        white = rows / (self.sigma if rows.ndim == 1 else self.sigma[:, np.newaxis])
        for index, factor in self.factors:
            white[index] = factor.inverse @ white[index]
        return white

    def whiten_each(self, stack: Array, out: Array | None = None) -> Array:
        """The same applied to the rows of each of a stack: shape (draws, m) or (draws, m, k)."""
        flat = stack.ndim == 2
        white = np.divide(stack, self.sigma if flat else self.sigma[:, np.newaxis], out=out)
        for index, factor in self.factors:
            part = white[:, index]
            white[:, index] = part @ factor.inverse.T if flat else factor.inverse @ part
        return white

    def colour(self, white: Array) -> Array:
        """D K applied to the rows of an array: whitened inputs to errors in natural units."""
        rows = white.copy()
        for index, factor in self.factors:
            rows[index] = factor.matrix @ rows[index]
        return rows * (self.sigma if rows.ndim == 1 else self.sigma[:, np.newaxis])

    def log_determinant(self) -> float:
        """ln sqrt(det C)."""
        correlated = sum(float(np.log(np.diag(factor.matrix)).sum()) for _, factor in self.factors)
        return float(np.log(self.sigma).sum()) + correlated


def _sigma(covariance: Array, labels: Sequence[str]) -> Array:
    variance = np.diag(covariance)
    for value, label in zip(variance, labels, strict=True):
        if not (value > 0.0 and np.isfinite(value)):
            raise SettleError(
                f'The reading "{label}" leaves no room for error (variance {value:g}); '
                "expected how well it was read, above zero."
            )
    return np.sqrt(variance)


def _factor(correlations: Array, labels: Sequence[str]) -> Factor:
    try:
        matrix = np.asarray(np.linalg.cholesky(correlations), dtype=np.float64)
        return Factor(matrix, np.tril(np.linalg.inv(matrix)))
    except np.linalg.LinAlgError:
        listed = ", ".join(f'"{label}"' for label in labels)
        raise SettleError(
            f"The errors of the readings {listed} cannot go together as stated: wholly "
            "correlated, or a covariance that cannot be one. Expected correlations inside ±1."
        ) from None
