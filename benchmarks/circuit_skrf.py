"""The benchmark's work by scikit-rf's circuit solver, where that is installed.

The drivers and the amplifier's resistance are the reference impedances of its ports, so that its
scattering parameters hold the same three outputs and the input impedance.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np

from benchmarks.circuit_work import F_HZ, OUTPUTS, THREE_WAY, Complexes, dense, fresh, kind

DRIVERS = {"w": "woofer", "m": "midrange", "t": "tweeter"}


def solved(values: dict[tuple[str, str], float]) -> Complexes:
    """Three outputs and the input impedance, shape (4, m)."""
    import skrf.circuit  # type: ignore[import-not-found, import-untyped, unused-ignore]
    from skrf.media import (  # type: ignore[import-not-found, import-untyped, unused-ignore]
        DefinedGammaZ0,
    )

    frequency = skrf.Frequency.from_f(F_HZ, unit="hz")
    media = DefinedGammaZ0(frequency, z0=10.0)
    nodes: dict[str, list[tuple[object, int]]] = {}
    for name, (a, b, _, _) in THREE_WAY.items():
        if name in DRIVERS.values():
            continue
        main = values[(name, kind(name)[1])]
        if name[0] == "R":
            part = media.resistor(main)
        else:
            shape = media.inductor(main) if name[0] == "L" else media.capacitor(main)
            part = media.resistor(values[(name, "resistance")]) ** shape
        part.name = name
        for port, node in enumerate((a, b)):
            nodes.setdefault(node, []).append((part, port))
    ohms = {"in": values[("amp", "resistance")]}
    ohms |= {node: values[(DRIVERS[node], "resistance")] for node in OUTPUTS}
    for node, ohm in ohms.items():
        port = skrf.circuit.Circuit.Port(frequency, f"port {node}", z0=ohm)
        nodes[node].insert(0, (port, 0))
    nodes["gnd"].append((skrf.circuit.Circuit.Ground(frequency, "ground"), 0))
    order = [*ohms, *(node for node in nodes if node not in ohms)]
    s = skrf.circuit.Circuit([nodes[node] for node in order]).s_external
    found = [s[:, k + 1, 0] * np.sqrt(ohms[o] / ohms["in"]) / 2.0 for k, o in enumerate(OUTPUTS)]
    return np.stack([*found, ohms["in"] * (1.0 + s[:, 0, 0]) / (1.0 - s[:, 0, 0])])


def seconds(rng: np.random.Generator) -> float:
    """How long one set of values takes; its answer is checked against dense."""
    drawn = fresh(rng, 1)
    start = perf_counter()
    found = solved({key: float(value[0]) for key, value in drawn.items()})
    taken = perf_counter() - start
    worst = float(np.abs(found / dense(drawn)[:, 0] - 1.0).max())
    if not worst < 1e-6:
        raise ArithmeticError(f"The two roads differ by {worst:.0e}.")
    return taken
