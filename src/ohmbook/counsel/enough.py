"""Good enough: whether another reading would still change a decision.

A decision is that a value lies within the tolerance asked for, or which preferred value is the
nearest (IEC 60063, E12: what replacement coils and capacitors are sold in; common practice, no
source).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log, sqrt
from typing import Any, Literal

from ohmbook.bench.estimates import NORMAL_95, Answer
from ohmbook.counsel.aims import Aim, Target
from ohmbook.counsel.wants import DB
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.part import PartKind
from ohmbook.units.quantity import Unit
from ohmbook.units.series import nearest
from ohmbook.units.show import show_plain, show_spread

ANOTHER = 0.02
"""Share from which another answer that fits stands in the way of stopping."""

_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}


@dataclass(frozen=True, slots=True)
class Known:
    """How well one wanted thing is known.

    Args:
        name: of the part or feature.
        quantity: of it.
        within: half its 95 % interval, relative; of a wide one, or where two answers fit, the
            square root of the ratio of the ends less 1.
        reached: whether that is within the tolerance.
        preferred: the nearest preferred value in words, where the whole interval has the same.
        spread: how well it is known, in words.
    """

    name: str
    quantity: str
    within: float
    reached: bool
    preferred: str | None = None
    spread: str = ""


@dataclass(frozen=True, slots=True)
class Enough:
    """Whether to stop: `within` is the tolerance asked for, relative."""

    within: float
    known: tuple[Known, ...]

    @property
    def by(self) -> Literal["tolerance", "preferred value"] | None:
        """By what it is good enough; None where it is not yet."""
        if all(one.reached for one in self.known):
            return "tolerance"
        settled = all(one.reached or one.preferred for one in self.known)
        return "preferred value" if settled else None

    @property
    def words(self) -> str:
        """In a sentence or two."""
        curve = all(one.quantity == "level" for one in self.known)
        asked = f"within {_told(self.within, curve)}"
        if self.by == "tolerance":
            last = max(self.known, key=lambda one: one.within)
            least = f"{last.name} within {_told(last.within, last.quantity == 'level')}"
            best = "" if len(self.known) == 1 else f", the least well {least}"
            return f"Good enough: all that is wanted is known {asked}{best}. You can stop here."
        short = [one for one in self.known if not one.reached]
        told = ", ".join(
            f"{one.name} ({one.spread or _told(one.within, one.quantity == 'level')})"
            for one in short
        )
        sure = [f"{one.name} {one.preferred}" for one in short if one.preferred]
        if self.by == "preferred value":
            return (
                f"Good enough to buy parts: not yet {asked} is {told}, but no further reading "
                f"would change the nearest preferred value (E12): {', '.join(sure)}."
            )
        more = (
            f" The nearest preferred value (E12) is certain of {', '.join(sure)}." if sure else ""
        )
        return f"Not yet {asked}: {told}.{more}"

    def document(self) -> dict[str, Any]:
        """As a JSON object (a contract: add to it, rename nothing)."""
        wanted: dict[str, dict[str, Any]] = {}
        for one in self.known:
            told = {"within": one.within, "reached": one.reached, "preferred": one.preferred}
            wanted.setdefault(one.name, {})[one.quantity] = told
        return {
            "reached": self.by is not None,
            "by": self.by,
            "within": self.within,
            "wanted": wanted,
            "words": self.words,
        }


def enough(answer: Answer, aim: Aim) -> Enough | None:
    """How far what is wanted is from good enough; None where nothing is wanted.

    Args:
        answer: the joint answer so far.
        aim: what is wanted, and how well.
    """
    if not aim.targets:
        return None
    return Enough(aim.within, tuple(_known(answer, one, aim.within) for one in aim.targets))


def _known(answer: Answer, target: Target, within: float) -> Known:
    if target.one is None:
        half = NORMAL_95 * _feature_u(answer, target)
        return Known(target.name, target.quantity, half, half <= within)
    one = target.one
    here = next(found for found in answer.estimates() if (found.name, found.quantity) == one)
    ends = _ends(answer, here)
    half = _half(here.value, ends)
    part = answer.compiled.sheet.parts.get(one[0])
    sold = part is not None and part.kind in _SOLD
    low, high = (nearest(value, "E12")[0] for value in ends)
    preferred = show_plain(low, _UNIT[one[1]]) if sold and low == high else None
    spread = "two answers fit" if ends != (here.low, here.high) else show_spread(here.value, *ends)
    return Known(target.name, target.quantity, half, half <= within, preferred, spread)


def _ends(answer: Answer, here: Estimate) -> tuple[float, float]:
    """The ends of an interval, stretched over every answer that fits too."""
    one = (here.name, here.quantity)
    if one not in answer.posterior.ids:
        return here.low, here.high
    place, modes = answer.posterior.index(one), answer.posterior.modes
    off = [float(mode.t[place] - modes[0].t[place]) for mode in modes if mode.share > ANOTHER]
    others = [here.value * exp(x) for x in off if abs(x) > log(here.high / here.low)]
    return min([here.low, *others]), max([here.high, *others])


def _half(value: float, ends: tuple[float, float]) -> float:
    low, high = ends
    if low <= 0.0:
        return inf
    return (high - low) / 2.0 / value if high < 3.0 * low else sqrt(high / low) - 1.0


_SOLD: tuple[PartKind, ...] = ("inductor", "capacitor", "resistor")


def _feature_u(answer: Answer, target: Target) -> float:
    import numpy as np

    posterior = answer.posterior
    weights = target.weights(posterior.ids, np.asarray(posterior.x))
    if weights is None:
        return float("inf")
    return float(np.sqrt(weights @ posterior.covariance @ weights))


def _told(share: float, level: bool) -> str:
    """A share in per cent or as a factor; of a level in decibels."""
    if level:
        return f"{DB * share:.2g} dB"
    return f"{100 * share:.2g} %" if share < 1.0 else f"a factor of {1.0 + share:.2g}"
