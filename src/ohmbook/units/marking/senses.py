"""What each letter and each spelling of a unit may stand for, in each kind of part.

References: IEC 60062 for R, K, M, G, L on resistors and p, n, µ, m on capacitors. Everything
about coils is makers' practice; MFD, MF, mF and M for µF on old parts, E for ohm and worn
prefixes are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from ohmbook.units.marking.meaning import PartKindName


class Sense(NamedTuple):
    """What a letter or unit may stand for, with its weight against other senses."""

    kind: PartKindName
    power: int
    weight: float = 1.0
    why: str = ""


def _ohms(power: int) -> tuple[Sense, ...]:
    return (Sense("resistor", power),)


def _farads(power: int, why: str = "") -> tuple[Sense, ...]:
    return (Sense("capacitor", power, 1.0, why),)


def _henries(power: int) -> tuple[Sense, ...]:
    return (Sense("inductor", power),)


_OLD_MICRO = "on old parts M, MF and MFD mean micro and microfarad"
_POINT = "R may be no more than a decimal point"
_WORN = "the prefix may have worn off"

LETTERS: Mapping[str, tuple[Sense, ...]] = {
    "R": (
        *_ohms(0),
        Sense("inductor", -6, 0.3, "R is the decimal point in µH on coils (makers' practice)"),
        Sense("inductor", -3, 0.02, _POINT),
        Sense("capacitor", -6, 0.05, _POINT),
        Sense("capacitor", -12, 0.05, _POINT),
    ),
    "E": (Sense("resistor", 0, 0.5, "E stands for ohm on some resistors"),),
    "L": (Sense("resistor", -3, 0.3, "L stands for milliohm in IEC 60062"),),
    "K": _ohms(3),
    "M": (
        *_ohms(6),
        Sense("capacitor", -6, 0.5, _OLD_MICRO),
        Sense("inductor", -3, 0.2, "M for milli, as mega makes no sense on a coil"),
    ),
    "m": (
        Sense("inductor", -3, 0.7, "m is milli"),
        Sense("capacitor", -3, 0.5, "m is milli: 1m5 on a capacitor is 1500 µF (IEC 60062)"),
        Sense("capacitor", -6, 0.05, _OLD_MICRO),
        Sense("resistor", -3, 0.1, "m is milli, M is mega"),
        Sense("resistor", 6, 0.02, "a small m may be meant as M, mega"),
    ),
    "U": (*_farads(-6), Sense("inductor", -6, 0.5)),
    "N": (*_farads(-9), Sense("inductor", -9, 0.3, "N is the decimal point in nH on coils")),
    "P": _farads(-12),
    "OHM": _ohms(0),
}
"""Letters that may stand for the decimal point, or behind a number. Only m cares for its case."""

UNITS: Mapping[str, tuple[Sense, ...]] = {
    "mF": (
        Sense("capacitor", -6, 0.8, "mF on most parts means µF"),
        Sense("capacitor", -3, 0.2, "mF is millifarad by the rules of the SI"),
    ),
    "Mohm": _ohms(6),
    "meg": _ohms(6),
    "megohm": _ohms(6),
    "mohm": _ohms(-3),
    "kohm": _ohms(3),
    "ohm": _ohms(0),
    "pf": _farads(-12),
    "mmf": _farads(-12),
    "mmfd": _farads(-12),
    "uuf": _farads(-12),
    "nf": _farads(-9),
    "uf": _farads(-6),
    "ufd": _farads(-6),
    "mf": _farads(-6, _OLD_MICRO),
    "mfd": _farads(-6, _OLD_MICRO),
    "f": (Sense("capacitor", 0, 0.1), Sense("capacitor", -6, 0.3, _WORN)),
    "h": (Sense("inductor", 0, 0.5), Sense("inductor", -3, 0.1, _WORN)),
    "mh": _henries(-3),
    "mhy": _henries(-3),
    "uh": _henries(-6),
    "uhy": _henries(-6),
    "nh": _henries(-9),
}
"""Units as spelled: with their case where it is told apart here, else in lower case."""


def senses(spelled: str) -> tuple[Sense, ...]:
    """What a letter or unit may stand for; nothing where it is neither.

    Args:
        spelled: as written, with µ as u and Ω as ohm.
    """
    for key in (spelled, spelled[:1] + spelled[1:].lower(), spelled.upper(), spelled.lower()):
        for table in (LETTERS, UNITS):
            if key in table:
                return table[key]
    return ()
