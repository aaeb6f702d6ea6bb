"""What would ease a doubt that several values share: its reading once more, done better.

Each way in which the reading's kind would take it again is compiled with the sheet, and its effect
foretold by the linear update of `evidence.design`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import exp

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Reading
from ohmbook.bench.shares import estimate_weights
from ohmbook.circuit.network import Id
from ohmbook.documents.estimate import CommonDoubt, Estimate
from ohmbook.evidence.design import updated
from ohmbook.evidence.unknown import Array

WORTH = 0.9
"""A reading that leaves more than this share of every uncertainty is not worth naming."""


def eased(answer: Answer, doubt: CommonDoubt, estimates: Sequence[Estimate]) -> CommonDoubt:
    """The doubt with the reading that would ease it most, where its kind knows one.

    Args:
        answer: the joint answer.
        doubt: a shared one; where it belongs to no reading it is given back as it is.
        estimates: all of them.
    """
    reading = next((one for one in answer.compiled.sheet.readings if one.name == doubt.owner), None)
    if not isinstance(reading, Reading):
        return doubt
    limited = [name for name, _ in doubt.limits]
    firsts = {one.name: one for one in reversed(estimates) if one.name in limited}
    wanted = {name: estimate_weights(answer, firsts[name]) for name in limited}
    tried = [
        (candidate, _foretold(answer, candidate, wanted))
        for candidate in reading.again(Desk(answer.compiled.sheet), answer)
    ]
    if not tried:
        return doubt
    best, told = min(tried, key=lambda one: float(np.mean(np.log(one[1][1] / one[1][0]))))
    if float(np.min(told[1] / told[0])) > WORTH:
        return doubt
    table = tuple(zip(limited, map(float, told[0]), map(float, told[1]), strict=True))
    return replace(doubt, remedy=best.words, eased=table)


def _foretold(
    answer: Answer, candidate: Candidate, wanted: Mapping[str, Mapping[Id, float]]
) -> tuple[Array, Array]:
    """Standard uncertainties of weighted sums now, and after the candidate as well."""
    sheet = answer.compiled.sheet
    compiled = compile_sheet(sheet, [*sheet.readings, candidate.reading])
    x = _values(answer, compiled)
    rate = np.array([one.scale == "log" for one in compiled.unknowns])
    slope = compiled.jacobian(x) * np.where(rate, x, 1.0)
    new = [k for k, row in enumerate(compiled.rows) if row.reading == candidate.reading.name]
    known = {one.label for one in answer.compiled.rows}
    new += [k for k, one in enumerate(compiled.rows) if one.label not in known and k not in new]
    before = _covariance(answer, compiled)
    after = updated(before, slope[new], compiled.covariance[np.ix_(new, new)])
    rows = np.zeros((len(wanted), len(compiled.ids)))
    for k, weights in enumerate(wanted.values()):
        for one, weight in weights.items():
            rows[k, compiled.ids.index(one)] = weight
    u = [np.sqrt(np.einsum("ij,jk,ik->i", rows, one, rows)) for one in (before, after)]
    return u[0], u[1]


def _values(answer: Answer, compiled: Compiled) -> Array:
    """The settled values; what is new stands where it is believed to be."""
    believed = (
        exp(one.prior.centre) if one.scale == "log" else one.prior.centre
        for one in compiled.unknowns
    )
    return np.array(
        [
            centre if (value := answer.value(one)) is None else value
            for one, centre in zip(compiled.ids, believed, strict=True)
        ]
    )


def _covariance(answer: Answer, compiled: Compiled) -> Array:
    """What is settled, jointly, and what is new beside it."""
    posterior = answer.posterior
    covariance = np.diag([one.prior.u**2 for one in compiled.unknowns])
    pairs = [
        (k, posterior.index(one)) for k, one in enumerate(compiled.ids) if one in posterior.ids
    ]
    here, there = (np.array(side, dtype=np.intp) for side in zip(*pairs, strict=True))
    covariance[np.ix_(here, here)] = posterior.covariance[np.ix_(there, there)]
    return covariance
