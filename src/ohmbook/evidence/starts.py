"""Where to start from: the prior centre, and prior draws that readings made vague prefer.

Readings of 1 % on priors a factor of six wide leave a landscape of narrow valleys. So the
readings are first made vague (an own error of some 30 % of their size), under a heavy-tailed loss
(Student t) that lets a gross slip go, and cooled in stages; only then are they taken at their word.
Small readings are let in by and by, from 3 % of the largest down: near a null two answers differ by
a sign that only the small ones tell, and all of them at once, exact, would freeze the wrong one in.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ohmbook.errors import SettleError
from ohmbook.evidence.fit import Fit, Tuning
from ohmbook.evidence.many import Look, minimise_many
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array

SCREENED, SCREENED_WELL = 100, 1000
"""How many prior draws starts are chosen from: at first, and where the first search is in doubt."""

_APART = 0.7
_TAIL = 3.0
_STAGES = ((0.3, 0.03), (0.1, 0.003), (0.03, 0.0003))
_HOT = Tuning(iterations=5, tolerance=0.3, tail=_TAIL)
_SAME = 0.1


def starts(
    problem: Problem, begin: Array, count: int, seed: int, screened: int = SCREENED
) -> list[Array]:
    """`begin`, and the best prior draws that lie apart, at most `count` in all, shape (n,) each.

    Raises:
        SettleError: nothing can be predicted at any of them.
    """
    chosen = [begin]
    if count > 1 and len(problem.observed):
        draws = _prior_draws(problem, seed, screened)
        scores = _scores(problem, draws)
        for place in np.argsort(scores, kind="stable"):
            if len(chosen) >= count or not np.isfinite(scores[place]):
                break
            if all(_apart(problem, draws[place], other) for other in chosen):
                chosen.append(draws[place])
    sound = np.asarray(np.isfinite(problem.guess(np.array(chosen))).all(axis=1))
    usable = [start for start, good in zip(chosen, sound, strict=True) if good]
    if not usable:
        raise SettleError(f"Nothing can be predicted for the readings {_named(problem, begin)}.")
    return usable


def cooled(problem: Problem, chosen: Sequence[Array]) -> list[Array]:
    """Each start led through ever less vague readings; those that meet go on as one."""
    return [t for t, _ in led(problem, chosen)]


def led(problem: Problem, chosen: Sequence[Array]) -> list[tuple[Array, Look | None]]:
    """As `cooled`, each with what the last look showed if it was taken there."""
    here: list[tuple[Array, Look | None]] = [(t, None) for t in chosen]
    for stage, floor in _STAGES:
        vague = problem.inflated(stage * _sizes(problem, floor))
        looks = [look for _, look in here]
        fits = minimise_many(vague, [t for t, _ in here], _HOT, known=looks)
        here = [(fit.t, _bare(vague, fit)) for fit in distinct(vague, fits)]
    return here


def _bare(problem: Problem, fit: Fit) -> Look | None:
    """What the look at a fit showed, whatever the readings' own errors are."""
    if fit.residuals is None or fit.matrix is None:
        return None
    return problem.whitening.colour(fit.residuals), problem.whitening.colour(fit.matrix)


def robust(problem: Problem, chosen: Sequence[Array]) -> list[Fit]:
    """Minima of the heavy-tailed loss of the readings as they stand, best first."""
    tuning = Tuning(iterations=25, tolerance=0.03, tail=_TAIL)
    fits = minimise_many(problem, chosen, tuning)
    return distinct(problem, fits)


def distinct(problem: Problem, fits: Sequence[Fit]) -> list[Fit]:
    """The fits that differ by more than a small share of their own uncertainty, best first."""
    kept: list[Fit] = []
    matrices: list[Array] = []
    for fit in sorted(fits, key=lambda fit: fit.objective):
        if not np.isfinite(fit.objective):
            continue
        steps = [(fit.t - other.t) / problem.u for other in kept]
        pairs = zip(matrices, steps, strict=True)
        if any(np.sum((matrix @ step) ** 2) + step @ step < _SAME**2 for matrix, step in pairs):
            continue
        kept.append(fit)
        matrices.append(problem.jacobian(fit.t) if fit.matrix is None else fit.matrix)
    return kept


def _prior_draws(problem: Problem, seed: int, count: int) -> Array:
    """Draws of the values; influences stay at their centres."""
    deviates = np.random.default_rng(seed).standard_normal((count, len(problem.u)))
    still = [unknown.nuisance for unknown in problem.unknowns]
    deviates[:, still] = 0.0
    return problem.centre + problem.u * deviates


def _scores(problem: Problem, draws: Array) -> Array:
    stage, floor = _STAGES[0]
    vague = problem.inflated(stage * _sizes(problem, floor))
    with np.errstate(all="ignore"):
        residuals = vague.whitening.whiten((problem.guess(draws) - problem.observed).T)
        scores = (_TAIL + 1.0) * np.log1p(residuals**2 / _TAIL).sum(axis=0)
    scores += (((draws - problem.centre) / problem.u) ** 2).sum(axis=1)
    return np.where(np.isfinite(scores), scores, np.inf)


def _sizes(problem: Problem, floor: float) -> Array:
    """The size of each reading: its own, or where it is small a share of its block's largest."""
    sizes, start = np.abs(problem.observed), 0
    for piece in problem.pieces:
        part = slice(start, start + len(piece.used))
        sizes[part] = np.maximum(sizes[part], floor * sizes[part].max())
        start = part.stop
    return sizes


def _apart(problem: Problem, one: Array, other: Array) -> bool:
    step = ((one - other) / problem.u)[problem.touched]
    return bool(np.sqrt(np.mean(step**2)) > _APART)


def _named(problem: Problem, t: Array) -> str:
    bad = ~np.isfinite(problem.residuals(t))
    labels = [label for label, wrong in zip(problem.labels, bad, strict=True) if wrong]
    return ", ".join(f'"{label}"' for label in labels[:5])


def vague(problem: Problem, share: float) -> Problem:
    """The problem with its readings taken as known to a share of their size only."""
    return problem.inflated(share * _sizes(problem, 0.1))
