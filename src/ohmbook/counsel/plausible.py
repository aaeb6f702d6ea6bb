"""Is a value what such a part usually has? Bands for crossovers, statements, markings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log, pi, sqrt

from ohmbook.bench import priors
from ohmbook.documents.part import MAIN_QUANTITY, Part
from ohmbook.documents.reading import Sheet
from ohmbook.errors import MarkingError
from ohmbook.evidence import Posterior
from ohmbook.evidence.tails import normal_below
from ohmbook.evidence.unknown import Id
from ohmbook.units.marking import believed, meanings
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_plain

USUAL: dict[tuple[str, str], tuple[float, float]] = {
    ("inductor", "inductance"): (0.03e-3, 20e-3),
    ("capacitor", "capacitance"): (0.4e-6, 400e-6),
    ("resistor", "resistance"): (0.1, 150.0),
    ("inductor", "resistance"): (0.02, 4.0),
    ("capacitor", "resistance"): (0.001, 3.0),
}
"""What the parts of crossovers usually have, SI: common practice, no source. Outside, ask."""

ASK = 0.75
"""Probability of lying outside the usual from which a value is asked about."""

OFF = 4.0
"""Standard uncertainties off its statement from which a value is asked about."""

MARKED_OFF = log(0.1)
"""ln of the odds for the marking against "something else" below which it is asked about."""

_EDGE = 0.7
_WORN_U = 0.05
UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}


@dataclass(frozen=True, slots=True)
class Odd:
    """A value that is not what such a part usually has, or is said to have."""

    part: str
    words: str


def odd_values(sheet: Sheet, posterior: Posterior) -> tuple[Odd, ...]:
    """Every value worth asking about, in words."""
    return tuple(odd for name in sheet.parts for odd in _odd(sheet, posterior, name))


def in_favour(sheet: Sheet, posterior: Posterior) -> float:
    """ln of how much likelier the values are as those of usual, rightly marked parts.

    What the wide priors of the fit do not say: each value that lies outside the usual costs its
    distance from there, each marking weighs as its meanings do.
    """
    total = 0.0
    for name, part in sheet.parts.items():
        for one, t, u in _values(part, name, posterior):
            low, high = _band(part, one)
            off = max(low - t, t - high, 0.0)
            total -= 0.5 * off**2 / (_EDGE**2 + u**2)
            if one[1] == MAIN_QUANTITY[part.kind]:
                total += marking_speaks(part, t, u)
    return total


def marking_speaks(part: Part, t: float, u: float) -> float:
    """ln of the odds of a settled value with the marking against without it; 0 without one.

    Args:
        part: with its marking.
        t: ln of the settled value, SI.
        u: its standard uncertainty, on the log scale.
    """
    kind = part.kind
    if part.marking is None or kind == "driver" or part.stated is not None:
        return 0.0
    try:
        found = meanings(part.marking, kind)
    except MarkingError:
        return 0.0
    wide = priors.MAIN[kind]
    other = max(1.0 - sum(one.probability for one in found), 1e-3)
    base = _density(t, wide.centre, sqrt(wide.u**2 + u**2))
    if base <= 0.0:
        return 0.0
    said = other * base
    for one in found:
        belief = believed(one)
        spread = sqrt(max(belief.u_log, _WORN_U) ** 2 + u**2)
        said += one.probability * _density(t, belief.centre_log, spread)
    return log(said / base)


def _odd(sheet: Sheet, posterior: Posterior, name: str) -> Iterator[Odd]:
    part = sheet.parts[name]
    for one, t, u in _values(part, name, posterior):
        low, high = _band(part, one)
        prior = posterior.unknowns[posterior.index(one)].prior
        main = one[1] == MAIN_QUANTITY[part.kind]
        shown = show_plain(exp(t), UNIT[one[1]])
        told = f"{name} {shown}" if main else f"{name} {shown} in series"
        outside = max(normal_below((low - t) / u), normal_below((t - high) / u))
        said = getattr(part, "stated" if main else "resistance", None) is not None
        if said:
            if abs(t - prior.centre) > OFF * prior.u:
                stated = show_plain(exp(prior.centre), UNIT[one[1]])
                yield Odd(name, f"{told}, though the sheet states {stated}")
        elif outside > ASK:
            usual = [show_plain(exp(edge), UNIT[one[1]], 2) for edge in (low, high)]
            yield Odd(name, f"{told} ({' to '.join(usual)} is usual)")
        elif main and marking_speaks(part, t, u) < MARKED_OFF:
            yield Odd(name, f'{told}, though it is marked "{part.marking}"')


def _values(part: Part, name: str, posterior: Posterior) -> Iterator[tuple[Id, float, float]]:
    """The values of a part that are on a log scale: id, ln of the value, its u."""
    for quantity in dict.fromkeys([MAIN_QUANTITY[part.kind], "resistance"]):
        one = (name, quantity)
        if one in posterior.ids:
            yield one, float(posterior.mode[posterior.index(one)]), posterior.u(one)


def _band(part: Part, one: Id) -> tuple[float, float]:
    """ln of the usual limits; none for what has none, such as a driver."""
    low, high = USUAL.get((part.kind, one[1]), (1e-30, 1e30))
    return log(low), log(high)


def _density(t: float, centre: float, u: float) -> float:
    return exp(-0.5 * ((t - centre) / u) ** 2) / (u * sqrt(2.0 * pi))
