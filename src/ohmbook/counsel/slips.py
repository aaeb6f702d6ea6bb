"""Slips: for a reading that strains, the mistake that would explain it, with its odds.

Where readings strain, every mistake at every site of the spot is tried: as a linear step against
what all other readings foretell, then the likeliest by a refit of the whole. A mistake's weight
is the density of the readings under it, times the width of the rewritten last digit, times how
often such mistakes happen (Bayes; D. J. C. MacKay, Neural Computation 4, 1992, for the weighing).
"No mistake" and "some other mistake" are among the rivals, so that the odds are honest. Nothing is
changed: the person decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp, log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.counsel.mistakes import MISTAKES, OTHER_ODDS, Mistake, Way
from ohmbook.counsel.rewrite import rewritten
from ohmbook.counsel.sites import Owner, Site, referred, sites
from ohmbook.counsel.spots import Foretold, Scene, Spot, spot_of
from ohmbook.counsel.weigh import weigh
from ohmbook.documents.reading import Sheet
from ohmbook.errors import OhmbookError
from ohmbook.evidence import consistency, log_evidence, strains
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import sine_factor

STRAINED = 4.0
"""Deleted residual, in standard uncertainties, from which a reading is looked into."""

DISAGREE = 0.01
"""Below this probability of the readings as a whole, the most strained ones are looked into."""

LEAST_STRAIN = 3.0
RIVALS = 3
"""Spots that are compared with each other."""

REFITS = 6
"""Mistakes of a spot that are refitted; the others keep their linear weight."""

HOPELESS = 14.0
"""Behind the best by so much (natural logarithm), a mistake is not refitted."""

DOUBTED = 0.1
"""A slip is told where "no mistake" is less probable than this."""

ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Supposed:
    """One mistake at one site, and how it weighs.

    Args:
        mistake: what kind.
        site: where.
        way: what should stand there, and how probable what does stand is then.
        sheet: the sheet corrected so.
        weight: ln of evidence, stretch and prior odds together.
    """

    mistake: Mistake
    site: Site
    way: Way
    sheet: Sheet
    weight: float


@dataclass(frozen=True)
class Slip:
    """A spot where something is wrong.

    Args:
        scene: the spot, and the rest without it.
        supposed: mistakes that would explain it, the likeliest first.
        chances: the probability of each.
        some_other: of a mistake here that none of those is.
        none: of no mistake anywhere.
        left_out: whether the values leave the spot's readings out.
    """

    scene: Scene
    supposed: tuple[Supposed, ...]
    chances: tuple[float, ...]
    some_other: float
    none: float
    left_out: bool

    @property
    def chance(self) -> float:
        """That the mistake is at this spot."""
        return sum(self.chances) + self.some_other

    @cached_property
    def suspects(self) -> tuple[str, ...]:
        """The labels at the spot that the rest does not bear out, the farthest off first."""
        before = self.scene.as_written
        if before is None:
            return self.scene.spot.labels
        order = np.argsort(-np.abs(before.off))
        off = [k for k in order if abs(before.off[k]) > LEAST_STRAIN] or [order[0]]
        labels = [row.label for row in before.rows]
        named = dict(zip(labels, self.scene.spot.labels, strict=True))
        return tuple(named[labels[k]] for k in off)


def slips(answer: Answer) -> tuple[Slip, ...]:
    """Every spot where a slip is likely, with what would explain it; none where all agree.

    Args:
        answer: the joint answer, gross slips set aside or not.
    """
    aside = list(answer.posterior.set_aside)
    found: list[Slip] = []
    for spot in _spots(answer, aside):
        scene = Scene.of(answer, spot, aside)
        if scene is not None:
            found += _told([scene], left_out=True)
    here = answer
    for _ in range(ROUNDS):
        rivals = _spots(here, _strained(here))[:RIVALS]
        scenes = [scene for spot in rivals if (scene := Scene.of(here, spot, aside)) is not None]
        told = _told(scenes, left_out=False)
        found += told
        if not told or told[0].chance < 0.5:
            break
        aside += told[0].scene.spot.labels
        here = told[0].scene.rest.answer
    return tuple(found)


def _strained(answer: Answer) -> list[str]:
    """Labels that strain, the most strained first."""
    p_value = consistency(answer.posterior).p_value
    least = STRAINED if p_value is None or p_value > DISAGREE else LEAST_STRAIN
    found = [one for one in strains(answer.posterior) if abs(one.residual) > least]
    return [one.label for one in sorted(found, key=lambda one: -abs(one.residual))]


def _spots(answer: Answer, labels: Sequence[str]) -> list[Spot]:
    return list(dict.fromkeys(spot_of(answer.compiled, label) for label in labels))


def _told(scenes: Sequence[Scene], *, left_out: bool) -> list[Slip]:
    """The spots of some scenes that are likely wrong, weighed against each other."""
    if not scenes:
        return []
    per_scene = [_weighed(scene) for scene in scenes]
    other = [scene.rest.log_evidence + _some_other(scene) for scene in scenes]
    none = _none(scenes[0])
    every = [none, *other, *(one.weight for group in per_scene for one in group)]
    total = float(np.logaddexp.reduce(every))
    chance = exp(none - total)
    if chance > DOUBTED:
        return []
    found = [
        Slip(
            scene,
            group,
            tuple(exp(one.weight - total) for one in group),
            exp(rest - total),
            chance,
            left_out,
        )
        for scene, group, rest in zip(scenes, per_scene, other, strict=True)
    ]
    found.sort(key=lambda slip: -slip.chance)
    return [slip for slip in found if slip.chance > DOUBTED]


def _none(scene: Scene) -> float:
    """ln of the evidence of the sheet as written, the same readings counted."""
    posterior = scene.answer.posterior
    if set(posterior.set_aside) == set(scene.aside):
        return log_evidence(posterior)
    begins = [scene.rest.values]
    found = weigh(scene.sheet, scene.answer, aside=scene.aside, begins=begins)
    return -np.inf if found is None else found.log_evidence


def _some_other(scene: Scene) -> float:
    before = scene.as_written
    return -np.inf if before is None else before.some_other() + log(OTHER_ODDS)


def _weighed(scene: Scene) -> tuple[Supposed, ...]:
    """Every mistake at a spot, the likeliest refitted, the likeliest first."""
    tried = sorted(_screened(scene), key=lambda one: -one.weight)
    if not tried:
        return ()
    least = tried[0].weight - HOPELESS
    best = [_refitted(scene, one) for one in tried[:REFITS] if one.weight > least]
    return tuple(sorted([*best, *tried[len(best) :]], key=lambda one: -one.weight))


def _screened(scene: Scene) -> Iterator[Supposed]:
    before = scene.as_written
    if before is None:
        return
    off = frozenset(int(k) for k in np.flatnonzero(np.abs(before.off) > LEAST_STRAIN))
    suspects = off or frozenset(range(len(before.rows)))
    for site in _local(scene):
        for mistake in MISTAKES:
            for way in mistake.ways(site):
                yield from _tried(scene, suspects, (mistake, site, way))


def _local(scene: Scene) -> Iterator[Site]:
    """The sites that bear on a spot alone."""
    spot = scene.spot
    owner: Owner = ("readings", spot.number)
    for site in sites(scene.sheet, owner):
        if site.row == spot.row and site.what not in ("heading", "column"):
            yield site
    if spot.row is None:
        for other in referred(scene.sheet, spot.number):
            if other[0] == "sources":
                yield from sites(scene.sheet, other)


def _tried(
    scene: Scene, suspects: frozenset[int], what: tuple[Mistake, Site, Way]
) -> Iterator[Supposed]:
    """A mistake weighed by a linear step; nothing where it makes no sense or changes no suspect."""
    mistake, site, way = what
    try:
        sheet = rewritten(scene.sheet, site, way.text)
        if _refused(scene, sheet):
            return
        after = scene.foretold(sheet, suspects)
    except OhmbookError:
        return
    if after is None:
        return
    weight = scene.rest.log_evidence + after.log_density() + _prior(scene, what, after)
    if np.isfinite(weight):
        yield Supposed(mistake, site, way, sheet, weight)


def _refused(scene: Scene, sheet: Sheet) -> bool:
    reading = sheet.readings[scene.spot.number]
    return any(True for _ in reading.check(sheet))


def _prior(scene: Scene, what: tuple[Mistake, Site, Way], after: Foretold) -> float:
    """ln of the odds of a mistake before any reading, and of the width of the rewritten digits."""
    mistake, site, way = what
    before = scene.as_written
    odds = log(mistake.odds * way.share)
    if before is None:
        return odds
    pairs = zip(before.rows, after.rows, strict=True)
    moved = [(a.observed, b.observed) for a, b in pairs if a.observed != b.observed]
    if not moved:
        return odds
    if mistake.scales:
        return odds + sum(log(abs(b / a)) for a, b in moved if a and b)
    return odds + len(moved) * log(_last_digit(site, way.text) / _last_digit(site, site.text))


def _last_digit(site: Site, text: str) -> float:
    written = parse_quantity(text, site.unit)
    factor = sine_factor(written.convention, "pp") if written.convention else 1.0
    return written.last_digit * factor


def _refitted(scene: Scene, one: Supposed) -> Supposed:
    """The same with the evidence of a refit of everything, where that can be had."""
    try:
        found = weigh(one.sheet, scene.answer, aside=scene.aside, begins=[scene.rest.values])
    except OhmbookError:
        return one
    after = scene.foretold(one.sheet)
    if found is None or after is None or not found.mode.converged:
        return one
    weight = found.log_evidence + _prior(scene, (one.mistake, one.site, one.way), after)
    return replace(one, weight=weight)
