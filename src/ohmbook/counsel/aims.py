"""What a person wants to know, how well, and how far a state of knowledge is from it.

A target is a value on its own logarithmic scale: a part's main value, told at the frequency where
its readings pin it best, or a feature of the behaviour. The loss of a state is the mean over the
targets of ln sqrt(u^2 + goal^2): what is known well enough gains nothing more, so the worst comes
first by itself, and a halving counts alike for every part.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ohmbook.circuit.network import Id
from ohmbook.evidence.unknown import Array

WITHIN = 0.05
"""The tolerance that parts are wanted within where none is asked for: half the width of a 95 %
interval, relative."""
COVERAGE = 1.96

Slopes = Callable[[Mapping[Id, float]], Mapping[Id, float] | None]


@dataclass(frozen=True, slots=True)
class Target:
    """One thing that is wanted.

    Args:
        name: of the part, or of the feature.
        quantity: of the part; "frequency" and the like of a feature.
        one: the unknown that it is, where it is one.
        slopes: its logarithm by the unknowns' coordinates at given values, where it is none;
            None where the feature does not exist there.
    """

    name: str
    quantity: str
    one: Id | None = None
    slopes: Slopes | None = None

    def weights(self, ids: Sequence[Id], values: Array) -> Array | None:
        """Its logarithm by the coordinates of some unknowns, shape (n,)."""
        found = np.zeros(len(ids))
        held: Mapping[Id, float] | None = {self.one: 1.0} if self.one is not None else None
        if self.slopes is not None:
            held = self.slopes(dict(zip(ids, values.tolist(), strict=True)))
        if held is None:
            return None
        for k, one in enumerate(ids):
            found[k] = held.get(one, 0.0)
        return found


@dataclass(frozen=True, slots=True)
class Aim:
    """Everything wanted, and how well: `within` is half a 95 % interval, relative."""

    targets: tuple[Target, ...]
    within: float = WITHIN

    @property
    def goal(self) -> float:
        """The standard uncertainty below which nothing more is gained, by the loss."""
        return 0.2 * self.within / COVERAGE


@dataclass(frozen=True, slots=True)
class Sight:
    """The targets as rows over one outlook's unknowns.

    Args:
        weights: shape (k, n); zero where the target does not exist in this outlook.
        losses: the loss exponent of each target's part, shape (k, n); zero where it has none.
        exists: whether the target exists, shape (k,).
    """

    weights: Array
    losses: Array
    exists: Array

    @classmethod
    def of(cls, aim: Aim, ids: Sequence[Id], values: Array) -> Sight:
        """The targets seen from one guess."""
        count = len(aim.targets)
        weights, losses = np.zeros((count, len(ids))), np.zeros((count, len(ids)))
        exists = np.zeros(count)
        for k, target in enumerate(aim.targets):
            row = target.weights(ids, values)
            if row is not None:
                weights[k], exists[k] = row, 1.0
            loss = None if target.one is None else (target.one[0], "loss")
            if loss in ids:
                losses[k, ids.index(loss)] = 1.0
        return cls(weights, losses, exists)

    def variances(self, covariance: Array) -> Array:
        """Each target's variance, where it is told best, shape (k,)."""
        seen, lost = self.weights @ covariance, self.losses @ covariance
        return at_best(
            np.einsum("kn,kn->k", seen, self.weights),
            np.einsum("kn,kn->k", seen, self.losses),
            np.einsum("kn,kn->k", lost, self.losses),
        )


def at_best(value: Array, both: Array, loss: Array) -> Array:
    """Variance of ln L - loss ln(f / reference) at the frequency where it is least."""
    shared = np.divide(both**2, loss, out=np.zeros_like(value), where=loss > 0.0)
    return np.asarray(np.maximum(value - shared, 0.0))
