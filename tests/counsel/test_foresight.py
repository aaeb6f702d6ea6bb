"""Looking ahead by rank-one steps: the same as inverting afresh, by plain linear algebra."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks import simulate

from ohmbook.bench.kind import Tunable
from ohmbook.bench.kinds import KINDS
from ohmbook.counsel import offers
from ohmbook.counsel.aims import Aim, Target
from ohmbook.counsel.foresight import Foresight
from ohmbook.counsel.offers import Outlook, Points, Survey, Surveyor
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet

IDS = (("L1", "inductance"), ("L1", "loss"), ("C1", "capacitance"), ("scope", "gain"))
AIM = Aim(tuple(Target(*one, one=one) for one in (IDS[0], IDS[2])))
ROWS = 7


def outlooks(count: int) -> list[Outlook]:
    rng = np.random.default_rng(3)
    return [
        Outlook(
            IDS,
            np.ones(4),
            np.diag([0.3, 2500.0, 0.3, 4.0]),
            rng.standard_normal((ROWS, 4)),
            rng.uniform(0.01, 0.1, ROWS),
            np.ones(ROWS),
        )
        for _ in range(count)
    ]


def directly(outlook: Outlook, rows: list[int]) -> list[float]:
    """Each target's least variance over the frequency it may be told at, by inversion."""
    slope = outlook.slope[rows]
    covariance = np.linalg.inv(
        outlook.precision + slope.T @ np.diag(1 / outlook.variance[rows]) @ slope
    )
    lags = np.linspace(-20.0, 20.0, 400_001)
    (a, b), (_, c) = covariance[0, :2], covariance[1, :2]
    return [float((a - 2 * lags * b + lags**2 * c).min()), float(covariance[2, 2])]


def test_a_row_alone_and_rows_together_and_one_taken_back() -> None:
    seen = outlooks(3)
    look = Foresight(seen, AIM)
    look.move(2)
    look.move(5)
    for g, one in enumerate(seen):
        assert look.variances()[g] == pytest.approx(directly(one, [2, 5]), rel=1e-6)
        each = look.after_each(np.arange(ROWS))
        pairs = look.after_several(np.array([[0, 1], [3, 6]]))
        for row in (0, 4):
            assert each[g, :, row] == pytest.approx(directly(one, [2, 5, row]), rel=1e-6)
        assert pairs[g, :, 1] == pytest.approx(directly(one, [2, 5, 3, 6]), rel=1e-6)
    look.move(2, away=True)
    for g, one in enumerate(seen):
        assert look.variances()[g] == pytest.approx(directly(one, [5]), rel=1e-6)
        assert look.covariance[g] == pytest.approx(Foresight(seen, AIM, [5]).covariance[g])


def test_guesses_with_other_unknowns_stand_side_by_side() -> None:
    one, other = outlooks(2)
    fewer = Outlook(
        IDS[:3],
        other.values[:3],
        other.precision[:3, :3],
        other.slope[:, :3],
        other.variance,
        other.shown,
    )
    both, alone = Foresight([one, fewer], AIM, [1]), Foresight([fewer], AIM, [1])
    assert both.variances()[1] == pytest.approx(alone.variances()[0])


def survey(monkeypatch: pytest.MonkeyPatch, alone: int) -> Survey:
    """A board's offers seen by eight guesses: each compiled by itself up to so many rows."""
    monkeypatch.setattr(offers, "EACH_ALONE", alone)
    monkeypatch.setattr(offers, "MOST", 8)
    rng = np.random.default_rng(8)
    sheet = simulate.sheet(simulate.two_way(rng, real=True), simulate.Bench(rng, real=True))

    def grid(number: int, offer: Tunable) -> Points:
        if offer.connection.last_resort or offer.connection.effort > 0.2:
            return ()
        return [(np.geomspace(30.0, 20000.0, 40).round(1).tolist(), offer.places)]

    return Surveyor(settle(read_sheet(text=sheet)).answer, KINDS).survey(grid)


def test_one_guess_compiled_stands_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """How far each row is to be trusted is what compiling that guess by itself gives, for nearly
    all rows (a row at the edge of a range may take its neighbour's), and so are the slopes by the
    parts."""
    exact, quick = survey(monkeypatch, 10_000), survey(monkeypatch, 0)
    assert len(exact.outlooks) == 8
    same = []
    for one, other in zip(exact.outlooks, quick.outlooks, strict=True):
        places = [k for k, held in enumerate(one.ids) if held[0] not in ("scope", "meter")]
        ids = [one.ids[k] for k in places]
        there = [other.ids.index(held) for held in ids]
        largest = np.abs(one.slope[:, places]).max(axis=1, keepdims=True)
        off = np.abs(one.slope[:, places] - other.slope[:, there]) / largest
        assert off.max() < 0.02  # a range's gain is taken as exact
        plain = np.array([k for k, shown in enumerate(one.shown) if shown > 0.02])
        same.append(np.isclose(one.variance[plain], other.variance[plain], rtol=1e-6))
    assert np.concatenate(same).mean() > 0.95
