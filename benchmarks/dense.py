"""Dense nodal analysis, the independent road: shares no code with the product's engine.

Elements are plain tuples: ("R", a, b, ohm), ("L", a, b, henry, ohm, loss), ("C", a, b, farad, ohm,
loss), node names are strings. Losses follow Z = jwL (jw/w0)^-loss and Z = (jw/w0)^loss / (jwC)
with w0 = 2 pi 1000 Hz, which is the definition that the sheet's values have.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

W0 = 2.0 * np.pi * 1000.0
Element = tuple[Any, ...]
Complex = NDArray[np.complex128]


def admittance(element: Element, f_hz: NDArray[np.float64]) -> Complex:
    """The admittance of one element at each frequency (0 Hz: coils are resistance, caps open)."""
    w = 2.0 * np.pi * f_hz + 0j
    kind = element[0]
    if kind == "R":
        return np.full(f_hz.shape, 1.0 / element[3], dtype=complex)
    value, ohm, loss = element[3], element[4], element[5]
    if kind == "L":
        return np.asarray(1.0 / (ohm + 1j * w * value * (1j * w / W0) ** -loss))
    return np.asarray(1.0 / (ohm + (1j * w / W0) ** loss / (1j * w * value)))


def voltages(
    elements: Sequence[Element],
    f_hz: NDArray[np.float64],
    plus: str,
    minus: str,
    source_ohm: float,
    datum: str,
) -> dict[str, Complex]:
    """Node voltages for an EMF of 1 behind `source_ohm` between two nodes, against `datum`."""
    nodes = sorted({n for e in elements for n in e[1:3]} | {plus, minus, datum})
    where = {n: k for k, n in enumerate(nodes)}
    y = np.zeros((f_hz.size, len(nodes), len(nodes)), dtype=complex)
    current = np.zeros((f_hz.size, len(nodes)), dtype=complex)
    source: Element = ("R", plus, minus, source_ohm)
    for element in [*elements, source]:
        a, b = where[element[1]], where[element[2]]
        g = admittance(element, f_hz)
        y[:, a, a] += g
        y[:, b, b] += g
        y[:, a, b] -= g
        y[:, b, a] -= g
    current[:, where[plus]] += 1.0 / source_ohm
    current[:, where[minus]] -= 1.0 / source_ohm
    keep = [k for n, k in where.items() if n != datum]
    solved = np.linalg.solve(y[:, keep][:, :, keep], current[:, keep, None])[..., 0]
    found = {datum: np.zeros(f_hz.size, dtype=complex)}
    found.update({nodes[k]: solved[:, i] for i, k in enumerate(keep)})
    return found


def path_ohm(elements: Sequence[Element], a: str, b: str) -> float:
    """Resistance between two nodes for direct current; capacitors left out."""
    direct = [
        ("R", e[1], e[2], e[3] if e[0] == "R" else max(e[4], 1e-9)) for e in elements if e[0] != "C"
    ]
    reach = {b}
    while True:
        more = {n for e in direct if {e[1], e[2]} & reach for n in e[1:3]} - reach
        if not more:
            break
        reach |= more
    direct = [e for e in direct if e[1] in reach]
    v = voltages(direct, np.array([1.0]), a, b, 1.0, b)[a][0].real
    return float(v / (1.0 - v))
