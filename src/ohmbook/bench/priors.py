"""What is believed of a part or a source before any reading.

Wide by kind, narrow where the sheet states a tolerance. All of it is common practice, no source,
unless said otherwise.
"""

from __future__ import annotations

from math import log, sqrt

from ohmbook.documents.part import Capacitor, Inductor, Part
from ohmbook.evidence.unknown import Prior
from ohmbook.units.quantity import Quantity

FACTOR_OF_6 = log(6.0)

MAIN: dict[str, Prior] = {
    "inductor": Prior(log(1e-3), FACTOR_OF_6),
    "capacitor": Prior(log(5e-6), FACTOR_OF_6),
    "resistor": Prior(log(10.0), FACTOR_OF_6),
}
"""The value of a part of which nothing is stated: one standard uncertainty is a factor of 6."""

COIL_RESISTANCE = Prior(log(0.4), log(2.5))
"""Series resistance of a crossover coil, ohm."""

CAPACITOR_RESISTANCE: dict[str | None, Prior] = {
    "film": Prior(log(0.02), log(3.0)),
    "paper": Prior(log(0.1), log(3.0)),
    "ceramic": Prior(log(0.02), log(3.0)),
    "electrolytic": Prior(log(0.2), log(3.0)),
    None: Prior(log(0.07), log(4.0)),
}
"""Series resistance of a capacitor by its dielectric, ohm."""

COIL_LOSS: dict[str, Prior] = {
    "air": Prior(0.0, 0.02),
    "iron": Prior(0.0, 0.05),
    "ferrite": Prior(0.0, 0.03),
}
CAPACITOR_LOSS = Prior(0.0, 0.01)
"""Loss exponents: how slowly the value falls with frequency."""

SOURCE_RESISTANCE = Prior(log(50.0), log(3.0))
OPEN_AMPLITUDE_FACTOR = log(10.0)

RETURN_RESISTANCE_OHM = 0.03
RETURN_INDUCTANCE_H = 0.3e-6
RETURN_FACTOR = log(3.0)
"""Instrument's ground clip to the board's ground node: 30 mohm and 0.3 uH, a factor of 3 each."""


def voice_coil(rated: Quantity) -> Prior:
    """What is believed of a driver's direct-current resistance: about 0.8 of the rated one.

    The rated impedance is at most 1.25 times the lowest in the band (IEC 60268-5), which the
    voice coil's resistance is a little below; common practice, no source, for the spread.
    """
    return Prior(log(0.8 * rated.value), 0.12)


def load_of(rated: Quantity) -> Prior:
    """What is believed of a driver as a load while it stays connected: near its rated ohms.

    The impedance is nowhere in the band below 0.8 of the rated one (IEC 60268-5), and well above
    it at resonance and at the top; common practice, no source, for the spread.
    """
    return Prior(log(rated.value), 0.25)


def main_prior(part: Part) -> Prior:
    """What is believed of a part's main value where the sheet states none."""
    return MAIN[part.kind]


def resistance_prior(part: Part) -> Prior:
    """What is believed of the series resistance of a coil or capacitor."""
    if isinstance(part, Capacitor):
        return CAPACITOR_RESISTANCE[part.dielectric]
    return COIL_RESISTANCE


def loss_prior(part: Part) -> Prior:
    """What is believed of the loss exponent of a coil or capacitor."""
    return COIL_LOSS[part.core] if isinstance(part, Inductor) else CAPACITOR_LOSS


def stated_prior(quantity: Quantity) -> Prior:
    """The prior of a positive quantity from its statement, on the log scale.

    Limits a on a value x become ln((x + a) / (x - a)) / 2 as half-width, so that both ends are
    met; other statements become u / x (GUM 4.3.7, 7.2).
    """
    value, a = quantity.value, quantity.half_width
    if not quantity.rectangular or a >= value:
        return Prior(log(value), quantity.u / value)
    low, high = log(value - a), log(value + a)
    return Prior((low + high) / 2.0, (high - low) / 2.0 / sqrt(3.0), "rectangle")
