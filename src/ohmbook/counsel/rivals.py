"""Rivals: spots where a slip may be, and the mistakes at each, weighed against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np

from ohmbook.counsel.anything import anything
from ohmbook.counsel.mistakes import OTHER_ODDS
from ohmbook.counsel.screening import Supposed, reweighed, screened, suspects
from ohmbook.counsel.spots import Scene
from ohmbook.counsel.weigh import weigh
from ohmbook.errors import OhmbookError
from ohmbook.evidence import log_evidence

REFITS = 6
"""Mistakes of a spot that are refitted; the others keep their linear weight."""

HOPELESS = 14.0
"""Behind the best by so much (natural logarithm), no mistake is refitted, no spot searched."""

DOUBTED = 0.1
"""A slip is told where "no mistake" is less probable than this."""

LIKELY = 0.5
_ODDS_AT_BEST = log(1000.0)
"""More than any mistake's odds and the width of its digits together."""


@dataclass(frozen=True)
class Slip:
    """A spot where something is wrong.

    Args:
        scene: the spot, and the rest without it.
        supposed: mistakes that would explain it, the likeliest first.
        chances: the probability of each.
        some_other: of a mistake here that none of those is.
        none: of no mistake anywhere.
        left_out: labels here that the values leave out.
        cleared: labels elsewhere that were left out, and fit once this is corrected.
        settles: whether all readings agree once this is corrected as is likeliest.
    """

    scene: Scene
    supposed: tuple[Supposed, ...]
    chances: tuple[float, ...]
    some_other: float
    none: float
    left_out: tuple[str, ...] = ()
    cleared: tuple[str, ...] = ()
    settles: bool = False

    @property
    def named(self) -> float:
        """The probability of all mistakes here that have a name."""
        return sum(self.chances)

    @property
    def chance(self) -> float:
        """That the mistake is at this spot."""
        return self.named + self.some_other

    @property
    def corrects(self) -> bool:
        """Whether one correction is likely enough to go on with."""
        return bool(self.chances) and self.chances[0] >= LIKELY * self.chance

    def log_odds(self, *, corrected: bool) -> float:
        """ln of the odds of the likeliest correction, or of some other mistake and what it leaves
        to be read there."""
        return self.supposed[0].log_odds if corrected else some_other(self.scene)

    @property
    def suspects(self) -> tuple[str, ...]:
        """The labels at the spot that the rest does not bear out, the farthest off first."""
        return tuple(self.scene.spot.labels[k] for k in suspects(self.scene))


def weighed_against(scenes: Sequence[Scene], left_out: Sequence[str]) -> list[Slip]:
    """The spots of some scenes that are likely wrong, weighed against each other."""
    if not scenes:
        return []
    other = [scene.rest.log_evidence + some_other(scene) for scene in scenes]
    least = max(other) - HOPELESS
    per_scene = [_weighed(scene) if _at_best(scene) > least else () for scene in scenes]
    none = _none(scenes[0])
    every = [none, *other, *(one.weight for group in per_scene for one in group)]
    total = float(np.logaddexp.reduce(every))
    if none - total > log(DOUBTED):
        return []
    found = [
        Slip(
            scene,
            group,
            tuple(exp(one.weight - total) for one in group),
            exp(rest - total),
            exp(none - total),
            tuple(label for label in scene.spot.labels if label in left_out),
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


def _at_best(scene: Scene) -> float:
    """ln of the weight of a correction that would make the spot just as the rest foretells."""
    before = scene.as_written
    return -np.inf if before is None else scene.rest.log_evidence + before.at_best() + _ODDS_AT_BEST


def some_other(scene: Scene) -> float:
    """ln of the weight of some other mistake there, whatever it is."""
    before = scene.as_written
    return -np.inf if before is None else before.some_other() + log(OTHER_ODDS)


def _weighed(scene: Scene) -> tuple[Supposed, ...]:
    """Every mistake at a spot, the likeliest refitted, the likeliest first."""
    tried = sorted([*screened(scene), *anything(scene)], key=lambda one: -one.weight)
    if not tried:
        return ()
    least = tried[0].weight - HOPELESS
    best = [_refitted(scene, one) for one in tried[:REFITS] if one.weight > least]
    return tuple(sorted([*best, *tried[len(best) :]], key=lambda one: -one.weight))


def _refitted(scene: Scene, one: Supposed) -> Supposed:
    """The same with the evidence of a refit of everything, where that can be had."""
    if one.free:
        return one
    try:
        found = weigh(one.sheet, scene.answer, aside=scene.aside, begins=[scene.rest.values])
    except OhmbookError:
        return one
    if found is None or not found.mode.converged:
        return one
    return reweighed(one, found.log_evidence)
