"""What comparing two boards gives, as plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from ohmbook.units.quantity import Unit

Verdict = Literal["differs", "agrees", "not told"]

DISAGREE = 1e-3
"""Probability of the readings of both boards below which nothing is said of any part."""


@dataclass(frozen=True, slots=True)
class PartDifference:
    """One part of the left board against its like on the right.

    Args:
        name: of the part, on both boards.
        quantity: its main one.
        unit: SI.
        left, right: the two values, at the same frequency.
        frequency_hz: where they hold; None for resistances.
        ratio: right over left.
        low, high: its 95 % interval.
        p_value: of no difference at all, for this part alone; None where alikeness is believed
            beforehand.
        p_adjusted: the same for all parts compared together (Holm).
        probability: that the part differs, after the readings.
        verdict: "not told" where the interval is too wide to say anything.
        read_low, read_high: the ratio's 95 % interval from the readings alone, nothing being
            believed of this part's being like the other.
    """

    name: str
    quantity: str
    unit: Unit
    left: float
    right: float
    frequency_hz: float | None
    ratio: float
    low: float
    high: float
    p_value: float | None
    p_adjusted: float | None
    probability: float
    verdict: Verdict
    read_low: float
    read_high: float

    def document(self) -> dict[str, Any]:
        """The difference as a JSON object."""
        return {
            "quantity": self.quantity,
            "unit": self.unit,
            "left": self.left,
            "right": self.right,
            "frequency_hz": self.frequency_hz,
            "ratio": {"value": self.ratio, "interval": [self.low, self.high]},
            "read_interval": [self.read_low, self.read_high],
            "p_value": self.p_value,
            "p_adjusted": self.p_adjusted,
            "probability": self.probability,
            "verdict": self.verdict,
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two boards compared.

    Args:
        titles: of the left and the right sheet.
        parts: every part that both boards have.
        alike: how near to each other parts were believed to be (limits, relative); None where
            nothing was.
        shared: instruments, sources and drawer parts that both sheets state alike.
        once: readings that stand in both sheets alike and were counted once.
        only_left, only_right: parts that the other board does not have.
        files: of the two sheets.
        answers: how many answers fit the readings of both; what they tell differently is not told.
        p_value: do all the readings of both boards agree with this?
    """

    titles: tuple[str, str]
    parts: tuple[PartDifference, ...]
    alike: float | None
    shared: tuple[str, ...]
    once: tuple[str, ...]
    only_left: tuple[str, ...]
    only_right: tuple[str, ...]
    p_value: float | None
    files: tuple[str, str] = ("", "")
    answers: int = 1

    @property
    def contradicted(self) -> bool:
        """Whether the readings disagree, so that nothing is to be said of any part."""
        return self.p_value is not None and self.p_value < DISAGREE

    def document(self) -> dict[str, Any]:
        """The comparison as a JSON object."""
        return {
            "left": self.titles[0],
            "right": self.titles[1],
            "parts": {one.name: one.document() for one in self.parts},
            "alike": self.alike,
            "shared": list(self.shared),
            "counted_once": list(self.once),
            "only_left": list(self.only_left),
            "only_right": list(self.only_right),
            "consistency": {"p_value": self.p_value},
        }
