"""Small problems with known answers, and a board of dense nodal algebra that shares no code with
the product."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence import Array, Id, Prior, Scale, Shape, Unknown

Function = Callable[[Array], Array]


def value(name: str, centre: float, u: float, scale: Scale = "linear") -> Unknown:
    """A part's value with a normal prior in t."""
    return Unknown(("part", name), scale, Prior(centre, u))


def influence(name: str, centre: float, u: float, shape: Shape = "normal") -> Unknown:
    """An error's cause on a linear scale."""
    return Unknown(("influence", name), "linear", Prior(centre, u, shape), nuisance=True)


@dataclass(frozen=True)
class Formula:
    """Readings of any vectorised function of x (..., n) -> (..., m), differentiated numerically
    by a five-point stencil (error about 1e-11 of the function's size; `floor` is the least size
    of x that counts for the step)."""

    ids: tuple[Id, ...]
    observed: Array
    covariance: Array
    function: Function
    labels: tuple[str, ...] = ()
    shapes: tuple[Shape, ...] = ()
    floor: float = 1e-3
    calls: list[int] = field(default_factory=list)

    @classmethod
    def of(
        cls,
        unknowns: Sequence[Unknown],
        function: Function,
        observed: Sequence[float] | Array,
        u: Sequence[float] | Array | None = None,
        covariance: Array | None = None,
        shape: Shape = "normal",
    ) -> Formula:
        """Readings named r0, r1, ... of all the unknowns."""
        y = np.asarray(observed, dtype=np.float64)
        own = np.diag(np.asarray(u, dtype=np.float64) ** 2) if covariance is None else covariance
        labels = tuple(f"r{place}" for place in range(len(y)))
        ids = tuple(unknown.id for unknown in unknowns)
        return cls(ids, y, own, function, labels, (shape,) * len(y))

    def predict(self, x: Array) -> Array:
        self.calls.append(len(x))
        return self.function(x)

    def jacobian(self, x: Array) -> Array:
        h = 1e-3 * np.maximum(np.abs(x), self.floor)
        columns = []
        for place in range(len(x)):
            bump = np.zeros_like(x)
            bump[place] = h[place]
            points = x + np.outer([-2.0, -1.0, 1.0, 2.0], bump)
            y = self.function(points)
            columns.append((y[0] - 8.0 * y[1] + 8.0 * y[2] - y[3]) / (12.0 * h[place]))
        return np.stack(columns, axis=1)


@dataclass(frozen=True)
class Linear:
    """Readings y = A x + b, exactly differentiated."""

    ids: tuple[Id, ...]
    matrix: Array
    observed: Array
    covariance: Array
    labels: tuple[str, ...]
    shapes: tuple[Shape, ...]

    def predict(self, x: Array) -> Array:
        return np.asarray(x @ self.matrix.T)

    def jacobian(self, x: Array) -> Array:
        return self.matrix


def linear(
    unknowns: Sequence[Unknown],
    matrix: Array,
    observed: Array,
    covariance: Array,
    shape: Shape = "normal",
) -> Linear:
    """A linear block over all the unknowns."""
    ids = tuple(unknown.id for unknown in unknowns)
    labels = tuple(f"r{place}" for place in range(len(observed)))
    return Linear(ids, matrix, observed, covariance, labels, (shape,) * len(observed))


Branch = tuple[str, int, int, tuple[str, ...]]

BRANCHES: tuple[Branch, ...] = (
    ("coil", 1, 2, ("L1", "r1")),
    ("cap", 2, 0, ("C1", "e1")),
    ("res", 2, 0, ("R1",)),
    ("cap", 1, 3, ("C2", "e2")),
    ("coil", 3, 0, ("L2", "r2")),
    ("cap", 3, 4, ("C3", "e3")),
    ("res", 4, 5, ("R2",)),
    ("res", 5, 0, ("R3",)),
    ("coil", 5, 0, ("L3", "r3")),
)
TRUTH = {
    "L1": 1.5e-3, "r1": 0.4, "C1": 12e-6, "e1": 0.1, "R1": 5.6, "C2": 6.8e-6, "e2": 0.05,
    "L2": 0.33e-3, "r2": 0.3, "C3": 15e-6, "e3": 0.06, "R2": 2.2, "R3": 10.0, "L3": 0.5e-3,
    "r3": 0.25,
}  # fmt: skip
NAMES = tuple(TRUTH)
SOURCE, GAIN = ("source", "resistance"), ("scope", "gain")
FREQUENCIES_HZ = np.geomspace(100.0, 20e3, 14)


def board_unknowns() -> list[Unknown]:
    """The board's parts with wide priors, the source within 5 %, the scope's gain within 3 %."""
    centres = {"L": 1e-3, "C": 5e-6, "R": 10.0, "r": 0.3, "e": 0.05}
    parts = [
        Unknown(
            ("part", name),
            "log",
            Prior(log(centres[name[0]]), log(3.0 if name[0] in "re" else 6.0)),
        )
        for name in NAMES
    ]
    return [
        *parts,
        Unknown(SOURCE, "log", Prior(log(50.0), 0.05 / sqrt(3.0), "rectangle"), nuisance=True),
        Unknown(GAIN, "linear", Prior(0.0, 0.03 / sqrt(3.0), "rectangle"), nuisance=True),
    ]


class Board:
    """Amplitudes at three nodes of a two-way board driven through the source, EMF 4 V."""

    nodes = (0, 1, 3)

    def __init__(self, truth: Array, seed: int, slip: tuple[int, float] | None = None) -> None:
        self.ids = tuple(unknown.id for unknown in board_unknowns())
        self.omega = 2.0 * np.pi * FREQUENCIES_HZ
        exact = self.predict(truth[np.newaxis])[0]
        sigma = np.hypot(0.005 * exact, 0.01)
        self.exact, self.sigma = exact, sigma
        read = exact + sigma * np.random.default_rng(seed).standard_normal(len(exact))
        if slip is not None:
            read[slip[0]] *= slip[1]
        self.observed = read
        self.covariance = np.diag(np.hypot(0.005 * read, 0.01) ** 2)
        self.labels = tuple(f"{f:.0f} Hz at {k}" for f in FREQUENCIES_HZ for k in self.nodes)
        normal: Shape = "normal"
        self.shapes: tuple[Shape, ...] = (normal,) * len(read)

    def predict(self, x: Array) -> Array:
        voltages = np.linalg.solve(*self._system(x))[..., 0]
        amplitudes = np.abs(voltages[:, :, list(self.nodes)]) * (1.0 + x[:, -1, None, None])
        return np.asarray(amplitudes.reshape(len(x), -1))

    def jacobian(self, x: Array) -> Array:
        matrix, drive = self._system(x[np.newaxis])
        transfer = np.linalg.inv(matrix[0])
        volts = np.pad((transfer @ drive[0])[..., 0], ((0, 0), (1, 0)))
        transfer = np.pad(transfer, ((0, 0), (0, 0), (1, 0)))[:, list(self.nodes)]
        at_nodes = volts[:, np.array(self.nodes) + 1]
        size = np.abs(at_nodes)
        out = np.zeros((*size.shape, len(x)))
        for kind, a, b, names in (*BRANCHES, ("source", 1, 0, ("",))):
            places = [NAMES.index(name) if name else len(NAMES) for name in names]
            _, slopes = _admittance(kind, x[np.newaxis][:, places], self.omega)
            across = volts[:, a] - volts[:, b] - (4.0 if kind == "source" else 0.0)
            path = transfer[:, :, a] - transfer[:, :, b]
            for place, slope in zip(places, slopes, strict=True):
                change = -path * (across * slope[0])[:, np.newaxis]
                out[:, :, place] += (np.conj(at_nodes) * change).real / size
        out *= 1.0 + x[-1]
        out[:, :, -1] = size
        return out.reshape(-1, len(x))

    def _system(self, x: Array) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        matrix = np.zeros((len(x), len(self.omega), 5, 5), dtype=np.complex128)
        for kind, a, b, names in (*BRANCHES, ("source", 1, 0, ("",))):
            places = [NAMES.index(name) if name else len(NAMES) for name in names]
            y, _ = _admittance(kind, x[:, places], self.omega)
            for node, other in ((a, b), (b, a)):
                if node:
                    matrix[:, :, node - 1, node - 1] += y
                    if other:
                        matrix[:, :, node - 1, other - 1] -= y
        drive = np.zeros((len(x), len(self.omega), 5, 1), dtype=np.complex128)
        drive[:, :, 0, 0] = 4.0 / x[:, len(NAMES), np.newaxis]
        return matrix, drive


def _admittance(
    kind: str, p: Array, omega: Array
) -> tuple[NDArray[np.complex128], list[NDArray[np.complex128]]]:
    """Admittance over (draws, frequencies) and its derivatives by the branch's own values."""
    first = p[:, :1].astype(np.complex128)
    s = np.array(1j * omega, dtype=np.complex128)
    y: NDArray[np.complex128]
    if kind in ("res", "source"):
        y = np.ones_like(s) / first
        return y, [-y * y]
    if kind == "coil":
        y = 1.0 / (p[:, 1:] + s * first)
        return y, [-y * y * s, -y * y]
    y = 1.0 / (p[:, 1:] + 1.0 / (s * first))
    return y, [y * y / (s * first**2), -y * y]


def board_truth(seed: int, spread: float = 0.3) -> Array:
    """Parts scattered about TRUTH by `spread` (relative); the source's and the scope's errors
    drawn from their limits."""
    rng = np.random.default_rng(1000 + seed)
    parts = np.array(list(TRUTH.values())) * np.exp(spread * rng.standard_normal(len(TRUTH)))
    source, gain = rng.uniform(-1.0, 1.0, 2)
    return np.concatenate([parts, [50.0 * np.exp(0.05 * source), 0.03 * gain]])
