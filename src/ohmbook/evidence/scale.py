"""Scales: from a coordinate t to a value x and back, for a whole row of unknowns at once.

log: t = ln x; linear: t = x; logit: t = ln(x / (1 - x)). The last axis runs over the unknowns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.errors import CallError
from ohmbook.evidence.unknown import Array, Scale

_DOMAIN = {"log": "above 0", "logit": "between 0 and 1", "linear": "finite"}


@dataclass(frozen=True, slots=True)
class Scales:
    """The scales of n unknowns, as masks over the last axis; whether any is logit."""

    log: np.ndarray[tuple[int], np.dtype[np.bool_]]
    logit: np.ndarray[tuple[int], np.dtype[np.bool_]]
    curved: bool

    @classmethod
    def of(cls, scales: Sequence[Scale]) -> Scales:
        """The masks of a sequence of scale names."""
        return cls(
            np.array([scale == "log" for scale in scales], dtype=bool),
            np.array([scale == "logit" for scale in scales], dtype=bool),
            "logit" in scales,
        )

    def natural(self, t: Array) -> Array:
        """Values x, natural units, of coordinates t, shape (..., n)."""
        x = np.array(t, dtype=np.float64)
        np.exp(x, out=x, where=self.log)
        if self.curved:
            x[..., self.logit] = np.exp(-np.logaddexp(0.0, -x[..., self.logit]))
        return x

    def slope(self, x: Array) -> Array:
        """dx/dt at x, shape (..., n)."""
        slope = np.where(self.log, x, 1.0)
        if self.curved:
            slope[..., self.logit] = x[..., self.logit] * (1.0 - x[..., self.logit])
        return slope


def natural(scale: Scale, t: float) -> float:
    """The value x of one coordinate t."""
    if scale == "log":
        return float(np.exp(t))
    return float(np.exp(-np.logaddexp(0.0, -t))) if scale == "logit" else float(t)


def coordinate(scale: Scale, x: float) -> float:
    """The coordinate t of one value x.

    Raises:
        CallError: x has no place on this scale.
    """
    legal = {"log": x > 0.0, "logit": 0.0 < x < 1.0, "linear": True}[scale]
    if not (legal and np.isfinite(x)):
        raise CallError(f"{x:g} has no place on a {scale} scale; expected {_DOMAIN[scale]}.")
    if scale == "log":
        return float(np.log(x))
    return float(np.log(x) - np.log1p(-x)) if scale == "logit" else float(x)
