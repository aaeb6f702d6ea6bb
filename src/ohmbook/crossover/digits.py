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
        worst = int(np.argmax(digits))
        if digits[worst] > TOLD_ABOVE:
            what = "the input impedance"
            if number < len(output_names):
                what = f'the output "{output_names[number]}"'
            owner = found.ids[int(found.most[number, worst])][0]
            told.append(_finding(what, float(f_hz[worst]), float(digits[worst]), owner))
    return tuple(told)


def _finding(what: str, f_hz: float, digits: float, owner: str) -> Finding:
    return Finding(
        "limit",
        f"At {show_plain(f_hz, 'Hz', 4)}, {digits:.0f} of the 16 digits of {what} are lost: large "
        f'amounts cancel there, and what is left hangs on more digits of "{owner}" than anybody '
        "knows. Do not rely on the number at that frequency. If a coil or a capacitor there is "
        "taken to have no resistance, write down the resistance it has.",
        parts=(owner,),
    )
