"""What was observed: a block of readings and the model that predicts them."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from ohmbook.evidence.unknown import Array, Id, Shape


class Block(Protocol):
    """A block of m observations that depend on n unknowns.

    `ids` (n) name the unknowns, in the order of the columns; `labels` (m) name each observation;
    `observed` (m,) holds what was read; `covariance` (m, m) that of the observations' own errors
    (those shared by no unknown); `shapes` (m) the distribution each own error is drawn from.
    """

    @property
    def ids(self) -> tuple[Id, ...]:
        """The unknowns, in the order of the columns of x and of the Jacobian."""

    @property
    def labels(self) -> tuple[str, ...]:
        """One name for each observation."""

    @property
    def observed(self) -> Array:
        """What was read, shape (m,)."""

    @property
    def covariance(self) -> Array:
        """Covariance of the observations' own errors, shape (m, m)."""

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """The distribution of each observation's own error."""

    def predict(self, x: Array) -> Array:
        """What should be read: x of shape (draws, n), natural units, gives (draws, m)."""

    def jacobian(self, x: Array) -> Array:
        """dy/dx at one x of shape (n,), natural units: shape (m, n)."""


@runtime_checkable
class Linearising(Block, Protocol):
    """A block that gives predictions and Jacobians of many draws at once, quickly, for a search."""

    def linearise(self, x: Array, careful: bool = False) -> tuple[Array, Array]:
        """x of shape (draws, n), natural units, gives y (draws, m) and dy/dx (draws, m, n); to the
        last digit where `careful`."""

    def guess(self, x: Array) -> Array:
        """As `predict`, where a search needs no more than some ten digits."""
