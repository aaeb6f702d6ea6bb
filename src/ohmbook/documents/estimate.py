"""What settling gives, as plain frozen values that doors and figures can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

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

    `settled` marks the row that is the settled value itself; `standard_uncertainty`, SI, is its.
    """

    label: str
    value: float
    low: float
    high: float
    settled: bool = False
    standard_uncertainty: float | None = None


CauseGroup = Literal["reading", "instrument", "source", "belief", "circumstance"]
"""What a cause of doubt belongs to: a circumstance is a lead, a load, a probe of one reading."""


@dataclass(frozen=True, slots=True)
class CauseShare:
    """One cause's share of a variance; all shares of one thing add to 1.

    Args:
        cause: in words.
        share: 0 to 1; by part it is signed, below 0 where parts that move together cancel.
        remedy: what would lessen it; empty where nothing is known.
        group: what kind of thing it belongs to.
        owner: the reading, instrument, source or part it belongs to.
    """

    cause: str
    share: float
    remedy: str = ""
    group: CauseGroup = "reading"
    owner: str = ""

    def document(self) -> dict[str, Any]:
        """The share as a JSON object."""
        return {
            "cause": self.cause,
            "share": self.share,
            "group": self.group,
            "owner": self.owner,
            "remedy": self.remedy,
        }


@dataclass(frozen=True, slots=True)
class Spread:
    """Where the spread of one feature of the behaviour comes from.

    Args:
        feature: in words ("woofer and tweeter cross").
        value: SI, or decibels.
        standard_uncertainty: relative for Hz and ohm, in decibels for "dB".
        unit: "Hz", "ohm" or "dB".
        causes: shares of readings, instruments and beliefs; they add to 1.
        parts: signed shares by part; they add to 1.
    """

    feature: str
    value: float
    standard_uncertainty: float
    unit: Literal["Hz", "ohm", "dB"]
    causes: tuple[CauseShare, ...]
    parts: tuple[CauseShare, ...]

    def document(self) -> dict[str, Any]:
        """The spread as a JSON object."""
        return {
            "feature": self.feature,
            "value": self.value,
            "standard_uncertainty": self.standard_uncertainty,
            "unit": self.unit,
            "causes": shares_document(self.causes),
            "parts": shares_document(self.parts),
        }


LEAST_TOLD = 1e-3
"""Share below which causes are told together."""


def shares_document(shares: Sequence[CauseShare]) -> list[dict[str, Any]]:
    """Shares as JSON, the smallest of them as one, so that they still add to 1."""
    told = [one for one in shares if abs(one.share) >= LEAST_TOLD]
    rest = sum(one.share for one in shares) - sum(one.share for one in told)
    lumped = [CauseShare("everything else", rest, group="circumstance")] if rest else []
    return [one.document() for one in (*told, *lumped)]


@dataclass(frozen=True, slots=True)
class CommonDoubt:
    """One cause that several estimates have in common.

    Args:
        cause: in words ("reading 1 (source loading)").
        owner: the reading, instrument or source it belongs to.
        limits: (part or source, share of its variance), the largest share first.
        remedy: what would lessen it, in words.
        eased: (part or source, relative standard uncertainty now, after the remedy), where it
            can be foretold.
    """

    cause: str
    owner: str
    limits: tuple[tuple[str, float], ...]
    remedy: str = ""
    eased: tuple[tuple[str, float, float], ...] = ()

    def document(self) -> dict[str, Any]:
        """The doubt as a JSON object."""
        return {
            "cause": self.cause,
            "owner": self.owner,
            "limits": dict(self.limits),
            "remedy": self.remedy,
            "eased": {name: {"now": now, "after": after} for name, now, after in self.eased},
        }
