"""The engine's own plan and leaves in 60 digits: what arithmetic alone does to them.

Whether the plan is right is not asked here; `tableau` answers that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import mpmath
import numpy as np

from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.run import Complexes
from ohmbook.circuit.topology import Compiled


def run_precisely(plan: Plan, leaves: Sequence[Any]) -> list[Any]:
    """Every output of a plan; None for a constant, or where it has no answer."""
    slots = [*map(mpmath.mpmathify, leaves), mpmath.mpf(1)]
    for code, left, right in plan.operations:
        one, other = slots[left], slots[right]
        if code == "*":
            slots.append(one * other)
        elif code == "scale":
            slots.append(mpmath.mpf(1))
        else:
            slots.append(one + other if code == "+" else one - other)
    return [
        one.sign * slots[one.n] / slots[one.d] if one is not None and slots[one.d] else None
        for one in plan.outputs
    ]


def as_they_are(leaves: Complexes) -> list[Any]:
    """Floats taken at their word."""
    return [mpmath.mpc(float(one.real), float(one.imag)) for one in leaves]


def precise_leaves(ready: Compiled, values: Mapping[Id, Any], f_hz: Any) -> list[Any]:
    """Every leaf by its formula in `element`, the values as they were meant."""
    table, bank = _rows(ready, values), ready.bank
    jw, ratio = mpmath.mpc(0, 2 * mpmath.pi * f_hz), mpmath.mpc(0, f_hz / REFERENCE_HZ)
    reactances = [
        table[main] * jw * ratio ** -table[loss]
        for main, loss in zip(bank.main.tolist(), bank.loss.tolist(), strict=True)
    ]
    leaves = list(reactances)
    for k, row in enumerate(bank.coil.tolist()):
        leaves[k] = leaves[k] + table[row]
    count = len(bank.lossy_capacitor)
    last = reactances[len(reactances) - count :]
    leaves += [1 + table[row] * y for row, y in zip(bank.lossy_capacitor, last, strict=True)]
    return leaves + [table[row] for row in bank.resistance.tolist()]


def _rows(ready: Compiled, values: Mapping[Id, Any]) -> list[Any]:
    """The table of `values.tabulate`."""
    needs = ready.needs
    table = [mpmath.mpf(values.get(one, 0)) for one in needs.ids] + [mpmath.mpf(0)]
    for k, one, other, loss, far_loss in needs.mutuals:
        mutual = table[k] * mpmath.sqrt(table[one] * table[other])
        table += [mutual, -mutual, (table[loss] + table[far_loss]) / 2]
    for modulus, exponent in needs.semis.values():
        reference = 2 * mpmath.pi * REFERENCE_HZ
        table += [table[modulus] * reference ** (table[exponent] - 1), 1 - table[exponent]]
    return table


def relative(found: complex, wanted: Any) -> float:
    """The relative error of a float; 1 or more where it has no right digit at all."""
    if not np.isfinite(found):
        return 1.0
    return float(abs(mpmath.mpc(found.real, found.imag) - wanted) / abs(wanted))
