"""A value as read from part of a marking, before anything beside it is looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ohmbook.units.marking.meaning import PartKindName, Tolerance
from ohmbook.units.marking.weights import Factor, Form
from ohmbook.units.number import Written

_LABELS: Mapping[PartKindName, Mapping[int, str]] = {
    "inductor": {0: "H", -3: "mH", -6: "µH", -9: "nH"},
    "capacitor": {0: "F", -3: "mF", -6: "µF", -9: "nF", -12: "pF"},
    "resistor": {6: "Mohm", 3: "kohm", 0: "ohm", -3: "mohm"},
}


@dataclass(frozen=True, slots=True)
class Value:
    """One way to read the value in a marking.

    Args:
        kind: what part it would be.
        number: digits and power of ten, in the SI unit of that kind.
        form: how the value is written, which says how easily it is something else.
        how: a clause: "three digits: 82 x 10^2 pF".
        factors: what speaks for and against reading it so.
        figures: significant figures that the code is made for: 3 where it is made for E96.
        tolerance: what the value's own code says (colour bands), else None.
    """

    kind: PartKindName
    number: Written
    form: Form
    how: str
    factors: tuple[Factor, ...] = ()
    figures: int = 2
    tolerance: Tolerance | None = None


def label(kind: PartKindName, power: int) -> str:
    """The unit with its prefix, for a power of ten that has one: "µF"."""
    return _LABELS[kind][power]


def has_label(kind: PartKindName, power: int) -> bool:
    """Whether a prefixed unit stands for that power of ten."""
    return power in _LABELS[kind]
