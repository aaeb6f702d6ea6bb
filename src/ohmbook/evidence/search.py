"""The search: from several starts to every distinct answer that fits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from ohmbook.errors import CallError, SettleError
from ohmbook.evidence.fit import Fit, Tuning, minimise
from ohmbook.evidence.many import Look, Walk, minimise_many, relay
from ohmbook.evidence.modes import ranked
from ohmbook.evidence.posterior import Input, Mode, Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.scale import coordinate
from ohmbook.evidence.starts import SCREENED_WELL, distinct, led, starts
from ohmbook.evidence.tails import chi_squared_above
from ohmbook.evidence.unknown import Array, Id

_KEPT_BYTES = 24_000_000
_SCOUT = Tuning(iterations=12, tolerance=1e-2)
_HOPELESS = 40.0
_STRAIGHT = 1
_MANY = 5
_UNLIKELY = 0.05
_NEAR = Tuning(iterations=15, damping=1e-6)
_FINAL = Tuning(iterations=100)


def beginning(problem: Problem, begin: Mapping[Id, float] | None) -> Array:
    """The prior centres, or where `begin` gives values (natural units) those.

    Raises:
        CallError: `begin` names no unknown, or a value that its scale has no place for.
    """
    t = problem.centre.copy()
    places = {unknown.id: place for place, unknown in enumerate(problem.unknowns)}
    for id_, x in (begin or {}).items():
        if id_ not in places:
            raise CallError(f"There is no unknown {id_} to begin from.")
        t[places[id_]] = coordinate(problem.unknowns[places[id_]].scale, x)
    return t


def answers(problem: Problem, begin: Array, count: int, seed: int) -> tuple[Mode, ...]:
    """Every distinct answer found, the most probable first: a search, and where its best answer is
    in doubt a wider one.

    Raises:
        SettleError: no start leads anywhere.
    """
    fits = search(problem, begin, count, seed)
    if count > 1 and doubtful(problem, fits[0]):
        fits = wider(problem, begin, count, seed, fits)
    return modes_of(problem, fits)


def search(problem: Problem, begin: Array, count: int, seed: int) -> list[Fit]:
    """Every distinct minimum found from `count` starts, the best first.

    Each start is led through cooled readings; the first is also followed straight, which finds
    neighbours of the best answer that cooling passes by.

    Raises:
        SettleError: no start leads anywhere.
    """
    _keep_memory()
    chosen = starts(problem, begin, count, seed)
    return _descended(problem, [*led(problem, chosen), *_bare(chosen[:_STRAIGHT])])


def wider(problem: Problem, begin: Array, count: int, seed: int, found: Sequence[Fit]) -> list[Fit]:
    """The same with more starts out of more prior draws, where what was found leaves the readings
    and beliefs farther off than they should be, or is not at rest."""
    chosen = starts(problem, begin, count, seed)
    more = starts(problem, begin, _MANY * count, seed + 1, SCREENED_WELL)
    spread = _descended(problem, [*led(problem, more), *_bare(chosen)])
    return distinct(problem, [*found, *spread])


def modes_of(problem: Problem, fits: list[Fit]) -> tuple[Mode, ...]:
    """Fits as modes, the most probable first."""
    return ranked(problem, _told(fits))


def _bare(chosen: Sequence[Array]) -> list[tuple[Array, Look | None]]:
    return [(t, None) for t in chosen]


@lru_cache(maxsize=1)
def _keep_memory() -> None:
    """Have freed memory kept for the next step of the search instead of given back each time.

    glibc's allocator hands back pieces above a threshold, which grows to the largest piece ever
    freed; fetching the pages anew costs a search half its time. Elsewhere this does nothing.
    """
    np.empty(_KEPT_BYTES, dtype=np.uint8)


def descend(problem: Problem, chosen: Sequence[Array]) -> tuple[Mode, ...]:
    """Minima from given starts as modes."""
    return modes_of(problem, _descended(problem, _bare(chosen)))


def _descended(problem: Problem, chosen: Sequence[tuple[Array, Look | None]]) -> list[Fit]:
    """Minima from given starts: scouted first, the hopeless dropped, the rest brought to rest.

    A scout that is nearly at rest goes on at once, while others still look for a way.
    """
    walks = [_scouting(t) for t, _ in chosen]
    pairs = relay(problem, walks, _SCOUT, then=_NEAR, known=[look for _, look in chosen])
    rested = {id(scout): fit for scout, fit in pairs}
    scouts = _sound(distinct(problem, [scout for scout, _ in pairs]))
    ceiling = scouts[0].objective + _HOPELESS
    hopeful = [scout for scout in scouts if scout.objective <= ceiling]
    late = [scout for scout in hopeful if rested[id(scout)] is None]
    fits = [fit for scout in hopeful if (fit := rested[id(scout)]) is not None]
    fits += minimise_many(problem, [scout.t for scout in late], _NEAR)
    fits = [fit if fit.converged else minimise(problem, fit.t, _FINAL) for fit in fits]
    return distinct(problem, fits)


def _scouting(start: Array) -> Walk[tuple[Fit, Fit | None]]:
    """A scout, and where it leads to if it is nearly at rest."""
    scout = yield start
    return scout, ((yield scout.t) if scout.converged else None)


def _told(fits: list[Fit]) -> list[Fit]:
    """The fits at rest, or all where a better one than those is not."""
    at_rest = [fit for fit in fits if fit.converged]
    return at_rest if _good_enough(at_rest, fits) else fits


def doubtful(problem: Problem, fit: Fit | Mode) -> bool:
    """Whether an answer is worse than the right one would be: the objective there is chi-squared
    with as many degrees of freedom as there are readings (linear problem, unit variances)."""
    return not fit.converged or chi_squared_above(len(problem.observed), fit.objective) < _UNLIKELY


def scouted(problem: Problem, chosen: Sequence[Array]) -> tuple[Mode, ...]:
    """The best answer of a short search, nearly at rest: enough to compare hypotheses by."""
    return ranked(problem, _scouted(problem, chosen)[:1])


def _scouted(problem: Problem, chosen: Sequence[Array]) -> list[Fit]:
    return _sound(distinct(problem, minimise_many(problem, chosen, _SCOUT)))


def _sound(scouts: list[Fit]) -> list[Fit]:
    if not scouts:
        raise SettleError("No start leads to an answer: nothing finite can be predicted.")
    return scouts


def posterior_of(
    problem: Problem, modes: tuple[Mode, ...], set_aside: tuple[str, ...] = ()
) -> Posterior:
    """The posterior at the first of the modes.

    The gain is the pseudo-inverse of [B; I] by QR, in prior units, times the priors' u. Unknowns
    that no reading touches keep their prior to the last digit.
    """
    t = modes[0].t
    m, n = len(problem.observed), len(t)
    (residuals,), (matrix,) = problem.linearised(t[np.newaxis], careful=True)
    gain = np.zeros((n, m + n))
    gain[np.arange(n), m + np.arange(n)] = problem.u
    touched = problem.touched
    orthogonal, triangle = np.linalg.qr(np.vstack([matrix[:, touched], np.eye(len(touched))]))
    block = np.linalg.solve(triangle, orthogonal.T) * problem.u[touched, np.newaxis]
    gain[np.ix_(touched, np.concatenate([np.arange(m), m + touched]))] = block
    return Posterior(
        problem.unknowns,
        problem.labels,
        t,
        matrix / problem.u,
        gain,
        -np.concatenate([residuals, problem.pulls(t)]),
        _inputs(problem),
        problem.whitening,
        modes,
        modes[0].converged,
        set_aside,
    )


def _good_enough(at_rest: Sequence[Fit], fits: Sequence[Fit]) -> bool:
    return bool(at_rest) and at_rest[0].objective <= fits[0].objective + 1e-6


def _inputs(problem: Problem) -> tuple[Input, ...]:
    readings = (
        Input(label, "reading", None, shape)
        for label, shape in zip(problem.labels, problem.shapes, strict=True)
    )
    priors = (
        Input(" ".join(unknown.id), "prior", unknown.id, unknown.prior.shape)
        for unknown in problem.unknowns
    )
    return (*readings, *priors)
