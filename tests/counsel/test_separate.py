"""The reading that tells two answers apart, held against every candidate compiled by itself."""

from __future__ import annotations

from math import exp, hypot, sqrt

import numpy as np
import pytest

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Tunable
from ohmbook.bench.kinds import KINDS
from ohmbook.counsel.separate import EASY_HZ, OTHER_HZ, Possible, telling
from ohmbook.job import settle
from ohmbook.job.demo import demo_sheet


@pytest.fixture(scope="module")
def answer() -> Answer:
    """The demo's joint answer."""
    return settle(demo_sheet()).answer


def _possible(answer: Answer, off: float) -> Possible:
    posterior = answer.posterior
    place = posterior.index(("R2", "resistance"))
    t = posterior.mode + off * posterior.covariance[:, place] / posterior.covariance[place, place]
    scales = [one.scale for one in posterior.unknowns]
    x = [exp(ti) if scale == "log" else float(ti) for ti, scale in zip(t, scales, strict=True)]
    return Possible(answer.compiled.sheet, dict(zip(posterior.ids, x, strict=True)))


def _last(compiled: Compiled, possible: Possible) -> tuple[float, float]:
    x = [
        possible.values.get(
            one.id, exp(one.prior.centre) if one.scale == "log" else one.prior.centre
        )
        for one in compiled.unknowns
    ]
    return float(compiled.predict(np.array([x]))[0, -1]), sqrt(compiled.covariance[-1, -1])


def test_no_candidate_alone_tells_more_than_the_one_that_is_named(answer: Answer) -> None:
    two = _possible(answer, -0.4), _possible(answer, 0.4)
    found = telling(answer, *two)
    assert found is not None
    sheet = answer.compiled.sheet
    every = [
        one
        for kind in KINDS
        for one in kind.candidates(Desk(sheet, answer.compiled.beliefs), answer)
    ]
    free = [one for one in every if isinstance(one, Tunable) and not one.connection.last_resort]
    easiest = min(one.connection.effort for one in free)
    singles = [one for one in every if isinstance(one, Candidate)]
    for tunable in free:
        tried = EASY_HZ if tunable.connection.effort == easiest else OTHER_HZ
        singles += [tunable.one(place, f_hz) for f_hz in tried for place in tunable.places]
    best = 0.0
    for one in singles:
        named = {ref.name for ref in one.reading.references() if ref.noun == "reading"}
        before = [reading for reading in sheet.readings if reading.name in named]
        compiled = compile_sheet(sheet, [*before, one.reading])
        (a, u), (b, _) = (_last(compiled, it) for it in two)
        distance = abs(a - b) / hypot(u, 0.02 * max(abs(a), abs(b))) / sqrt(one.cost)
        if one.words == found.candidate.words:
            assert found.distance == pytest.approx(distance, rel=1e-6)
        best = max(best, distance)
    assert found.distance == pytest.approx(best, rel=1e-6)


def test_answers_that_read_the_same_are_told_by_nothing(answer: Answer) -> None:
    same = _possible(answer, 0.0)
    assert telling(answer, same, same) is None
