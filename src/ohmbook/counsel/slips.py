"""Slips: for a reading that strains, the mistake that would explain it, with its odds.

Where readings strain, every mistake at every site of the spot is tried: as a linear step against
what all other readings foretell, then the likeliest by a refit of the whole. A mistake's weight
is the density of the readings under it, times the width of the rewritten last digit, times how
often such mistakes happen (Bayes; D. J. C. MacKay, Neural Computation 4, 1992, for the weighing).
"No mistake" and "some other mistake" are among the rivals, so that the odds are honest. Nothing is
changed: the person decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import exp, log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.counsel.anything import anything
from ohmbook.counsel.mistakes import OTHER_ODDS
from ohmbook.counsel.plausible import in_favour
from ohmbook.counsel.screening import Supposed, reweighed, screened, suspects
from ohmbook.counsel.spots import STARTS, Scene, spot_of
from ohmbook.counsel.weigh import Weighed, weigh
from ohmbook.counsel.wide import wide
from ohmbook.errors import OhmbookError
from ohmbook.evidence import consistency, log_evidence, strains

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

LIKELY = 0.5
_ODDS_AT_BEST = log(1000.0)
"""More than any mistake's odds and the width of its digits together."""

ROUNDS = 4
_MUST_FALL = 0.5
"""The excess of chi-squared must fall to this share with a spot left out, or slips are not what
is wrong."""


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
        return self.supposed[0].log_odds if corrected else _some_other(self.scene)

    @property
    def suspects(self) -> tuple[str, ...]:
        """The labels at the spot that the rest does not bear out, the farthest off first."""
        return tuple(self.scene.spot.labels[k] for k in suspects(self.scene))


@dataclass(frozen=True)
class Slips:
    """All slips that were found.

    Args:
        found: the spots, the surest first.
        settled: whether all readings agree once these are corrected or left out.
        log_weight: ln of the evidence of the readings so corrected times the odds of it all; to
            be compared with other explanations of the same readings.
    """

    found: tuple[Slip, ...] = ()
    settled: bool = False
    log_weight: float = -np.inf

    @property
    def one_correction(self) -> bool:
        """Whether a single correction makes everything agree: nothing else is in doubt then."""
        return len(self.found) == 1 and self.found[0].settles


@dataclass
class _Search:
    """Where the search for slips is: the answer so far, what is left out, what was found.

    Args:
        answer: the joint answer, corrected as found so far.
        aside: labels set aside that are not looked into yet.
        out: labels that stay out: nothing explains them.
        odds: ln of the odds of what was found.
    """

    answer: Answer
    aside: list[str]
    out: list[str] = field(default_factory=list)
    found: list[Slip] = field(default_factory=list)
    odds: float = 0.0
    settled: Weighed | None = None

    def round(self) -> bool:
        """Look into the next spot; False where there is nothing more to look into."""
        told = self._of_aside() if self.aside else self._of_strained()
        if not told:
            return False
        self.found += told
        best = told[0]
        self.aside = [one for one in self.aside if one not in best.scene.spot.labels]
        return not self._goes_on(best, len(self.found) - len(told))

    def _of_aside(self) -> list[Slip]:
        """The spot of what is set aside that is most surely wrong."""
        scenes = self._scenes(self.aside)
        told = [slip for scene in scenes for slip in weighed_against([scene], self.aside)]
        return sorted(told, key=lambda slip: slip.none)[:1]

    def _of_strained(self) -> list[Slip]:
        """The spots that strain most, weighed against each other."""
        strained = [one for one in _strained(self.answer) if one not in self.out]
        return weighed_against(self._scenes(strained), ())

    def _scenes(self, labels: Sequence[str]) -> list[Scene]:
        compiled = self.answer.compiled
        spots = list(dict.fromkeys(spot_of(compiled, label) for label in labels))
        if not self.aside:
            spots = spots[:RIVALS]
        made = [Scene.of(self.answer, spot, [*self.aside, *self.out]) for spot in spots]
        return [scene for scene in made if scene is not None]

    def _goes_on(self, best: Slip, place: int) -> bool:
        """Correct the spot, or leave it out; True where all then agree, or nothing can follow."""
        others = self._others(best)
        for corrected in (True, False) if best.corrects else (False,):
            out = self.out if corrected else [*self.out, *best.scene.spot.labels]
            found = self._without(best, out, corrected=corrected)
            if found is not None and not _strained(found.answer):
                self.odds += best.log_odds(corrected=corrected)
                self.found[place] = replace(best, cleared=tuple(others), settles=corrected)
                self.settled = found
                return True
        self.out = out
        self.odds += best.log_odds(corrected=False)
        if self.aside:
            found = self._without(best, [*out, *self.aside], corrected=False)
        if found is None or _excess(found.answer) > _MUST_FALL * _excess(self.answer):
            return True
        self.answer = found.answer
        return False

    def _without(self, best: Slip, out: Sequence[str], *, corrected: bool) -> Weighed | None:
        scene = best.scene
        sheet = best.supposed[0].sheet if corrected else scene.sheet
        begins = [scene.rest.values]
        return weigh(sheet, scene.rest.answer, aside=out, begins=begins, robust=STARTS)

    def _others(self, best: Slip) -> list[str]:
        """What else was set aside."""
        return [one for one in self.aside if one not in best.scene.spot.labels]


def slips(answer: Answer) -> Slips:
    """Every spot where a slip is likely, with what would explain it; none where all agree.

    Args:
        answer: the joint answer, gross slips set aside or not.
    """
    aside = list(answer.posterior.set_aside)
    if not aside and not _strained(answer):
        return Slips()
    search = _Search(answer, aside)
    for _ in range(ROUNDS):
        if not search.round():
            break
    settled = search.settled
    if settled is None:
        return _wide(answer) or Slips(tuple(search.found))
    favour = in_favour(settled.compiled.sheet, settled.posterior)
    return Slips(tuple(search.found), True, settled.log_evidence + favour + search.odds)


def _wide(answer: Answer) -> Slips | None:
    """One mistake that reaches over many readings, where it makes all of them agree."""
    strained = _strained(answer) or list(answer.posterior.set_aside)
    spot = spot_of(answer.compiled, strained[0])
    best = wide(answer, spot.number)
    scene = None if best is None else Scene.of(answer, spot, ())
    if best is None or scene is None or _strained(best[1].answer):
        return None
    one, found = best
    none = log_evidence(answer.posterior) if not answer.posterior.set_aside else -np.inf
    chance = 1.0 / (1.0 + exp(min(none - one.weight, 700.0)))
    if chance < 1.0 - DOUBTED:
        return None
    told = Slip(scene, (one,), (chance,), 0.0, 1.0 - chance, settles=True)
    favour = in_favour(found.compiled.sheet, found.posterior)
    return Slips((told,), True, one.weight + favour)


def _excess(answer: Answer) -> float:
    """How far chi-squared is above what it should be."""
    verdict = consistency(answer.posterior)
    return max(verdict.chi_squared - verdict.degrees_of_freedom, 0.0)


def _strained(answer: Answer) -> list[str]:
    """Labels that strain, the most strained first."""
    p_value = consistency(answer.posterior).p_value
    least = STRAINED if p_value is None or p_value > DISAGREE else LEAST_STRAIN
    found = [one for one in strains(answer.posterior) if abs(one.residual) > least]
    return [one.label for one in sorted(found, key=lambda one: -abs(one.residual))]


def weighed_against(scenes: Sequence[Scene], left_out: Sequence[str]) -> list[Slip]:
    """The spots of some scenes that are likely wrong, weighed against each other."""
    if not scenes:
        return []
    other = [scene.rest.log_evidence + _some_other(scene) for scene in scenes]
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


def _some_other(scene: Scene) -> float:
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
