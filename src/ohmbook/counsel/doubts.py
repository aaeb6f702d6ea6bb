"""Is the sketch right? The smallest change of it that would explain the readings, with its odds.

Asked only where there is something to explain: the readings disagree, or they agree only with
values that such parts don't have. Every single change (`changes`) is sifted, weighed by its
evidence and by how often such a mistake is met; those whose readings would all be the same count
as one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from math import exp, log

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.counsel.change import ODDS, Change, ChangeKind
from ohmbook.counsel.changes import MISSING, changes, missing
from ohmbook.counsel.plausible import Odd, in_favour, odd_values
from ohmbook.counsel.sift import Weighty, sift
from ohmbook.counsel.steps import Progress, part
from ohmbook.counsel.weigh import Weighed, weigh_compiled
from ohmbook.documents.reading import Sheet
from ohmbook.errors import OhmbookError
from ohmbook.evidence import consistency, strains
from ohmbook.evidence.unknown import Array, Id

DISAGREE = 1e-3
"""Probability of the readings under the sketch below which they are to be explained."""

LOOK = 0.01
"""Below which a change is looked for; told only if it explains them far better (`SURE`)."""

SURE = 0.02
"""What is left for the sketch as drawn where a change is told though the readings do not
disagree."""

SLIP_ODDS = 0.1
"""That one of the readings is a slip of the pen, all readings together; common practice."""

ALIKE = 0.05
"""Rms distance of two changes' predictions, in the readings' own standard uncertainties, below
which they say the same."""

AS_DRAWN = "as drawn"
CLEARLY = 4.0
"""By how much the sum of squares must fall for values to fit clearly better."""

_SLIP_SPAN = log(1e3)
_SUSPECT_READINGS = 3


@dataclass(frozen=True)
class Hypothesis:
    """One way it may be, weighed.

    Args:
        what: in words.
        weighed: the refit under it.
        log_weight: ln of evidence times prior odds.
        change: of the sheet; None for the sheet as drawn, with or without a slip.
        slip: the reading taken to be a slip; None elsewhere.
    """

    what: str
    weighed: Weighed
    log_weight: float
    change: Change | None = None
    slip: str | None = None

    @property
    def p_value(self) -> float:
        """Of the readings under it; 1 where nothing checks anything."""
        found = self.weighed.consistency.p_value
        return 1.0 if found is None else found

    @cached_property
    def predicted(self) -> Array:
        """What every reading should have been, shape (m,)."""
        x = self.weighed.problem.scales.natural(self.weighed.mode.t)
        return np.asarray(self.weighed.compiled.predict(x[None, :])[0])


@dataclass(frozen=True)
class Explained:
    """Hypotheses under which every reading would be the same, the likeliest first."""

    members: tuple[Hypothesis, ...]
    probability: float

    @property
    def first(self) -> Hypothesis:
        """The likeliest."""
        return self.members[0]


@dataclass(frozen=True)
class Doubts:
    """What was found about a sketch.

    Args:
        answer: of the sheet as drawn.
        p_value: of all readings under the sketch as drawn.
        odd: values that such parts don't have.
        tried: how many changes.
        ranked: what explains the readings, the likeliest first; the sheet as drawn is among them.
        better: values of the sheet as drawn that fit clearly better than the answer's, where the
            search came upon some: settle again from there before doubting the sketch.
    """

    answer: Answer
    p_value: float
    odd: tuple[Odd, ...]
    tried: int
    ranked: tuple[Explained, ...]
    better: Mapping[Id, float] | None = None

    @property
    def disagree(self) -> bool:
        """Whether the readings disagree under the sketch as drawn."""
        return self.p_value < DISAGREE

    @property
    def explanations(self) -> tuple[Explained, ...]:
        """What explains the readings other than the sheet as drawn, the likeliest first."""
        return tuple(one for one in self.ranked if one.first.what != AS_DRAWN)

    @property
    def overturned(self) -> bool:
        """Whether a change explains the readings far better than the sketch as drawn."""
        drawn = sum(one.probability for one in self.ranked if one.first.change is None)
        return self.explained and self.ranked[0].first.change is not None and drawn < SURE

    @property
    def explained(self) -> bool:
        """Whether something that was tried explains the readings."""
        return bool(self.ranked) and self.ranked[0].first.p_value >= DISAGREE


def doubted(answer: Answer) -> tuple[Odd, ...] | None:
    """Whether there is anything to explain: odd values (none where the readings just disagree),
    or None where all is well."""
    odd = odd_values(answer.compiled.sheet, answer.posterior)
    p_value = consistency(answer.posterior).p_value
    disagrees = p_value is not None and p_value < LOOK
    aside = len(answer.posterior.set_aside) > 1
    return odd if odd or disagrees or aside else None


def doubts(answer: Answer, progress: Progress | None = None) -> Doubts | None:
    """Look for what explains the readings; None where there is nothing to explain.

    A part that is not drawn is looked for where no other change explains them: there are more
    places for one than for all else together. In the place of a load that seems to be still on it
    is looked for in any case, since the two read alike.

    Args:
        answer: the joint answer of the sheet as drawn.
        progress: called with (done, of) on the way.
    """
    odd = doubted(answer)
    if odd is None:
        return None
    drawn = weigh_compiled(answer.compiled, answer)
    if drawn is None:
        return None
    sheet = answer.compiled.sheet
    listed, besides = changes(sheet), tuple(missing(sheet))
    same = Change("open", AS_DRAWN, "", sheet)
    sifted = sift(answer, [same, *listed], part(progress, 0.0, 0.7))
    again = next((one.weighed for one in sifted if one.change is same), drawn)
    better = again.mode.objective < drawn.mode.objective - CLEARLY and _agrees(again)
    known = [Hypothesis(AS_DRAWN, drawn, _log_weight(drawn, 0.0))]
    known += _slips(answer)
    known += _changed([one for one in sifted if one.change is not same], listed)
    best = max(known, key=lambda one: one.log_weight)
    if not better and besides and (best.change is None or best.p_value < DISAGREE):
        known += _changed(sift(answer, besides, part(progress, 0.7, 1.0)), besides)
        listed = (*listed, *besides)
    elif best.change is not None:
        alike = [one for one in besides if _in_place_of(best.change, one)]
        known += _changed(sift(answer, alike), besides)
        listed = (*listed, *alike)
    known.sort(key=lambda one: -one.log_weight)
    p_value = 1.0 if drawn.consistency.p_value is None else drawn.consistency.p_value
    values = again.values if better else None
    return Doubts(answer, p_value, odd, len(listed), _grouped(known), values)


def pathless(answer: Answer, sheet: Sheet, progress: Progress | None = None) -> Doubts | None:
    """Look for what gives a reading a way for its current, where the sketch as drawn has none.

    Args:
        answer: of the sheet without such readings.
        sheet: the sheet with them.
        progress: called with (done, of) on the way.

    Returns:
        None where no change gives them one.
    """
    known: list[Hypothesis] = []
    listed: tuple[Change, ...] = ()
    for more, share in ((changes(sheet), (0.0, 0.6)), (tuple(missing(sheet)), (0.6, 1.0))):
        listed = (*listed, *more)
        like = _with_a_way(answer, more)
        if like is not None:
            known += _changed(sift(answer, more, part(progress, *share), like), more)
        if known and max(known, key=lambda one: one.log_weight).p_value >= DISAGREE:
            break
    if not known:
        return None
    known.sort(key=lambda one: -one.log_weight)
    return Doubts(answer, 0.0, (), len(listed), _grouped(known))


def _with_a_way(answer: Answer, listed: Sequence[Change]) -> Compiled | None:
    """The first change under which every reading can be predicted."""
    for change in listed:
        with suppress(OhmbookError):
            return compile_sheet(change.sheet, beliefs=answer.compiled.beliefs)
    return None


def _changed(sifted: Sequence[Weighty], listed: Sequence[Change]) -> Iterator[Hypothesis]:
    counts: dict[ChangeKind, int] = {}
    for change in listed:
        counts[change.kind] = counts.get(change.kind, 0) + 1
    for one in sifted:
        prior = log(ODDS[one.change.kind][0] / counts[one.change.kind])
        weight = _log_weight(one.weighed, prior)
        yield Hypothesis(one.change.what, one.weighed, weight, one.change)


def _in_place_of(change: Change, other: Change) -> bool:
    """Whether another change puts a part where one leaves something on that was to be off."""
    if change.kind != "not detached":
        return False
    ends = {frozenset(change.sheet.parts[name].between or ()) for name in change.parts}
    return frozenset(other.sheet.parts[MISSING].between or ()) in ends


def _agrees(weighed: Weighed) -> bool:
    p_value = weighed.consistency.p_value
    return p_value is None or p_value >= DISAGREE


def _slips(answer: Answer) -> Iterator[Hypothesis]:
    """The sheet as drawn with one reading that may be anything within three decades."""
    rows = {row.label: row for row in answer.compiled.rows}
    checked = [one for one in strains(answer.posterior) if not one.unchecked]
    worst = sorted(checked, key=lambda one: -abs(one.residual))[:_SUSPECT_READINGS]
    labels = dict.fromkeys([*answer.posterior.set_aside[:1], *(one.label for one in worst)])
    for label in labels:
        weighed = weigh_compiled(answer.compiled, answer, aside=(label,))
        size = abs(rows[label].observed)
        if weighed is not None and size > 0.0:
            prior = log(SLIP_ODDS / len(rows)) - log(size * _SLIP_SPAN)
            weight = _log_weight(weighed, prior)
            yield Hypothesis(f"{label} is a slip", weighed, weight, slip=rows[label].reading)


def _log_weight(weighed: Weighed, prior: float) -> float:
    return weighed.log_evidence + in_favour(weighed.compiled.sheet, weighed.posterior) + prior


def _grouped(known: Sequence[Hypothesis]) -> tuple[Explained, ...]:
    """Hypotheses that foretell the same readings together, with their probabilities."""
    best = known[0].log_weight
    weights = [exp(max(one.log_weight - best, -700.0)) for one in known]
    total = sum(weights)
    groups: list[list[int]] = []
    for k, one in enumerate(known):
        alike = (group for group in groups if _alike(known[group[0]], one))
        group = next(alike, None)
        if group is None:
            groups.append([k])
        else:
            group.append(k)
    found = [
        Explained(tuple(known[k] for k in group), sum(weights[k] for k in group) / total)
        for group in groups
    ]
    return tuple(sorted(found, key=lambda one: -one.probability))


def _alike(one: Hypothesis, other: Hypothesis) -> bool:
    if one.slip is not None or other.slip is not None:
        return False
    u = np.sqrt(np.diag(one.weighed.compiled.covariance))
    apart = (one.predicted - other.predicted) / u
    return bool(np.sqrt(np.mean(apart**2)) < ALIKE)
