"""Slips: for a reading that strains, the mistake that would explain it, with its odds.

Where readings strain, every mistake at every site of the spot is tried: as a linear step against
what all other readings foretell, then the likeliest by a refit of the whole. A mistake's weight
is the density of the readings under it, times the width of the rewritten last digit, times how
often such mistakes happen (Bayes; D. J. C. MacKay, Neural Computation 4, 1992, for the weighing).
"No mistake" and "some other mistake" are among the rivals, so that the odds are honest. Nothing is
changed: the person decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import exp

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.counsel.plausible import in_favour
from ohmbook.counsel.rivals import DOUBTED, Slip, weighed_against
from ohmbook.counsel.spots import STARTS, Scene, Spot, spot_of
from ohmbook.counsel.steps import Progress, Steps
from ohmbook.counsel.weigh import Weighed, anchors, weigh
from ohmbook.counsel.wide import wide
from ohmbook.documents.reading import Sheet
from ohmbook.evidence import Id, consistency, log_evidence, strains

STRAINED = 4.0
"""Deleted residual, in standard uncertainties, from which a reading is looked into."""

DISAGREE = 0.01
"""Below this probability of the readings as a whole, the most strained ones are looked into."""

LEAST_STRAIN = 3.0
MILDLY = 1.5
"""From so much on a reading may be what makes another one strain."""

RIVALS = 3
"""Spots that are compared with each other."""

MOST_SPOTS = 7
"""So many are left out on trial, one at a time."""

CLEARLY = 4.0
"""By how much the sum of squares must fall for other values to fit clearly better."""

ROUNDS = 4
_STEPS = 12
"""Scenes and rounds that a search usually has, for whoever waits."""

_NO_EXCESS = 1e-6
_MUST_FALL = 0.5
"""The excess of chi-squared must fall to this share with a spot left out, or slips are not what
is wrong."""


@dataclass(frozen=True)
class Slips:
    """All slips that were found.

    Args:
        found: the spots, the surest first.
        settled: whether all readings agree once these are corrected or left out.
        log_weight: ln of the evidence of the readings so corrected times the odds of it all; to
            be compared with other explanations of the same readings.
        better: values that fit the sheet as written clearly better than the answer's, where the
            search came upon some: settle again from there before looking for slips.
        several: whether it takes more than one, and none was looked into: first see whether one
            change of the sketch explains it all.
    """

    found: tuple[Slip, ...] = ()
    settled: bool = False
    log_weight: float = -np.inf
    better: Mapping[Id, float] | None = None
    several: bool = False

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
        told: how far it is.
        out: labels that stay out: nothing explains them.
        odds: ln of the odds of what was found.
    """

    answer: Answer
    aside: list[str]
    told: Steps
    out: list[str] = field(default_factory=list)
    found: list[Slip] = field(default_factory=list)
    odds: float = 0.0
    settled: Weighed | None = None
    scenes: dict[tuple[int, Spot, tuple[str, ...], bool], Scene | None] = field(
        default_factory=dict
    )
    anchored: dict[tuple[int, bool], tuple[Mapping[Id, float], ...]] = field(default_factory=dict)

    def round(self) -> bool:
        """Look into the next spot; False where there is nothing more to look into."""
        told = self._of_aside() if self.aside else self._of_strained()
        self.told.step()
        if not told:
            return False
        self.found += told
        best = told[0]
        self.aside = [one for one in self.aside if one not in best.scene.spot.labels]
        return not self._goes_on(best, len(self.found) - len(told))

    def better(self) -> Mapping[Id, float] | None:
        """Values that the readings left after leaving one spot out lead to, where all of them then
        agree: a strain is the mark of an answer that is not the best one."""
        for scene in self._scenes(self._spots(self.aside), self.aside) or self._best_strained():
            begins = [scene.rest.values]
            found = weigh(scene.sheet, self.answer, begins=begins)
            if found is None or _strained(found.answer):
                continue
            if self.aside or found.mode.objective < self.answer.posterior.objective - CLEARLY:
                return found.values
        return None

    def needed(self) -> int | None:
        """How many spots, each the best of its round, have to be left out for the rest to agree;
        None where a few are not enough: where a sketch is wrong they are not, and naming mistakes
        would be for nothing.

        Where there is no sketch nothing but the readings can be wrong: taken as one.
        """
        if self.aside or not any(one.between for one in self._sheet.parts.values()):
            return 1
        begun = self.answer
        try:
            for count in range(1, ROUNDS + 1):
                scenes = self._promising(self._best_strained())
                if not scenes:
                    return None
                if not _strained(scenes[0].rest.answer):
                    return count
                self.answer, self.out = scenes[0].rest.answer, list(scenes[0].rest.aside)
        finally:
            self.answer, self.out = begun, []
        return None

    @property
    def _sheet(self) -> Sheet:
        return self.answer.compiled.sheet

    def _of_aside(self) -> list[Slip]:
        """The spot of what is set aside that is most surely wrong.

        One spot alone may have been set aside in the place of a neighbour that bends the answer as
        much the other way: then it is weighed against those that strain with everything counted.
        """
        spots = self._spots(self.aside)
        if len(spots) == 1:
            whole = weigh(self.answer.compiled.sheet, self.answer, aside=self.out)
            strained = [] if whole is None else _strained(whole.answer)
            rivals = list(dict.fromkeys([*spots, *self._spots(strained)]))[: RIVALS + 1]
            return weighed_against(self._scenes(rivals, self.out), self.aside)
        scenes = self._scenes(spots, [*self.aside, *self.out])
        told = [slip for scene in scenes for slip in weighed_against([scene], self.aside)]
        return sorted(told, key=lambda slip: slip.none)[:1]

    def _of_strained(self) -> list[Slip]:
        """The spots that strain most, weighed against each other."""
        return weighed_against(self._promising(self._best_strained()), ())

    def _best_strained(self) -> list[Scene]:
        """Of the spots that strain most those without which the readings agree best.

        A gross slip drags the answer, and others strain more than it does: so a few more are left
        out on trial, until the rest agree without one. Where few strain, those that strain less
        are their rivals: of two readings that contradict each other either may be wrong.
        """
        spots = self._spots([one for one in _strained(self.answer) if one not in self.out])
        if 0 < len(spots) < RIVALS:
            more = _strained(self.answer, MILDLY)[:MOST_SPOTS]
            spots = self._spots([*_strained(self.answer), *more])
            spots = [one for one in spots if not set(one.labels) & set(self.out)]
        found: list[Scene] = []
        for spot in spots[:MOST_SPOTS]:
            agreeing = any(not _strained(one.rest.answer) for one in found)
            if len(found) >= RIVALS and agreeing:
                break
            found += self._scenes([spot], self.out)
        found.sort(key=lambda one: _excess(one.rest.answer))
        if found and _strained(found[0].rest.answer):
            found = [self._searched(one) for one in found]
            found.sort(key=lambda one: _excess(one.rest.answer))
        return found[:RIVALS]

    def _searched(self, scene: Scene) -> Scene:
        """The same from many more beginnings: none at hand led far enough."""
        return self._scene(scene.spot, tuple(self.out), wide=True) or scene

    def _spots(self, labels: Sequence[str]) -> list[Spot]:
        return list(dict.fromkeys(spot_of(self.answer.compiled, label) for label in labels))

    def _scenes(self, spots: Sequence[Spot], out: Sequence[str]) -> list[Scene]:
        made = (self._scene(spot, tuple(out)) for spot in spots)
        return [scene for scene in made if scene is not None]

    def _scene(self, spot: Spot, out: tuple[str, ...], *, wide: bool = False) -> Scene | None:
        """A spot's scene, set once."""
        key = (id(self.answer), spot, out, wide)
        if key not in self.scenes:
            self.scenes[key] = Scene.of(self.answer, spot, out, self._anchors(wide=wide))
            self.told.step()
        return self.scenes[key]

    def _anchors(self, *, wide: bool) -> tuple[Mapping[Id, float], ...]:
        """What most readings agree about, worked out once for each answer."""
        key = (id(self.answer), wide)
        if key not in self.anchored:
            self.anchored[key] = anchors(self.answer, wide=wide)
        return self.anchored[key]

    def _promising(self, scenes: Sequence[Scene]) -> list[Scene]:
        """Scenes without whose spot the readings agree far better."""
        most = _MUST_FALL * _excess(self.answer)
        if most < _NO_EXCESS:  # nothing is over to check the readings by, but what they strain
            return list(scenes)
        return [one for one in scenes if _excess(one.rest.answer) <= most]

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


def slips(answer: Answer, progress: Progress | None = None, *, one_at_most: bool = False) -> Slips:
    """Every spot where a slip is likely, with what would explain it; none where all agree.

    Args:
        answer: the joint answer, gross slips set aside or not.
        progress: called with (done, of) on the way.
        one_at_most: whether to stop where it takes several, saying so.
    """
    aside = list(answer.posterior.set_aside)
    if not aside and not _strained(answer):
        return Slips()
    search = _Search(answer, aside, Steps(progress, _STEPS))
    better = search.better()
    if better is not None:
        return Slips(better=better)
    needed = search.needed()
    if needed is None:
        return _wide(answer) or Slips()
    if needed > 1 and one_at_most:
        return _wide(answer) or Slips(several=True)
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


def _strained(answer: Answer, least: float | None = None) -> list[str]:
    """Labels that strain, the most strained first."""
    if least is None:
        p_value = consistency(answer.posterior).p_value
        least = STRAINED if p_value is None or p_value > DISAGREE else LEAST_STRAIN
    found = [one for one in strains(answer.posterior) if abs(one.residual) > least]
    return [one.label for one in sorted(found, key=lambda one: -abs(one.residual))]
