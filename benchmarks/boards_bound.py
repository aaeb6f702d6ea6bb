"""How well ideal boards can be told at all: the bound behind `benchmarks.boards`.

The Bayesian Cramér-Rao bound (H. L. Van Trees, Detection, Estimation, and Modulation Theory, part
I, 1968, sec. 2.4) at each board's own truth, J = F + P: F of the readings by dense algebra and
central differences, P of what is believed before. From the bound follow the errors that the best
estimator would make; where those are beyond what is wanted, no starting point helps, only other
readings.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import erf, exp, log, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.dense import Element, voltages
from benchmarks.screen import STEP_DIV, finest_range
from benchmarks.simulate import FREQUENCIES_HZ, LEAK_OHM, Bench, Board

Array = NDArray[np.float64]

OHM_U = {"inductor": log(2.5), "capacitor": log(3.0)}
LOSS_U = {"inductor": 0.02, "capacitor": 0.01}
VALUE_U, OPEN_U = log(6.0), log(10.0)
LIMITS = {"source": 0.05, "load": 0.005, "gain": 0.03, "probe": 0.2, "range": 0.005}
EXCESS_U = 0.5
PRECISE = 1e-4


class Floor:
    """One ideal board, read once over the plain grid with its source check.

    Args:
        board: the truth.
        bench: whose source it is.
    """

    def __init__(self, board: Board, bench: Bench) -> None:
        self.board = board
        self.truth: dict[str, float] = {}
        self.u: dict[str, float] = {}
        for name, part in board.parts.items():
            if part.kind == "driver":
                continue
            self._add(name, log(part.value), VALUE_U)
            if part.kind in OHM_U:
                self._add(f"{name} ohm", log(part.ohm), OHM_U[part.kind])
                self._add(f"{name} loss", part.loss, LOSS_U[part.kind])
        for name, value in (("source", bench.source_ohm), ("load", 47.0), ("probe", bench.probe_f)):
            self._add(name, log(value), LIMITS[name] / sqrt(3.0))
        self._add("open", log(bench.open_vpp), OPEN_U)
        self._add("gain", 0.0, LIMITS["gain"] / sqrt(3.0))
        self._add("excess", 0.0, EXCESS_U)
        self.ranges = np.array([finest_range(float(v)) for v in self.volts(self.truth)])
        for r in sorted(set(self.ranges.tolist())):
            self._add(f"range {r:g}", 0.0, LIMITS["range"] / sqrt(3.0))

    def _add(self, name: str, value: float, u: float) -> None:
        self.truth[name], self.u[name] = value, u

    def volts(self, at: Mapping[str, float]) -> Array:
        """What a perfect screen would show: open, loaded, then every node at every frequency."""
        elements: list[Element] = []
        for name, part in self.board.parts.items():
            if part.kind == "resistor":
                elements.append(("R", *_ends(part), exp(at[name])))
            elif part.kind != "driver":
                series, loss = exp(at[f"{name} ohm"]), at[f"{name} loss"]
                elements.append((name[0], *_ends(part), exp(at[name]), series, loss))
        ground, source = self.board.ground, exp(at["source"])
        nodes = {n for one in elements for n in one[1:3]} - {ground}
        leaks: list[Element] = [("R", n, ground, LEAK_OHM) for n in sorted(nodes)]
        f_hz = np.array(FREQUENCIES_HZ, float)
        read = []
        for node in self.board.nodes:
            probe: Element = ("C", node, ground, exp(at["probe"]), 0.0, 0.0)
            circuit = [*elements, *leaks, probe]
            read.append(abs(voltages(circuit, f_hz, "in", ground, source, ground)[node]))
        load = exp(at["load"])
        return exp(at["open"]) * np.concatenate([[1.0, load / (load + source)], *read])

    def shown(self, at: Mapping[str, float]) -> Array:
        """What the screen shows, without each reading's own rounding."""
        gains = np.array([at[f"range {r:g}"] for r in self.ranges])
        size = self.volts(at) * (1.0 + at["gain"]) * (1.0 + gains)
        return size + at["excess"] * STEP_DIV * self.ranges

    def least(self) -> dict[str, float]:
        """The least standard error of the logarithm of every coil and capacitor."""
        slopes = []
        sigma = STEP_DIV * self.ranges / sqrt(12.0)
        for name, u in self.u.items():
            step = PRECISE * min(u, 0.1)
            ends = [self.shown({**self.truth, name: self.truth[name] + s}) for s in (-step, step)]
            slopes.append((ends[1] - ends[0]) / (2.0 * step) / sigma)
        matrix = np.array(slopes)
        information = matrix @ matrix.T + np.diag(np.array(list(self.u.values())) ** -2.0)
        variance = np.diag(np.linalg.inv(information))
        return {
            name: float(np.sqrt(v))
            for name, v in zip(self.u, variance, strict=True)
            if name in self.board.main
        }


def _ends(part: Any) -> tuple[str, str]:
    assert part.ends is not None
    return (part.ends[0], part.ends[1])


def beyond(u: float, distance: float) -> float:
    """The probability of an error beyond a distance, normal with a standard error u."""
    return 1.0 - erf(distance / (u * sqrt(2.0)))


def foreseen(least: list[dict[str, float]], factor: float) -> dict[str, float]:
    """What the best estimator would show on such boards.

    Args:
        least: the bound of each board's coils and capacitors.
        factor: how near all of them are wanted.

    Returns:
        The share of boards with all within the factor, under "within", and the median relative
        error of each part and of "all".
    """
    rng = np.random.default_rng(0)
    names = list(least[0])
    u = np.array([[one[name] for name in names] for one in least])
    errors = np.abs(u[None] * rng.standard_normal((200, *u.shape)))
    found = {name: float(np.median(errors[:, :, k])) for k, name in enumerate(names)}
    found["all"] = float(np.median(errors))
    found["within"] = float((errors < log(factor)).all(axis=2).mean())
    return found
