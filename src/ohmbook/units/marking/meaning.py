"""One meaning of a marking, and what to believe of the part's true value if it is the right one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

PartKindName = Literal["inductor", "capacitor", "resistor"]
PartUnit = Literal["H", "F", "ohm"]
Tolerance = float | tuple[float, float]
"""A fraction either way (0.05 is ±5 %), or signed fractions (low, high): (-0.2, 0.8)."""

KINDS: tuple[PartKindName, ...] = ("inductor", "capacitor", "resistor")
UNITS: dict[PartKindName, PartUnit] = {"inductor": "H", "capacitor": "F", "resistor": "ohm"}

_ASSUMED = 0.10
_ASSUMED_ELECTROLYTIC = 0.20
_ELECTROLYTIC_FROM_F = 10e-6  # film is seldom larger (common practice, no source)


@dataclass(frozen=True, slots=True)
class Meaning:
    """One way to read a marking.

    Args:
        kind: what part it would be.
        value: SI: H, F or ohm; always positive.
        tolerance: as marked: a fraction, or signed (low, high) fractions; None where none is.
        probability: 0 to 1, that this is what the marking means; what a list of meanings leaves
            up to 1 is "something else" (a date, a part number, a slip in copying).
        reading: one sentence, how it was read.
        reasons: short plain sentences for and against.
        volts: the marked working voltage, V, or None.
        volts_kind: "DC" or "AC" where the marking says which.
        watts: the marked power, W, or None.
        bipolar: marked as bipolar (NP, BP): an electrolytic without polarity.
    """

    kind: PartKindName
    value: float
    tolerance: Tolerance | None
    probability: float
    reading: str
    reasons: tuple[str, ...] = ()
    volts: float | None = None
    volts_kind: Literal["DC", "AC"] | None = None
    watts: float | None = None
    bipolar: bool = False

    @property
    def unit(self) -> PartUnit:
        """The SI unit of `value`."""
        return UNITS[self.kind]

    @property
    def assumed_tolerance(self) -> bool:
        """Whether no tolerance is marked, so that `believed` assumes one."""
        return self.tolerance is None


@dataclass(frozen=True, slots=True)
class Belief:
    """What to believe of a part's true value, on the log scale (t = ln of the SI value).

    Args:
        centre_log: the centre in t; for lopsided limits the middle of their logarithms.
        u_log: standard uncertainty in t.
        shape: "rectangle" between marked limits, "normal" where the tolerance is assumed.
        assumed_tolerance: nothing was marked, so `u_log` is an assumption: say so.
    """

    centre_log: float
    u_log: float
    shape: Literal["normal", "rectangle"]
    assumed_tolerance: bool


def believed(meaning: Meaning) -> Belief:
    """What to believe of the true value, given that this is what the marking means.

    A marked tolerance gives limits (rectangular, u = half-width over sqrt 3). Where none is
    marked, a standard uncertainty is assumed: 10 %, and 20 % for what looks like an electrolytic
    capacitor (marked bipolar, or 10 µF and more). Common practice, no source.

    Reference: JCGM 100:2008, 4.3.7 (limits).
    """
    middle = math.log(meaning.value)
    if meaning.tolerance is None:
        return Belief(middle, standard_uncertainty_log(meaning), "normal", True)
    low, high = _limits(meaning.tolerance)
    centre = middle + (math.log1p(low) + math.log1p(high)) / 2
    return Belief(centre, standard_uncertainty_log(meaning), "rectangle", False)


def standard_uncertainty_log(meaning: Meaning) -> float:
    """The standard uncertainty of ln(true value), as in `believed`."""
    if meaning.tolerance is None:
        electrolytic = meaning.bipolar or meaning.value >= _ELECTROLYTIC_FROM_F
        wide = meaning.kind == "capacitor" and electrolytic
        return _ASSUMED_ELECTROLYTIC if wide else _ASSUMED
    low, high = _limits(meaning.tolerance)
    return (math.log1p(high) - math.log1p(low)) / (2 * math.sqrt(3))


def _limits(tolerance: Tolerance) -> tuple[float, float]:
    return tolerance if isinstance(tolerance, tuple) else (-tolerance, tolerance)
