"""Curves of measured circuits as blocks for the fit: closed forms, their slopes by differences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import log

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence import Posterior, Prior, Shape, Unknown, settle
from ohmbook.evidence.unknown import Array, Id

Curve = Callable[..., NDArray[np.complex128] | Array]


@dataclass(frozen=True)
class CurveBlock:
    """Readings of a curve, real or complex (then real parts first, imaginary parts after)."""

    curve: Curve
    names: tuple[str, ...]
    read: NDArray[np.complex128] | Array
    u: Array
    labels: tuple[str, ...] = field(default=())

    @property
    def ids(self) -> tuple[Id, ...]:
        return tuple(("curve", name) for name in self.names)

    @property
    def observed(self) -> Array:
        return _flat(self.read)

    @property
    def covariance(self) -> Array:
        return np.diag(np.tile(self.u, len(self.observed) // len(self.u)) ** 2)

    @property
    def shapes(self) -> tuple[Shape, ...]:
        normal: Shape = "normal"
        return (normal,) * len(self.observed)

    def predict(self, x: Array) -> Array:
        return np.array([_flat(self.curve(*one)) for one in x])

    def jacobian(self, x: Array) -> Array:
        columns = []
        for k, value in enumerate(x):
            step = np.zeros_like(x)
            step[k] = 1e-6 * value
            up, down = self.predict(np.array([x + step, x - step]))
            columns.append((up - down) / (2e-6 * value))
        return np.array(columns).T


def _flat(values: NDArray[np.complex128] | Array) -> Array:
    held = np.asarray(values)
    if held.dtype.kind != "c":
        return np.asarray(held, dtype=float)
    return np.concatenate([held.real, held.imag])


def fitted(
    curve: Curve, guess: Mapping[str, float], read: NDArray[np.complex128] | Array, u: Array
) -> Posterior:
    """The curve's parameters, each believed before within a factor of ten or so of its guess."""
    block = CurveBlock(curve, tuple(guess), read, u)
    labels = tuple(f"point {k}" for k in range(len(block.observed)))
    block = CurveBlock(curve, tuple(guess), read, u, labels)
    unknowns = [Unknown(("curve", k), "log", Prior(log(v), 2.0)) for k, v in guess.items()]
    return settle(unknowns, [block], set_aside=False)


def values(found: Posterior) -> dict[str, tuple[float, float]]:
    """Each parameter's value and standard uncertainty."""
    told = {}
    for unknown in found.unknowns:
        value = float(np.exp(found.mode[found.index(unknown.id)]))
        told[unknown.id[1]] = (value, value * found.u(unknown.id))
    return told
