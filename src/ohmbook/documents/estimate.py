"""What settling gives, as plain frozen values that doors and figures can show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ohmbook.units.quantity import Unit


@dataclass(frozen=True, slots=True)
class Estimate:
    """One quantity of one part or source.

    Args:
        name: the part or source.
        quantity: "inductance", "capacitance" or "resistance".
        value: exp(mode) for positive quantities; SI.
        standard_uncertainty: SI, at the value.
        low, high: the interval, SI; it governs.
        unit: H, F or ohm.
        determined: whether the readings determine it (u under half of what was believed before).
        frequency_hz: where an inductance or capacitance holds; None for resistances.
        basis: in words, how it is known ("6 readings", "stated in the sheet").
    """

    name: str
    quantity: str
    value: float
    standard_uncertainty: float
    low: float
    high: float
    unit: Unit
    determined: bool
    frequency_hz: float | None = None
    basis: str = ""

    def document(self) -> dict[str, Any]:
        """The estimate as a JSON object (a contract: add to it, rename nothing)."""
        return {
            "value": self.value,
            "standard_uncertainty": self.standard_uncertainty,
            "interval": [self.low, self.high],
            "probability": 0.95,
            "unit": self.unit,
            "determined": self.determined,
            "frequency_hz": self.frequency_hz,
        }


@dataclass(frozen=True, slots=True)
class Consistency:
    """Do the readings agree? Chi-squared, its degrees of freedom, and its p-value (or None)."""

    chi_squared: float
    degrees_of_freedom: float
    p_value: float | None

    def document(self) -> dict[str, Any]:
        """The statement as a JSON object."""
        return {
            "chi_squared": self.chi_squared,
            "degrees_of_freedom": self.degrees_of_freedom,
            "p_value": self.p_value,
        }


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a worked calculation: words, the formula with the numbers in, its result."""

    words: str
    formula: str
    result: str


@dataclass(frozen=True, slots=True)
class Working:
    """A reading worked out by hand: the textbook's way, and what the full model adds.

    Args:
        title: what is worked out, from which reading.
        reading: the reading's name.
        steps: in order.
        source: of the formula (author, year), or "common practice, no source".
        remark: in words, what the full model adds and how much that changed the answer.
    """

    title: str
    reading: str
    steps: tuple[Step, ...]
    source: str
    remark: str


@dataclass(frozen=True, slots=True)
class Implied:
    """What one reading alone says of one quantity, the rest held at its settled values.

    `settled` marks the row that is the settled value itself.
    """

    label: str
    value: float
    low: float
    high: float
    settled: bool = False


@dataclass(frozen=True, slots=True)
class CauseShare:
    """One cause's signed share of an estimate's variance; all shares of an estimate add to 1."""

    cause: str
    share: float
    remedy: str = ""
