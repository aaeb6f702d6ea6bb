"""A marking as evidence: which of its meanings the readings speak for, and what it adds.

The readings alone settle a part first, under its wide prior. Each meaning is then as likely as it
was before times the density of the settled value under it (Bayes); "something else" keeps the wide
prior. Only where the readings do not determine the part does the winning meaning become its prior.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pi, sqrt
from typing import Literal

from ohmbook.bench import priors
from ohmbook.circuit.network import Id
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.part import MAIN_QUANTITY, Part
from ohmbook.documents.reading import Sheet
from ohmbook.errors import MarkingError
from ohmbook.evidence import Posterior, determined
from ohmbook.evidence.unknown import Prior
from ohmbook.units.marking import Meaning, believed, meanings
from ohmbook.units.show import show_plain

ENOUGH = 0.8
"""Probability from which a meaning is taken up where the readings do not determine the part."""

_WORN_U = 0.05
_TOLD = 3


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
    """What every marking adds: priors for parts that need one, and a finding for each."""
    beliefs: dict[Id, Prior] = {}
    findings: list[Finding] = []
    for name, part in sheet.parts.items():
        one = (name, MAIN_QUANTITY[part.kind])
        if part.marking is None or one not in posterior.ids or part.stated is not None:
            continue
        try:
            weighed = weigh(part, float(posterior.mode[posterior.index(one)]), posterior.u(one))
        except MarkingError as error:
            findings.append(Finding("marking", f"{name}: {error}", parts=(name,)))
            continue
        settled = determined(posterior, one)
        taken = weighed[0] if weighed and weighed[0].after >= ENOUGH and not settled else None
        if taken is not None:
            belief = believed(taken.meaning)
            beliefs[one] = Prior(belief.centre_log, belief.u_log, belief.shape)
        findings.append(_finding(name, part.marking, weighed, settled, taken is not None))
    return beliefs, tuple(findings)


def _finding(
    name: str, marking: str, weighed: tuple[Weighed, ...], settled: bool, taken: bool
) -> Finding:
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
            f'{name} is marked "{marking}", but no meaning of it fits the readings: look '
            "again at the marking, or count the part as changed"
        )
    elif settled:
        words = (
            f'{name} is marked "{marking}": the readings say it means {value} '
            f"({_percent(best.before)} likely before them, {_percent(best.after)} with them)"
        )
    elif taken:
        tolerance = (
            ""
            if best.meaning.tolerance is not None
            else ("; no tolerance is marked, so one is assumed")
        )
        words = (
            f'{name} is marked "{marking}", taken to mean {value} '
            f"({_percent(best.after)} likely): its value rests on that{tolerance}"
        )
    else:
        words = (
            f'{name} is marked "{marking}", which could mean {value} '
            f"({_percent(best.after)} likely) or something else; the readings do not decide"
        )
    return Finding(
        "marking",
        words,
        parts=(name,),
        explanations=tuple(_explanation(one) for one in weighed[:_TOLD]),
    )


def _explanation(one: Weighed) -> Explanation:
    value = show_plain(one.meaning.value, one.meaning.unit)
    return Explanation(f"{value}: {one.meaning.reading}", f"value = {value}", one.after)


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
