"""The circuit engine against batched dense algebra, side by side in one run.

    python -m benchmarks.circuit

The work: a three-way crossover of 12 nodes, 18 parts and 3 drivers, three outputs and the input
impedance, 1000 draws at 400 frequencies. Dense is what a user of NumPy writes: the nodal matrix of
every draw and frequency assembled by stamps, `numpy.linalg.solve` over the batch, some draws at a
time so that it stays in memory. Both take fresh values in every repetition and their answers are
compared in each. Medians of 5.
"""

from __future__ import annotations

import platform
from collections.abc import Callable
from statistics import median
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit import respond, slopes
from ohmbook.circuit.network import Branch, Drive, Element, Id, Network

REPETITIONS, DRAWS, CHUNK = 5, 1000, 50
F_HZ = np.geomspace(20.0, 20e3, 400)
F_FEW = np.geomspace(20.0, 20e3, 15)
OUTPUTS = ("w", "m", "t")

Complexes = NDArray[np.complex128]
Draws = dict[Id, NDArray[np.float64]]

PARTS: dict[str, tuple[str, str, float, float]] = {
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


def kind(name: str) -> tuple[Element, str]:
    return KINDS.get(name[0], ("resistor", "resistance"))


def network() -> Network:
    branches = tuple(Branch(name, kind(name)[0], row[:2]) for name, row in PARTS.items())
    return Network(branches, Drive(("in", "gnd"), "amp"), tuple((o, "gnd") for o in OUTPUTS))


def fresh(rng: np.random.Generator, draws: int, lossy: bool) -> Draws:
    """Values around the nominal ones, one standard uncertainty of 5 %."""

    def around(value: float) -> NDArray[np.float64]:
        return np.asarray(value * np.exp(0.05 * rng.standard_normal(draws)))

    values = {("amp", "resistance"): around(0.1)}
    for name, (_, _, value, series) in PARTS.items():
        values[(name, kind(name)[1])] = around(value)
        if name[0] in KINDS:
            values[(name, "resistance")] = around(series)
            if lossy:
                values[(name, "loss")] = around(0.02)
    return values


def engine(values: Draws) -> Complexes:
    found = respond(network(), values, F_HZ)
    return np.concatenate([found.transfer, found.input_impedance[None]])


def dense(values: Draws) -> Complexes:
    """The same by nodal analysis; the source as its Norton equivalent."""
    names = sorted({node for row in PARTS.values() for node in row[:2]} - {"gnd"})
    draws = values[("amp", "resistance")].size
    found = np.empty((len(OUTPUTS) + 1, draws, F_HZ.size), np.complex128)
    for start in range(0, draws, CHUNK):
        part = {key: value[start : start + CHUNK, None] for key, value in values.items()}
        found[:, start : start + CHUNK] = dense_chunk(names, part)
    return found


def dense_chunk(names: list[str], values: Draws) -> Complexes:
    source = values[("amp", "resistance")]
    shape = (source.shape[0], F_HZ.size, len(names))
    matrix, current = np.zeros((*shape, len(names)), np.complex128), np.zeros(shape, np.complex128)
    at = {name: k for k, name in enumerate(names)}
    for name, row in PARTS.items():
        admittance = dense_admittance(name, values)
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
    return np.stack([*(voltage[..., at[one]] for one in OUTPUTS), entry * source / (1.0 - entry)])


def dense_admittance(name: str, values: Draws) -> Complexes:
    main = values[(name, kind(name)[1])]
    if name[0] not in KINDS:
        return np.asarray(1.0 / main + 0j)
    size = 2j * np.pi * F_HZ * main
    if (name, "loss") in values:
        size = size * (1j * F_HZ / 1000.0) ** -values[(name, "loss")]
    series = values[(name, "resistance")]
    return np.asarray(1.0 / (series + (size if name[0] == "L" else 1.0 / size)))


def timed(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def side_by_side(draws: int, lossy: bool) -> tuple[float, float, float]:
    """Median seconds of the engine and of dense, and the largest relative difference."""
    rng = np.random.default_rng(1)
    engine(fresh(rng, draws, lossy))
    ours, theirs, worst = [], [], 0.0
    for _ in range(REPETITIONS):
        values = fresh(rng, draws, lossy)
        answers: list[Complexes] = []
        ours.append(timed(lambda v=values, a=answers: a.append(engine(v))))  # type: ignore[misc]
        theirs.append(timed(lambda v=values, a=answers: a.append(dense(v))))  # type: ignore[misc]
        worst = max(worst, float((np.abs(answers[0] / answers[1] - 1.0)).max()))
    return median(ours), median(theirs), worst


def one_at_a_time(f_hz: NDArray[np.float64]) -> tuple[float, float]:
    """Median seconds of one nominal response and of all slopes of every output."""
    rng = np.random.default_rng(2)
    circuit = network()
    single: list[tuple[float, float]] = []
    for _ in range(50 * REPETITIONS):
        values = {key: float(value[0]) for key, value in fresh(rng, 1, lossy=True).items()}
        respond_s = timed(lambda v=values: respond(circuit, v, f_hz))  # type: ignore[misc]
        single.append((respond_s, timed(lambda v=values: slopes(circuit, v, f_hz))))  # type: ignore[misc]
    return median(one[0] for one in single), median(one[1] for one in single)


def main() -> None:
    print(f"{platform.machine()}, Python {platform.python_version()}, NumPy {np.__version__}")
    nodes = len({node for row in PARTS.values() for node in row[:2]})
    print(f"{nodes} nodes, {len(PARTS) - 3} parts, 3 drivers; {F_HZ.size} frequencies\n")
    print(f"{'':34}{'engine':>10}{'dense':>10}{'ratio':>8}   largest difference")
    for draws, lossy in ((DRAWS, False), (DRAWS, True), (1, False)):
        ours, theirs, worst = side_by_side(draws, lossy)
        what = f"{draws} draw{'s' if draws > 1 else ''}{', loss exponents' if lossy else ''}"
        print(
            f"{what:34}{ours * 1e3:7.1f} ms{theirs * 1e3:7.0f} ms{theirs / ours:8.1f}"
            f"   {worst:.0e} relative"
        )
    print(f"\n{'one set of values':34}{'response':>10}{'slopes':>10}{'ratio':>8}")
    for f_hz in (F_HZ, F_FEW):
        nominal, swept = one_at_a_time(f_hz)
        what = f"{f_hz.size} frequencies, 4 outputs"
        print(f"{what:34}{nominal * 1e3:7.2f} ms{swept * 1e3:7.2f} ms{swept / nominal:8.1f}")


if __name__ == "__main__":
    main()
