"""Rank the readings that could be taken next by what they would teach.

Every kind offers its candidates. Each is compiled with the sheet, so that its new causes of error
(another range, another frequency) count; its expected gain is the fall of the parts' uncertainties
by a linear update of the joint answer (Kalman 1960; Chaloner and Verdinelli 1995, Bayesian
experimental design, with the mean log uncertainty as the loss). The best is taken, the answer is
updated as if it had been read, and the next best is looked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Reading
from ohmbook.bench.kinds import KINDS
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence.design import updated
from ohmbook.evidence.unknown import Array

LEAST_GAIN = 0.02
"""Least fall of the summed log uncertainties worth a reading."""

SMALL_U = 0.002
"""A value known this well (relative) gains nothing worth having."""


@dataclass(frozen=True, slots=True)
class Improvement:
    """One quantity's relative standard uncertainty now and after."""

    name: str
    quantity: str
    now: float
    after: float


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A reading worth taking.

    Args:
        reading: the reading without its result, as a sheet would have it.
        expected: what it should show.
        improves: which quantities it would improve, most improved first.
        why: in words.
        words: what to do, in words.
    """

    reading: dict[str, Any]
    expected: dict[str, str]
    improves: tuple[Improvement, ...]
    why: str
    words: str

    def document(self) -> dict[str, Any]:
        """The suggestion as a JSON object (a contract: add to it, rename nothing)."""
        improves: dict[str, dict[str, Any]] = {}
        for one in self.improves:
            improves.setdefault(one.name, {})[one.quantity] = {"now": one.now, "after": one.after}
        return {
            "reading": self.reading,
            "expected": self.expected,
            "improves": improves,
            "why": self.why,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class NextReadings:
    """Suggestions, the best first; each assumes that those before it were taken."""

    suggestions: tuple[Suggestion, ...]

    def document(self) -> dict[str, Any]:
        """The `--json` document (a contract: add to it, rename nothing)."""
        return {"suggestions": [one.document() for one in self.suggestions]}


@dataclass(frozen=True, slots=True)
class _Offer:
    candidate: Candidate
    expected: dict[str, str]
    slope: Array
    variance: Array


def rank(answer: Answer, count: int) -> NextReadings:
    """The best next readings, greedily.

    Args:
        answer: the joint answer to the readings so far.
        count: how many at most.
    """
    targets = _targets(answer)
    candidates = _candidates(answer)
    if not targets or not candidates:
        return NextReadings(())
    compiled, offers = _offers(answer, candidates)
    covariance = _covariance(answer, compiled)
    weights = _weights(answer, compiled, targets)
    chosen: list[Suggestion] = []
    while len(chosen) < count:
        best = max(offers, key=lambda one: _worth(one, covariance, weights), default=None)
        if best is None or _worth(best, covariance, weights) < LEAST_GAIN:
            break
        after = updated(covariance, best.slope, np.diag(best.variance))
        suggestion = _suggestion(best, targets, weights, (covariance, after))
        if not suggestion.improves:
            break
        chosen.append(suggestion)
        covariance, offers = after, [one for one in offers if one is not best]
    return NextReadings(tuple(chosen))


def _targets(answer: Answer) -> tuple[Id, ...]:
    parts = answer.compiled.sheet.parts
    wanted = [(name, MAIN_QUANTITY[part.kind]) for name, part in parts.items()]
    return tuple(one for one in wanted if one in answer.posterior.ids)


def _candidates(answer: Answer) -> list[Candidate]:
    desk = Desk(answer.compiled.sheet)
    return [found for kind in KINDS for found in kind.candidates(desk, answer)]


def _offers(answer: Answer, candidates: Sequence[Candidate]) -> tuple[Compiled, list[_Offer]]:
    """Compile the candidates with what they should show, so that ranges are the right ones."""
    sheet = answer.compiled.sheet
    first = compile_sheet(sheet, [*sheet.readings, *(one.reading for one in candidates)])
    shown = first.predict(_x(answer, first)[None, :])[0]
    by_name = {row.reading: float(value) for row, value in zip(first.rows, shown, strict=True)}
    expecting = [one.reading.expecting(by_name[one.reading.name]) for one in candidates]
    readings: list[Reading] = [one for one, _ in expecting]
    compiled = compile_sheet(sheet, [*sheet.readings, *readings])
    x = _x(answer, compiled)
    rate = np.array(
        [
            xi if unknown.scale == "log" else 1.0
            for xi, unknown in zip(x, compiled.unknowns, strict=True)
        ]
    )
    slope = compiled.jacobian(x) * rate
    rows: dict[str, list[int]] = {}
    for k, row in enumerate(compiled.rows):
        rows.setdefault(row.reading, []).append(k)
    variance = np.diag(compiled.covariance)
    offers = [
        _Offer(one, words, slope[rows[one.reading.name]], variance[rows[one.reading.name]])
        for one, (_, words) in zip(candidates, expecting, strict=True)
    ]
    return compiled, offers


def _x(answer: Answer, compiled: Compiled) -> Array:
    from math import exp

    posterior = answer.posterior
    return np.array(
        [
            posterior.value(one.id)
            if one.id in posterior.ids
            else exp(one.prior.centre)
            if one.scale == "log"
            else one.prior.centre
            for one in compiled.unknowns
        ]
    )


def _covariance(answer: Answer, compiled: Compiled) -> Array:
    """The joint covariance of what is settled, with the new causes beside it."""
    covariance = np.diag([one.prior.u**2 for one in compiled.unknowns])
    posterior = answer.posterior
    pairs = [
        (k, posterior.index(one)) for k, one in enumerate(compiled.ids) if one in posterior.ids
    ]
    here = np.array([k for k, _ in pairs])
    there = np.array([k for _, k in pairs])
    covariance[np.ix_(here, here)] = posterior.covariance[np.ix_(there, there)]
    return covariance


def _weights(answer: Answer, compiled: Compiled, targets: Sequence[Id]) -> Array:
    """Each target's coordinate where its value is told: ln L - loss ln(f / reference), by row."""
    weights = np.zeros((len(targets), len(compiled.ids)))
    for k, one in enumerate(targets):
        weights[k, compiled.ids.index(one)] = 1.0
        f_hz, loss = answer.frequency(one), (one[0], "loss")
        if f_hz is not None and loss in compiled.ids:
            weights[k, compiled.ids.index(loss)] = -np.log(f_hz / REFERENCE_HZ)
    return weights


def _worth(offer: _Offer, covariance: Array, weights: Array) -> float:
    seen = covariance @ offer.slope.T
    cross = weights @ seen
    inner = offer.slope @ seen + np.diag(offer.variance)
    fall = np.einsum("ij,ij->i", cross, np.linalg.solve(inner, cross.T).T)
    now = _variances(covariance, weights)
    after = np.maximum(now - fall, 0.0)
    gain = 0.5 * np.log((now + SMALL_U**2) / (after + SMALL_U**2))
    return float(gain.sum()) / offer.candidate.cost


def _variances(covariance: Array, weights: Array) -> Array:
    return np.asarray(np.einsum("ij,jk,ik->i", weights, covariance, weights))


def _suggestion(
    offer: _Offer, targets: Sequence[Id], weights: Array, states: tuple[Array, Array]
) -> Suggestion:
    """What an offer improves, from the covariance now and after."""
    before, then = (np.sqrt(np.maximum(_variances(one, weights), 0.0)) for one in states)
    order = np.argsort(then / before)
    improved = tuple(
        Improvement(targets[k][0], targets[k][1], float(before[k]), float(then[k]))
        for k in order
        if then[k] < 0.95 * before[k]
    )
    told = [f"{one.name} from {_percent(one.now)} to {_percent(one.after)}" for one in improved[:3]]
    why = f"improves {', '.join(told)} (standard uncertainty)"
    return Suggestion(offer.candidate.blank, offer.expected, improved, why, offer.candidate.words)


def _percent(u: float) -> str:
    return f"{100 * u:.3g} %" if u < 0.5 else f"a factor of {np.exp(u):.1f}"
