"""Answers that rounding has taken most digits of are told: which, where, and what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ohmbook import circuit
from ohmbook.circuit.network import Id, Network
from ohmbook.crossover.curves import Floats
from ohmbook.documents.finding import Finding
from ohmbook.units.show import show_plain

TOLD_ABOVE = 8.0
"""Digits lost, of about 16, above which it is told: nobody knows a part to half as many."""


def lost_digits(
    network: Network, output_names: Sequence[str], values: Mapping[Id, float], f_hz: Floats
) -> tuple[Finding, ...]:
    """A finding for each output, and for the input impedance, that loses too many digits.

    Args:
        network: its probes are the outputs.
        output_names: one name for each probe.
        values: the best value of each (owner, quantity), SI.
        f_hz: shape (m,), hertz.

    Returns:
        The worst frequency of each, outputs in order; empty for an ordinary crossover.

    Raises:
        CircuitError: a circuit that cannot be worked out.
    """
    found = circuit.losses(network, values, f_hz, above=TOLD_ABOVE)
    told = []
    for number, digits in enumerate(found.in_answer):
        worst, many = int(np.argmax(digits)), int(np.sum(digits > TOLD_ABOVE))
        if many:
            what = "the input impedance"
            if number < len(output_names):
                what = f'the output "{output_names[number]}"'
            most = int(found.most[number, worst])
            owner = found.ids[most][0] if most >= 0 else ""
            place = f"At {show_plain(float(f_hz[worst]), 'Hz', 4)}"
            if many > 1:
                place += f", the worst of {many} frequencies"
            told.append(_finding(f"{place}, {digits[worst]:.0f} of the 16 digits of {what}", owner))
    return tuple(told)


def _finding(beginning: str, owner: str) -> Finding:
    named = f'"{owner}"' if owner else "its parts"
    return Finding(
        "limit",
        f"{beginning} are lost: large amounts cancel there, and what is left hangs on more digits "
        f"of {named} than anybody knows. Do not rely on the number there. If a coil or a capacitor "
        "is taken to have no resistance, write down the resistance it has.",
        parts=(owner,) if owner else (),
    )
