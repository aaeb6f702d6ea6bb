"""A marking as evidence: which of its meanings the readings speak for, and what it adds.

The readings alone settle a part first, under its wide prior. Each meaning is then as likely as it
was before times the density of the settled value under it (Bayes); "something else" keeps the wide
prior. Only where the readings do not determine the part does the winning meaning become its prior.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pi, sqrt
from typing import Literal

import numpy as np

from ohmbook.bench import priors
from ohmbook.circuit.network import Id
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.part import MAIN_QUANTITY, Part
from ohmbook.documents.reading import Sheet
from ohmbook.errors import MarkingError
from ohmbook.evidence import Posterior, determined
from ohmbook.evidence.unknown import Array, Prior
from ohmbook.units.marking import Meaning, believed, meanings
from ohmbook.units.show import show_plain

ENOUGH = 0.8
"""Probability from which a meaning is taken up where the readings do not determine the part."""

_WORN_U = 0.05
_TOLD = 3
_WORTH_TELLING = 0.02
_At = tuple[float, float, bool]
"""ln of the settled value, its standard uncertainty, and whether a meaning is taken up."""

_HEARD = 0.01
"""Probability from which a meaning is named beside the others."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One meaning with its probability before and after the readings."""

    meaning: Meaning
    before: float
    after: float


def weigh(part: Part, t: float, u: float) -> tuple[Weighed, ...]:
    """The meanings of a part's marking against what the readings say, the likeliest first.

    Args:
        part: with its marking.
        t: ln of the settled value (SI).
        u: its standard uncertainty, on the log scale.
    """
    kind = _kind(part)
    if part.marking is None or kind is None:
        return ()
    found = meanings(part.marking, kind)
    wide = priors.MAIN[kind]
    other = 1.0 - sum(one.probability for one in found)
    densities = [_density(t, believed(one).centre_log, _spread(one, u)) for one in found]
    likely = [one.probability * density for one, density in zip(found, densities, strict=True)]
    total = sum(likely) + other * _density(t, wide.centre, sqrt(wide.u**2 + u**2))
    if total <= 0.0:
        return ()
    weighed = [
        Weighed(one, one.probability, share / total)
        for one, share in zip(found, likely, strict=True)
    ]
    return tuple(sorted(weighed, key=lambda one: -one.after))


def consider(sheet: Sheet, posterior: Posterior) -> tuple[dict[Id, Prior], tuple[Finding, ...]]:
    """What every marking adds: priors for parts that need one, and a finding for each.

    Markings are decided one after the other, the most certain first; each belief that is taken up
    moves what is known of the other parts with it (two capacitors of which only the sum was read).
    """
    beliefs: dict[Id, Prior] = {}
    findings: dict[str, Finding] = {}
    left = {
        (name, MAIN_QUANTITY[part.kind]): part
        for name, part in sheet.parts.items()
        if part.marking is not None and part.stated is None
    }
    left = {one: part for one, part in left.items() if one in posterior.ids}
    now = posterior.mode, posterior.covariance
    while left:
        tried = {one: _tried(one, part, posterior, now) for one, part in left.items()}
        one = max(tried, key=lambda other: tried[other].certainty)
        findings[one[0]] = tried[one].finding
        taken = tried[one].taken
        if taken is not None:
            belief = believed(taken)
            beliefs[one] = Prior(belief.centre_log, belief.u_log, belief.shape)
            now = _moved(now, posterior.index(one), beliefs[one])
        del left[one]
    return beliefs, tuple(findings[name] for name in sheet.parts if name in findings)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One marking weighed: what there is to tell, the meaning to take up, and how certain."""

    finding: Finding
    taken: Meaning | None
    certainty: float


def _tried(one: Id, part: Part, posterior: Posterior, now: tuple[Array, Array]) -> _Tried:
    place, (mode, covariance) = posterior.index(one), now
    assert part.marking is not None
    t, u = float(mode[place]), sqrt(float(covariance[place, place]))
    try:
        weighed = weigh(part, t, u)
    except MarkingError as error:
        return _Tried(Finding("marking", f"{one[0]}: {error}", parts=(one[0],)), None, 0.0)
    settled = determined(posterior, one)
    taken = weighed[0] if weighed and weighed[0].after >= ENOUGH and not settled else None
    told = _finding((one[0], part.marking), weighed, settled, (t, u, taken is not None))
    certainty = weighed[0].after if weighed else 0.0
    return _Tried(told, taken.meaning if taken else None, certainty)


def _moved(now: tuple[Array, Array], place: int, belief: Prior) -> tuple[Array, Array]:
    """What is known of everything, once one value is believed to be near a centre."""
    mode, covariance = now
    column = covariance[:, place]
    gain = column / (covariance[place, place] + belief.u**2)
    return mode + gain * (belief.centre - mode[place]), covariance - np.outer(gain, column)


def _finding(
    what: tuple[str, str], weighed: tuple[Weighed, ...], settled: bool, at: _At
) -> Finding:
    (name, marking), (t, _, taken) = what, at
    if not weighed:
        return Finding(
            "marking",
            f'{name} is marked "{marking}", which means nothing that is known here',
            parts=(name,),
        )
    best = weighed[0]
    value = show_plain(best.meaning.value, best.meaning.unit)
    if settled and best.after < 0.5:
        words = (
            f'{name} is marked "{marking}", but no meaning of it fits the readings: '
            f"{_nearest(weighed, t)}. Perhaps its value has changed with age, the marking is "
            "faded, or another part was fitted: look again, and trust the readings"
        )
    elif settled:
        words = (
            f'{name} is marked "{marking}": the readings say it means {value}'
            f"{_odds(weighed)}{_off(best.meaning, at)}"
        )
    elif taken:
        stated = best.meaning.tolerance is not None
        words = (
            f'{name} is marked "{marking}", taken to mean {value} '
            f"({_percent(best.after)} likely): its value rests on that"
            f"{'' if stated else '; no tolerance is marked, so one is assumed'}"
        )
    else:
        words = (
            f'{name} is marked "{marking}", which could mean {value} '
            f"({_percent(best.after)} likely) or something else; the readings do not decide"
        )
    told = (*(_explanation(one) for one in weighed[:_TOLD]), _something_else(weighed))
    return Finding("marking", words, parts=(name,), explanations=told)


def _off(meaning: Meaning, at: _At) -> str:
    """How far the settled value is from what is marked, where the readings can tell."""
    t, u, _ = at
    off = t - believed(meaning).centre_log
    if abs(off) < max(2.0 * u, _WORTH_TELLING):
        return ""
    share, side = abs(exp(off) - 1.0), "above" if off > 0.0 else "below"
    return f"; its value is {100.0 * share:.0f} % {side} that"


def _nearest(weighed: tuple[Weighed, ...], t: float) -> str:
    """The meaning that lies nearest to the settled value, and by how much it is off."""
    near = min(weighed, key=lambda one: abs(believed(one.meaning).centre_log - t))
    off = exp(t - believed(near.meaning).centre_log)
    value = show_plain(near.meaning.value, near.meaning.unit)
    if not 0.5 < off < 2.0:
        return f"the nearest, {value}, is off by a factor of {max(off, 1.0 / off):.1f}"
    side = "above" if off > 1.0 else "below"
    return f"the value is {100.0 * abs(off - 1.0):.0f} % {side} the nearest, {value}"


def _odds(weighed: tuple[Weighed, ...]) -> str:
    """How likely the best meaning was before the readings and is with them."""
    best = weighed[0]
    return f" ({_percent(best.before)} likely before them, {_percent(best.after)} with them)"


def _something_else(weighed: tuple[Weighed, ...]) -> Explanation:
    before, after = (
        max(1.0 - sum(shares), 0.0)
        for shares in ([one.before for one in weighed], [one.after for one in weighed])
    )
    return Explanation("something else: not what its marking says", "", after, before)


def _explanation(one: Weighed) -> Explanation:
    value = show_plain(one.meaning.value, one.meaning.unit)
    what = f"{value}: {one.meaning.reading}"
    return Explanation(what, f"value = {value}", one.after, one.before)


def _percent(share: float) -> str:
    if share > 0.995:
        return "over 99 %"
    return "under 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _kind(part: Part) -> Literal["inductor", "capacitor", "resistor"] | None:
    return None if part.kind == "driver" else part.kind


def _spread(meaning: Meaning, u: float) -> float:
    return sqrt(max(believed(meaning).u_log, _WORN_U) ** 2 + u**2)


def _density(t: float, centre: float, u: float) -> float:
    return exp(-0.5 * ((t - centre) / u) ** 2) / (u * sqrt(2.0 * pi))
