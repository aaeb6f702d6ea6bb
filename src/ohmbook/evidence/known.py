"""What is known: what the readings do determine about values that they don't determine one by one.

Two such values may still be known together: their sum (two resistances in series), ratio (L/R from
amplitudes when no resistance fixes the scale), product (a resonance), parallel sum 1/x + 1/y (two
resistances in parallel), difference. All of these can fit the same tangent at the mode, so the
ridge on which the readings leave the pair free is walked a step each way, and the form that stays
put is the one that is known. A value alone may still have a limit: above (or below) it the
readings object, whatever its own prior says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from ohmbook.evidence.convolve import coverage
from ohmbook.evidence.fit import Tuning
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.rank import DETERMINED_BELOW, determined
from ohmbook.evidence.scale import natural
from ohmbook.evidence.unknown import Array, Id, Unknown
from ohmbook.evidence.validity import Walls

Kind = Literal["sum", "ratio", "product", "parallel", "difference", "at most", "at least"]
Form = Callable[[float, float], float]

_REFIT = Tuning(iterations=30, tolerance=1e-2, damping=1e-6)
_ONE_SIDED = 2.706  # the square of 1.645: one side, 95 %
_FAR = 3.0
_STOPS = (0.1, 0.4, 0.7, 1.0)
_ONE_SIDED_SHARE = 0.2
_SHORTENINGS = 6
_HALVINGS = 12
_TIE = 1.2
_FORMS: tuple[tuple[Kind, Form], ...] = (
    ("sum", lambda x, y: x + y),
    ("ratio", lambda x, y: x / y),
    ("product", lambda x, y: x * y),
    ("parallel", lambda x, y: 1.0 / x + 1.0 / y),
    ("difference", lambda x, y: x - y),
)


@dataclass(frozen=True, slots=True)
class Known:
    """One thing that the readings determine about undetermined values.

    Args:
        kind: "sum" x + y, "ratio" x/y, "product" x y, "parallel" 1/x + 1/y, "difference" x - y;
            or a limit, "at most" or "at least".
        ids: the values concerned, in the order (x, y).
        value: of that form, natural units; of a limit the limit itself (95 %, one side).
        u_relative: relative standard uncertainty; None for a limit.
        low: bound of the 95 % interval; None where there is none on that side.
        high: likewise above.
    """

    kind: Kind
    ids: tuple[Id, ...]
    value: float
    u_relative: float | None
    low: float | None
    high: float | None


def what_is_known(
    unknowns: Sequence[Unknown], blocks: Sequence[Block], posterior: Posterior, ids: Sequence[Id]
) -> tuple[Known, ...]:
    """What is known about those of `ids` that the readings don't determine: pairs, then limits.

    A value that the readings hold on one side only, and the prior on the other, is not determined
    however small its u looks at the mode: it is told as a limit (or in a pair).

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: what settle gave.
        ids: values of interest; determined ones are passed over.
    """
    walls = Walls.of(unknowns, blocks, posterior)
    limits = {id_: _limit(walls, id_) for id_ in ids if _may_be_loose(posterior, id_)}
    loose = [id_ for id_ in limits if limits[id_] or not determined(posterior, id_)]
    positive = [id_ for id_ in loose if unknowns[posterior.index(id_)].scale == "log"]
    pairs = [_pair(walls, x, y) for x, y in combinations(positive, 2)]
    found = [known for known in pairs if known is not None]
    paired = {id_ for known in found for id_ in known.ids}
    alone = [limits[id_] for id_ in loose if id_ not in paired]
    return (*found, *(known for known in alone if known is not None))


def _may_be_loose(posterior: Posterior, id_: Id) -> bool:
    """Whether only one side may hold a value: where the prior holds the other, u is no less than
    prior u / sqrt(1 + ln distance), which is a fifth at the very least."""
    return posterior.u(id_) > _ONE_SIDED_SHARE * posterior.unknowns[posterior.index(id_)].prior.u


def _pair(walls: Walls, x: Id, y: Id) -> Known | None:
    posterior = walls.posterior
    places = [posterior.index(x), posterior.index(y)]
    if not _tight_together(posterior, places):
        return None
    ridge = _ridge(walls, places)
    spreads = [_spread(kind, form, ridge) for kind, form in _FORMS]
    least = min(spreads)
    chosen = next(place for place, s in enumerate(spreads) if s <= _TIE * least + 1e-4)
    return _known(posterior, places, ridge, chosen, spreads[chosen])


def _tight_together(posterior: Posterior, places: list[int]) -> bool:
    """Whether some direction of a pair is known better than half its prior, and by far."""
    prior_u = np.array([posterior.unknowns[place].prior.u for place in places])
    scaled = posterior.covariance[np.ix_(places, places)] / np.outer(prior_u, prior_u)
    tight, loose = np.sqrt(np.maximum(np.linalg.eigvalsh(scaled), 0.0))
    return bool(tight < DETERMINED_BELOW * min(1.0, loose))


def _ridge(walls: Walls, places: list[int]) -> Array:
    """(x, y) at the mode and a standard uncertainty of x along the ridge each way, shape (3, 2)."""
    step = float(np.sqrt(walls.posterior.covariance[places[0], places[0]]))
    ends = [_along(walls, places[0], side * step) for side in (-1.0, 1.0)]
    return np.asarray(np.exp(np.array([walls.posterior.mode, *ends])[:, places]))


def _along(walls: Walls, place: int, step: float) -> Array:
    """As far along the ridge as it goes: a step that leaves it (rise above 2) is halved."""
    for _ in range(_SHORTENINGS):
        fit = walls.refit(place, step, _REFIT)
        if walls.rise(fit) < 2.0:
            return fit.t
        step *= 0.5
    return walls.posterior.mode


def _spread(kind: Kind, form: Form, ridge: Array) -> float:
    """How far a form moves along the ridge, relative to its size."""
    values = np.array([form(*point) for point in ridge])
    size = abs(values[0]) if kind != "difference" else float(ridge[0].sum())
    return float(np.max(np.abs(values - values[0]))) / size


def _known(
    posterior: Posterior, places: list[int], ridge: Array, chosen: int, spread: float
) -> Known | None:
    kind, form = _FORMS[chosen]
    x, y = (float(v) for v in ridge[0])
    value = form(x, y)
    slopes = _slopes(kind, x, y)
    gains = slopes @ posterior.gain[places]
    prior_u = np.array([posterior.unknowns[place].prior.u for place in places])
    believed = float(np.hypot(*(slopes * prior_u)))
    size = abs(value) if kind != "difference" else x + y
    wander = spread * size
    u = float(np.hypot(np.sqrt(gains @ gains), wander))
    if u > DETERMINED_BELOW * believed or value == 0.0:
        return None
    half = coverage(gains, posterior.rectangular, 0.95) + wander
    low, high = value - half, value + half
    if kind != "difference":
        low, high = value * np.exp(-half / value), value * np.exp(half / value)
    ids = tuple(posterior.ids[place] for place in places)
    return Known(kind, ids, value, u / abs(value), float(low), float(high))


def _slopes(kind: Kind, x: float, y: float) -> Array:
    """d(form)/d(ln x, ln y)."""
    return {
        "sum": np.array([x, y]),
        "ratio": np.array([x / y, -x / y]),
        "product": np.array([x * y, x * y]),
        "parallel": np.array([-1.0 / x, -1.0 / y]),
        "difference": np.array([x, -y]),
    }[kind]


def _limit(walls: Walls, id_: Id) -> Known | None:
    """A limit where the readings object on one side only, the value's own prior left out."""
    place = walls.posterior.index(id_)
    far = _FAR * walls.posterior.unknowns[place].prior.u
    below, above = _walk(walls, place, -far), _walk(walls, place, far)
    least = min(0.0, *(stop.objection for stop in (*below, *above)))
    level = least + _ONE_SIDED
    up, down = above[-1].objection > level, below[-1].objection > level
    if up == down:
        return None
    path = [*reversed(below), *above] if up else [*reversed(above), *below]
    offset = _crossing(walls, place, path, level)
    scale = walls.posterior.unknowns[place].scale
    limit = natural(scale, float(walls.posterior.mode[place]) + offset)
    if up:
        return Known("at most", (id_,), limit, None, None, limit)
    return Known("at least", (id_,), limit, None, limit, None)


@dataclass(frozen=True, slots=True)
class _Stop:
    """A stop on the walk: how far from the mode, what the readings object there, the fit."""

    offset: float
    objection: float
    t: Array


def _walk(walls: Walls, place: int, far: float) -> list[_Stop]:
    """Stops from near the mode to `far`, each fit begun at the one before."""
    stops: list[_Stop] = []
    for share in _STOPS:
        stops.append(_stop(walls, place, share * far, stops[-1].t if stops else None))
    return stops


def _stop(walls: Walls, place: int, offset: float, start: Array | None) -> _Stop:
    """The rise of the objective at an offset without what the value's own prior adds."""
    fit = walls.refit(place, offset, _REFIT, start)
    return _Stop(offset, walls.rise(fit) - walls.own_rise(place, fit), fit.t)


def _crossing(walls: Walls, place: int, path: list[_Stop], level: float) -> float:
    """Where the objection passes a level on the way, by halving the step in which it does."""
    last = max(k for k, stop in enumerate(path) if stop.objection <= level)
    inner, outer = path[last], path[last + 1]
    for _ in range(_HALVINGS):
        middle = _stop(walls, place, 0.5 * (inner.offset + outer.offset), inner.t)
        inner, outer = (inner, middle) if middle.objection > level else (middle, outer)
    return 0.5 * (inner.offset + outer.offset)
