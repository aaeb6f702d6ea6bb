"""The posterior: what the readings and the priors say together, frozen.

Every input (a whitened reading, a prior's centre) is independent, of unit variance and of a stated
shape. The gain matrix G carries them to the unknowns' coordinates: dt = G e, covariance = G G^T.
Budget, intervals and draws all come from G, so they agree with each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ohmbook.errors import CallError
from ohmbook.evidence.convolve import coverage
from ohmbook.evidence.scale import Scales, natural
from ohmbook.evidence.unknown import Array, Id, Shape, Unknown
from ohmbook.evidence.whitening import Whitening


@dataclass(frozen=True, slots=True)
class Input:
    """One independent input: a reading's own error, or a prior's centre (then `id` says whose)."""

    label: str
    kind: Literal["reading", "prior"]
    id: Id | None
    shape: Shape


@dataclass(frozen=True, slots=True)
class Mode:
    """One answer that fits: its coordinates, sum of squares and evidence.

    Args:
        t: coordinates, shape (n,).
        objective: sum of squared residuals of readings and priors.
        log_evidence: ln of the readings' density under this answer's neighbourhood (Laplace).
        share: of the evidence of all answers found, 0 to 1.
        converged: whether the minimisation ended at rest.
    """

    t: Array
    objective: float
    log_evidence: float
    share: float
    converged: bool


@dataclass(frozen=True, slots=True)
class Combination:
    """A linear combination of coordinates: value, standard uncertainty and coverage interval."""

    value: float
    u: float
    low: float
    high: float


@dataclass(frozen=True)
class Posterior:
    """n unknowns settled by m readings and their own priors.

    Args:
        unknowns: as given.
        labels: names of the m readings in use.
        mode: the most probable t, shape (n,).
        sensitivity: whitened readings by t, shape (m, n).
        gain: t by the inputs, shape (n, m + n); the inputs are the m readings, then the n priors.
        residuals: input minus fit, in its own standard uncertainty, shape (m + n,).
        inputs: what each column of the gain is.
        whitening: of the readings' own errors.
        modes: every distinct answer found, the most probable first.
        converged: whether the fit is at rest at the mode.
        set_aside: labels of readings left out as gross slips.
    """

    unknowns: tuple[Unknown, ...]
    labels: tuple[str, ...]
    mode: Array
    sensitivity: Array
    gain: Array
    residuals: Array
    inputs: tuple[Input, ...]
    whitening: Whitening
    modes: tuple[Mode, ...]
    converged: bool
    set_aside: tuple[str, ...] = ()

    @cached_property
    def ids(self) -> tuple[Id, ...]:
        """The unknowns' ids, in the order of every array."""
        return tuple(unknown.id for unknown in self.unknowns)

    @cached_property
    def covariance(self) -> Array:
        """Covariance of t, shape (n, n)."""
        return np.asarray(self.gain @ self.gain.T)

    @cached_property
    def leverage(self) -> Array:
        """Diagonal of the hat matrix: how far each input settles its own fitted value, (m + n,)."""
        prior_u = np.array([unknown.prior.u for unknown in self.unknowns])
        own = np.diag(self.gain[:, len(self.labels) :]) / prior_u
        readings = np.einsum("ij,ji->i", self.sensitivity, self.gain[:, : len(self.labels)])
        return np.concatenate([readings, own])

    @property
    def objective(self) -> float:
        """Sum of squared residuals of readings and priors."""
        return float(self.residuals @ self.residuals)

    @property
    def x(self) -> Array:
        """The values at the mode, natural units, shape (n,)."""
        return self._scales.natural(self.mode)

    def index(self, id_: Id) -> int:
        """The place of an unknown in every array.

        Raises:
            CallError: there is no such unknown.
        """
        if id_ not in self._places:
            raise CallError(f"There is no unknown {id_}; the unknowns are {list(self._places)}.")
        return self._places[id_]

    def value(self, id_: Id) -> float:
        """The value at the mode, natural units."""
        place = self.index(id_)
        return natural(self.unknowns[place].scale, float(self.mode[place]))

    def u(self, id_: Id) -> float:
        """Standard uncertainty on the unknown's scale (log: relative)."""
        row = self.gain[self.index(id_)]
        return float(np.sqrt(row @ row))

    def interval(self, id_: Id, probability: float = 0.95) -> tuple[float, float]:
        """Coverage interval, natural units: the convolution of the inputs' stated shapes."""
        place = self.index(id_)
        scale, t = self.unknowns[place].scale, float(self.mode[place])
        half = coverage(self.gain[place], self.rectangular, probability)
        return natural(scale, t - half), natural(scale, t + half)

    def combination(
        self, weights: Mapping[Id, float], offset: float = 0.0, probability: float = 0.95
    ) -> Combination:
        """offset + sum of weights times coordinates, such as ln L - loss * ln(f/f0).

        Args:
            weights: for each unknown its factor, on t.
            offset: added to the value.
            probability: of the interval.
        """
        row = np.zeros(len(self.mode))
        for id_, weight in weights.items():
            row[self.index(id_)] += weight
        gains = row @ self.gain
        value = offset + float(row @ self.mode)
        half = coverage(gains, self.rectangular, probability)
        return Combination(value, float(np.sqrt(gains @ gains)), value - half, value + half)

    def draws(self, n: int, seed: int) -> Array:
        """Joint draws, natural units, shape (n, unknowns): mode + G e, e of the stated shapes."""
        rng = np.random.default_rng(seed)
        return self._scales.natural(self.mode + deviates(self.rectangular, n, rng) @ self.gain.T)

    @cached_property
    def rectangular(self) -> NDArray[np.bool_]:
        """Which inputs are rectangles, shape (m + n,)."""
        return np.array([entry.shape == "rectangle" for entry in self.inputs], dtype=bool)

    @cached_property
    def _places(self) -> dict[Id, int]:
        return {unknown.id: place for place, unknown in enumerate(self.unknowns)}

    @cached_property
    def _scales(self) -> Scales:
        return Scales.of([unknown.scale for unknown in self.unknowns])


def deviates(rectangular: NDArray[np.bool_], n: int, rng: np.random.Generator) -> Array:
    """Independent inputs of unit variance and stated shapes, shape (n, inputs)."""
    drawn = rng.standard_normal((n, len(rectangular)))
    width = np.sqrt(3.0)
    drawn[:, rectangular] = rng.uniform(-width, width, (n, int(rectangular.sum())))
    return drawn
