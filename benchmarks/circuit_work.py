"""What the circuit benchmarks work on, and the dense road: what a user of NumPy writes.

Dense is nodal analysis: the matrix of every draw and frequency assembled by stamps,
`numpy.linalg.solve` over the batch, some draws at a time so that it stays in memory.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import Branch, Drive, Element, Id, Network

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]
Draws = dict[Id, Reals]
Parts = Mapping[str, tuple[str, str, float, float]]

F_HZ = np.geomspace(20.0, 20e3, 400)
OUTPUTS = ("w", "m", "t")
CHUNK = 50

THREE_WAY: Parts = {
    "L1": ("in", "w1", 3.0e-3, 0.40),
    "C1": ("w1", "gnd", 68e-6, 0.10),
    "L2": ("w1", "w", 1.0e-3, 0.30),
    "C2": ("w", "wz", 30e-6, 0.05),
    "R1": ("wz", "gnd", 8.0, 0.0),
    "C3": ("in", "m1", 100e-6, 0.08),
    "L3": ("m1", "gnd", 5.0e-3, 0.50),
    "L4": ("m1", "m2", 0.5e-3, 0.20),
    "C4": ("m2", "gnd", 6.8e-6, 0.02),
    "R2": ("m2", "m", 2.0, 0.0),
    "R3": ("m", "gnd", 30.0, 0.0),
    "C5": ("in", "t1", 5.6e-6, 0.02),
    "L5": ("t1", "gnd", 0.3e-3, 0.20),
    "C6": ("t1", "t2", 10e-6, 0.02),
    "R4": ("t2", "t3", 1.0, 0.0),
    "R5": ("t3", "t", 2.0, 0.0),
    "R6": ("t", "gnd", 10.0, 0.0),
    "R7": ("t2", "gnd", 100.0, 0.0),
    "woofer": ("w", "gnd", 6.4, 0.0),
    "midrange": ("m", "gnd", 7.1, 0.0),
    "tweeter": ("t", "gnd", 5.8, 0.0),
}
"""Ends, main value and series resistance, SI."""

KINDS: dict[str, tuple[Element, str]] = {
    "L": ("inductor", "inductance"),
    "C": ("capacitor", "capacitance"),
}


def ladder(rungs: int) -> tuple[Parts, tuple[str, ...]]:
    """A delay line: so many coils in series and capacitors across, into 8 ohm, the last node the
    output. It cuts off at 45 kHz; in a stop band the answers of 400 of them would leave the range
    of floats and be worked out more carefully, and slowly."""
    parts: dict[str, tuple[str, str, float, float]] = {}
    for k in range(rungs):
        here = f"n{k}" if k else "in"
        parts[f"L{k}"] = (here, f"n{k + 1}", 50e-6, 0.05)
        parts[f"C{k}"] = (f"n{k + 1}", "gnd", 1e-6, 0.01)
    parts["R"] = (f"n{rungs}", "gnd", 8.0, 0.0)
    return parts, (f"n{rungs}",)


def kind(name: str) -> tuple[Element, str]:
    """The element of a part and its main quantity, by its first letter."""
    return KINDS.get(name[0], ("resistor", "resistance"))


def network(parts: Parts = THREE_WAY, outputs: tuple[str, ...] = OUTPUTS) -> Network:
    """The circuit, driven at "in"."""
    branches = tuple(Branch(name, kind(name)[0], row[:2]) for name, row in parts.items())
    return Network(branches, Drive(("in", "gnd"), "amp"), tuple((o, "gnd") for o in outputs))


def fresh(
    rng: np.random.Generator, draws: int, lossy: bool = False, parts: Parts = THREE_WAY
) -> Draws:
    """Values around the nominal ones, one standard uncertainty of 5 %."""

    def around(value: float) -> Reals:
        return np.asarray(value * np.exp(0.05 * rng.standard_normal(draws)))

    values = {("amp", "resistance"): around(0.1)}
    for name, (_, _, value, series) in parts.items():
        values[(name, kind(name)[1])] = around(value)
        if name[0] in KINDS:
            values[(name, "resistance")] = around(series)
            if lossy:
                values[(name, "loss")] = around(0.02)
    return values


def dense(
    values: Draws, parts: Parts = THREE_WAY, outputs: tuple[str, ...] = OUTPUTS, chunk: int = CHUNK
) -> Complexes:
    """Every output and the input impedance, shape (outputs + 1, draws, m); the source as its
    Norton equivalent."""
    draws = values[("amp", "resistance")].size
    found = np.empty((len(outputs) + 1, draws, F_HZ.size), np.complex128)
    for start in range(0, draws, chunk):
        part = {key: value[start : start + chunk, None] for key, value in values.items()}
        found[:, start : start + chunk] = _dense_chunk(part, parts, outputs)
    return found


def _dense_chunk(values: Draws, parts: Parts, outputs: tuple[str, ...]) -> Complexes:
    names = sorted({node for row in parts.values() for node in row[:2]} - {"gnd"})
    source = values[("amp", "resistance")]
    shape = (source.shape[0], F_HZ.size, len(names))
    matrix, current = np.zeros((*shape, len(names)), np.complex128), np.zeros(shape, np.complex128)
    at = {name: k for k, name in enumerate(names)}
    for name, row in parts.items():
        admittance = _admittance(name, values)
        here, there = at[row[0]], at.get(row[1])
        matrix[..., here, here] += admittance
        if there is not None:
            matrix[..., there, there] += admittance
            matrix[..., here, there] -= admittance
            matrix[..., there, here] -= admittance
    matrix[..., at["in"], at["in"]] += 1.0 / source
    current[..., at["in"]] = 1.0 / source
    voltage = np.linalg.solve(matrix, current[..., None])[..., 0]
    entry = voltage[..., at["in"]]
    return np.stack([*(voltage[..., at[one]] for one in outputs), entry * source / (1.0 - entry)])


def _admittance(name: str, values: Draws) -> Complexes:
    main = values[(name, kind(name)[1])]
    if name[0] not in KINDS:
        return np.asarray(1.0 / main + 0j)
    size = 2j * np.pi * F_HZ * main
    if (name, "loss") in values:
        size = size * (1j * F_HZ / 1000.0) ** -values[(name, "loss")]
    series = values[(name, "resistance")]
    return np.asarray(1.0 / (series + (size if name[0] == "L" else 1.0 / size)))
