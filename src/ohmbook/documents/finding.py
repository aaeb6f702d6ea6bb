"""A finding: a statement with its evidence (a contract: add to it, rename nothing)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

FindingKind = Literal[
    "slip",
    "strained",
    "two answers",
    "not determined",
    "sketch doubt",
    "marking",
    "assumption",
    "caution",
    "limit",
]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One thing that would explain a finding, with its probability in 0 to 1.

    `before` is the same before the readings, where it was weighed then too.
    """

    what: str
    change: str = ""
    probability: float | None = None
    before: float | None = None

    def document(self) -> dict[str, Any]:
        """The explanation as a JSON object."""
        return {
            "what": self.what,
            "change": self.change,
            "probability": self.probability,
            "before": self.before,
        }


@dataclass(frozen=True, slots=True)
class Finding:
    """A statement that a person can act on, and what it rests on."""

    kind: FindingKind
    message: str
    readings: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    explanations: tuple[Explanation, ...] = ()

    def document(self) -> dict[str, Any]:
        """The finding as a JSON object."""
        return {
            "kind": self.kind,
            "message": self.message,
            "readings": list(self.readings),
            "parts": list(self.parts),
            "explanations": [one.document() for one in self.explanations],
        }
