"""Two boards of the same kind: which parts differ, and by how much.

Both are settled in one problem (`bench.pair`), so that errors of the shared bench cancel in the
ratios. A part differs where its ratio is told from 1 by all comparisons together (Holm). Where
the boards are meant to be alike, the question is another: which few parts, let off from being
alike, explain the second board's readings; answers are weighed by their evidence, and no part at
all is as likely before as any.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, isfinite, log, sqrt

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.bench.pair import Pair, pair
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.comparison import Comparison, PartDifference, Verdict
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError, SettleError
from ohmbook.evidence import Combination, Posterior, Prior, consistency
from ohmbook.evidence.fit import Tuning, minimise
from ohmbook.evidence.modes import ranked
from ohmbook.evidence.multiple import even_chance, holm, two_sided
from ohmbook.evidence.posterior import Mode
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.search import beginning, posterior_of
from ohmbook.job.settled import fitted
from ohmbook.units.quantity import Unit

DIFFERS_U = log(1.5)
"""What is believed of a part that differs: within a factor of 1.5, one standard uncertainty."""

LEVEL = 0.05
"""How often, at most, anything at all may be claimed of two equal boards."""

AGREE = 0.01
"""Probability of the readings of both boards from which nothing is set aside."""

TOO_WIDE = 0.06
"""Half width of a ratio's interval, on the log scale, above which nothing is said of a part."""

READ = 0.15
"""The same for what the readings alone tell, where the boards are meant to be alike: above it a
difference that matters would have gone unseen."""

ANOTHER, SAME = 0.02, 1e-3
"""Share of the evidence from which another answer counts; how near two are the same one."""

MOST_DIFFERENT = 3
"""Parts that may differ at once where the boards are meant to be alike."""

_FINAL = Tuning()
_QUICK = Tuning(iterations=15, tolerance=1e-2, damping=1e-6)
Answers = tuple[Answer, Answer]

_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}


def compare(left: Sheet, right: Sheet, *, alike: float | None = None, seed: int = 1) -> Comparison:
    """Compare two boards whose parts have the same names.

    Args:
        left: the first board's sheet.
        right: the second's; few readings do where `alike` is given.
        alike: how near to each other the parts are meant to be (limits, relative); None where
            nothing is believed of the second board.
        seed: of the starts.

    Raises:
        CallError: the sheets have no part in common, or `alike` is no share.
        OhmbookError: a sheet that cannot be settled.
    """
    if alike is not None and not 0.0 < alike < 1.0:
        raise CallError(f"Alike within {alike:g} was asked for; expected a share such as 5 %.")
    answers = _answer(left, seed), _answer(right, seed)
    both, found = _settled(answers, alike)
    p_value = consistency(found.posterior).p_value
    told = Comparison(
        (left.title or left.file, right.title or right.file),
        found.parts,
        alike,
        both.shared,
        both.once,
        tuple(name for name in left.parts if name not in right.parts),
        tuple(name for name in right.parts if name not in left.parts),
        p_value,
        (left.file, right.file),
        found.answers,
    )
    if not told.contradicted:
        return told
    return replace(told, parts=tuple(replace(one, verdict="not told") for one in told.parts))


@dataclass(frozen=True, slots=True)
class _Found:
    posterior: Posterior
    parts: tuple[PartDifference, ...]
    answers: int = 1


def _settled(answers: Answers, alike: float | None) -> tuple[Pair, _Found]:
    """Both boards settled with every reading; where those disagree, without the ones that a board
    alone set aside."""
    aside = tuple(one.posterior.set_aside for one in answers)
    for left_out in (((), ()), aside):
        both = _pair(answers, alike, (left_out[0], left_out[1]))
        found = _apart(both, answers) if alike is None else _alike(both, answers)
        p_value = consistency(found.posterior).p_value
        if p_value is None or p_value > AGREE or not any(aside):
            break
    return both, found


def _pair(
    answers: Answers, alike: float | None, aside: tuple[Sequence[str], Sequence[str]]
) -> Pair:
    left, right = answers
    both = pair(
        left.compiled.sheet,
        right.compiled.sheet,
        (_beliefs(left), _beliefs(right)),
        aside,
        None if alike is None else alike / sqrt(3.0),
    )
    if not both.parts:
        raise CallError(
            "The two sheets have no part in common that is worked out; expected the same names "
            "and kinds of parts in both."
        )
    return both


def _answer(sheet: Sheet, seed: int) -> Answer:
    compiled, posterior, _ = fitted(sheet, seed)
    return Answer(compiled, posterior, {})


def _beliefs(answer: Answer) -> dict[Id, Prior]:
    return {one.id: one.prior for one in answer.compiled.unknowns}


def _fit(both: Pair, begins: Sequence[Mapping[Id, float]], tuning: Tuning = _FINAL) -> Posterior:
    """The most probable of the answers that these beginnings lead to."""
    problem, modes = _modes(both, begins, tuning)
    return posterior_of(problem, modes)


def _fits(both: Pair, begins: Sequence[Mapping[Id, float]]) -> list[Posterior]:
    """Every answer that these beginnings lead to and that is worth a thought, the best first."""
    problem, modes = _modes(both, begins, _FINAL)
    told: list[Mode] = []
    for one in modes:
        if one.share > ANOTHER and not any(np.allclose(one.t, t.t, atol=SAME) for t in told):
            told.append(one)
    return [posterior_of(problem, (one, *(m for m in modes if m is not one))) for one in told]


def _modes(
    both: Pair, begins: Sequence[Mapping[Id, float]], tuning: Tuning
) -> tuple[Problem, tuple[Mode, ...]]:
    problem = Problem.of(both.unknowns, both.sides)
    fits = [minimise(problem, beginning(problem, begin), tuning) for begin in begins]
    modes = ranked(problem, [one for one in fits if isfinite(one.objective)])
    if not modes:
        raise SettleError("The two sheets lead to no common answer.")
    return problem, modes


def _begins(both: Pair, answers: Answers) -> list[dict[Id, float]]:
    """Each board's own answer; and each board begun where the other stands, since one of them
    may have met another answer alone than the two of them together."""
    outer = {one.id for one in both.unknowns}
    left = {one: answers[0].posterior.value(one) for one in answers[0].posterior.ids}
    own, right_as_left, left_as_right = dict(left), dict(left), dict(left)
    for one, names in zip(both.sides[1].compiled.ids, both.sides[1].names, strict=True):
        if len(names) > 1 or names[0] in left or one not in answers[1].posterior.ids:
            continue
        value = answers[1].posterior.value(one)
        own[names[0]] = left_as_right[names[0]] = value
        right_as_left[names[0]] = left.get(one, value)
        if one in left:
            left_as_right[one] = value
    begins = (own, right_as_left, left_as_right)
    return [{one: x for one, x in begin.items() if one in outer} for begin in begins]


# -- nothing believed of the second board --------------------------------------------------


def _apart(both: Pair, answers: Answers) -> _Found:
    """Every part in the likeliest answer; what another answer that fits too says otherwise is not
    said."""
    fits = _fits(both, _begins(both, answers))
    first, *others = (_in_one(both, one, answers) for one in fits)
    parts = tuple(_in_all([one, *rest]) for one, *rest in zip(first, *others, strict=True))
    return _Found(fits[0], parts, len(fits))


def _in_one(both: Pair, posterior: Posterior, answers: Answers) -> list[PartDifference]:
    ratios = {name: _ratio(both, posterior, answers, name) for name in both.parts}
    p_values = {name: two_sided(one.value / one.u) for name, one in ratios.items()}
    adjusted = dict(zip(p_values, holm(list(p_values.values())), strict=True))
    parts = []
    for name, one in ratios.items():
        chance = _probability(one, even_chance(len(ratios)))
        differs = adjusted[name] < LEVEL and chance > 0.5
        told = _difference(both, posterior, answers, (name, one))
        parts.append(
            replace(
                told,
                p_value=p_values[name],
                p_adjusted=adjusted[name],
                probability=chance,
                verdict="differs" if differs else _agrees(one),
            )
        )
    return parts


def _in_all(told: Sequence[PartDifference]) -> PartDifference:
    """One part as several answers tell it: the first one's value, what all of them allow."""
    first = told[0]
    verdict: Verdict = first.verdict if len({one.verdict for one in told}) == 1 else "not told"
    low, high = min(one.low for one in told), max(one.high for one in told)
    return replace(
        first,
        low=low,
        high=high,
        read_low=low,
        read_high=high,
        probability=min(one.probability for one in told),
        verdict=verdict,
    )


def _probability(one: Combination, before: float) -> float:
    """That a part differs: being quite the same against being some factor of 1.5 off."""
    spread = sqrt(one.u**2 + DIFFERS_U**2)
    gain = 0.5 * one.value**2 * (1.0 / one.u**2 - 1.0 / spread**2) - log(spread / one.u)
    odds = log(before / (1.0 - before)) + gain
    return 1.0 / (1.0 + exp(-min(max(odds, -50.0), 50.0)))


def _agrees(one: Combination, widest: float = TOO_WIDE) -> Verdict:
    return "agrees" if 0.5 * (one.high - one.low) < widest else "not told"


# -- meant to be alike ---------------------------------------------------------------------


def _alike(both: Pair, answers: Answers) -> _Found:
    """Let a few parts off from being alike, by forward search, and weigh what was tried."""
    names = list(both.parts)
    prior = even_chance(len(names))
    penalty = log(prior / (1.0 - prior))
    begin = _begins(both, answers)[0]
    plain = _fit(both, [begin])
    near = {one: plain.value(one) for one in plain.ids}
    tried = {frozenset[str](): plain.modes[0].log_evidence}

    read: dict[str, Combination] = {}

    def weighed(off: frozenset[str]) -> float:
        if off not in tried:
            fit = _fit(_let_off(both, off), [near], _QUICK)
            tried[off] = fit.modes[0].log_evidence + penalty * len(off)
            read.update({name: fit.combination({both.ratio_id(name): 1.0}) for name in off - best})
        return tried[off]

    best: frozenset[str] = frozenset()
    while len(best) < min(MOST_DIFFERENT, len(names)):
        better = max((best | {name} for name in names if name not in best), key=weighed)
        if weighed(better) < weighed(best):
            break
        best = better
    share = {off: exp(weight - max(tried.values())) for off, weight in tried.items()}
    total = sum(share.values())
    chance = {n: sum(s for off, s in share.items() if n in off) / total for n in names}
    shown = _let_off(both, max(tried, key=lambda off: tried[off]))
    posterior = _fit(shown, [near])
    parts = (_like(shown, posterior, answers, (name, chance[name], read[name])) for name in names)
    return _Found(posterior, tuple(parts))


def _let_off(both: Pair, off: frozenset[str]) -> Pair:
    """The same pair with some parts' ratios believed within a factor only."""
    free = {both.ratio_id(name) for name in off}
    wide = Prior(0.0, DIFFERS_U)
    unknowns = tuple(replace(one, prior=wide) if one.id in free else one for one in both.unknowns)
    return replace(both, unknowns=unknowns)


def _like(
    both: Pair, posterior: Posterior, answers: Answers, told: tuple[str, float, Combination]
) -> PartDifference:
    name, chance, read = told
    one = posterior.combination({both.ratio_id(name): 1.0})
    verdict: Verdict = "differs" if chance > 1.0 - LEVEL else _agrees(read, READ)
    verdict = "not told" if LEVEL < chance <= 1.0 - LEVEL else verdict
    found = _difference(both, posterior, answers, (name, one))
    low, high = exp(read.low), exp(read.high)
    return replace(found, probability=chance, verdict=verdict, read_low=low, read_high=high)


# -- one part ------------------------------------------------------------------------------


def _ratio(both: Pair, posterior: Posterior, answers: Answers, name: str) -> Combination:
    """ln(right / left) of a part, both at the frequency where the left is reported."""
    one = (name, both.parts[name])
    weights = {one: -1.0, both.right(one): 1.0}
    f_hz, loss = answers[0].frequency(one), (name, "loss")
    if f_hz is not None and loss in both.sides[0].compiled.ids:
        weights[loss] = log(f_hz / REFERENCE_HZ)
        if loss in both.sides[1].compiled.ids:
            weights[both.right(loss)] = -log(f_hz / REFERENCE_HZ)
    return posterior.combination(weights)


def _difference(
    both: Pair,
    posterior: Posterior,
    answers: Answers,
    told: tuple[str, Combination],
) -> PartDifference:
    name, ratio = told
    one, loss = (name, both.parts[name]), (name, "loss")
    f_hz = answers[0].frequency(one)
    left = posterior.value(one)
    if f_hz is not None and loss in posterior.ids:
        left *= exp(-posterior.value(loss) * log(f_hz / REFERENCE_HZ))
    return PartDifference(
        name,
        both.parts[name],
        _UNIT[both.parts[name]],
        left,
        left * exp(ratio.value),
        f_hz,
        exp(ratio.value),
        exp(ratio.low),
        exp(ratio.high),
        None,
        None,
        0.0,
        "not told",
        exp(ratio.low),
        exp(ratio.high),
    )
