"""Guesses of the truth: what is known so far, drawn from, so that a plan holds for all of it.

What is still uncertain may be uncertain by a factor of six, so no single set of values stands for
the truth (Chaloner and Verdinelli 1995, section 3: the expected loss is an average over the
posterior). Where several answers fit, each has its share of the guesses, so that what is read next
tells them apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.compile import Compiled
from ohmbook.circuit.network import Id
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.scale import Scales
from ohmbook.evidence.unknown import Array

SPREAD = 0.5
"""Of what is believed of a part before anything is read: that is wide so as to shut nothing out,
and most boards lie nearer its centre. A plan's guesses may be bolder than a result's beliefs."""
RIVAL = 0.1
"""The least share of the guesses that another answer gets, unless it is out of the question."""
OUT_OF_THE_QUESTION = 1e-3

Guess = Mapping[Id, float]


def guesses(
    posterior: Posterior, compiled: Compiled, known: NDArray[np.intp], count: int, seed: int
) -> list[Guess]:
    """The settled values first, then joint draws.

    Args:
        posterior: of the readings so far.
        compiled: them and what is on offer; what only the latter has is drawn as believed.
        known: its rows that have been read.
        count: how many guesses.
        seed: of the draws.
    """
    scales = Scales.of([one.scale for one in compiled.unknowns])
    rng = np.random.default_rng(seed)
    drawn: list[Array] = []
    for mode, some in _shared(posterior, count):
        t, root = _about(posterior, mode, (compiled, known, scales))
        z = rng.standard_normal((some, len(t)))
        if not drawn:
            z[0] = 0.0
        drawn += list(t + z @ root.T)
    return [dict(zip(compiled.ids, scales.natural(one).tolist(), strict=True)) for one in drawn]


def _shared(posterior: Posterior, count: int) -> Iterator[tuple[Array, int]]:
    """Every answer that may be the right one, with how many guesses it gets."""
    modes = [one for one in posterior.modes if one.share > OUT_OF_THE_QUESTION][: count // 2]
    shares = np.array([max(one.share, RIVAL) for one in modes])
    each = np.maximum(1, np.floor(count * shares / shares.sum())).astype(int)
    each[0] += count - each.sum()
    yield from ((one.t, int(some)) for one, some in zip(modes, each, strict=True))


def _about(
    posterior: Posterior, mode: Array, look: tuple[Compiled, NDArray[np.intp], Scales]
) -> tuple[Array, Array]:
    """Centre and root of the covariance about one answer."""
    compiled, known, scales = look
    places = {one: k for k, one in enumerate(posterior.ids)}
    t = np.array([one.prior.centre for one in compiled.unknowns])
    here = np.array([k for k, one in enumerate(compiled.ids) if one in places], dtype=np.intp)
    t[here] = mode[[places[compiled.ids[k]] for k in here]]
    u = np.array([one.prior.u * (1.0 if one.nuisance else SPREAD) for one in compiled.unknowns])
    precision = np.diag(1.0 / u**2)
    x = scales.natural(t)
    if known.size:
        slope = (compiled.jacobian(x) * scales.slope(x))[known]
        weighed = np.linalg.solve(compiled.covariance[np.ix_(known, known)], slope).T
        precision += weighed @ slope
        t = t + np.linalg.solve(precision, weighed @ _missed(posterior, compiled, known, x))
    size, axes = np.linalg.eigh(precision)
    return t, axes / np.sqrt(np.maximum(size, 1e-12))


def _missed(posterior: Posterior, compiled: Compiled, known: NDArray[np.intp], x: Array) -> Array:
    """How far off those known rows are that no reading needed so far: an open amplitude, say."""
    labels: Sequence[str] = [compiled.rows[k].label for k in known]
    off = (compiled.observed - compiled.predict(x[None, :])[0])[known]
    new = np.array([label not in posterior.labels for label in labels], dtype=bool)
    return np.where(new & np.isfinite(off), off, 0.0)
