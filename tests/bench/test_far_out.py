"""A fit may try values far out: what has no answer is NaN there, and nothing breaks."""

from __future__ import annotations

import numpy as np
from benchmarks.random_boards import bench

from ohmbook.bench.compile import compile_sheet
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet


def test_draws_far_out_are_not_a_number_and_the_others_are() -> None:
    text, _ = bench(np.random.default_rng(1))
    compiled = compile_sheet(read_sheet(text=text))
    centre = np.array(
        [np.exp(u.prior.centre) if u.scale == "log" else u.prior.centre for u in compiled.unknowns]
    )
    draws = np.tile(centre, (4, 1))
    draws[1, 0], draws[2, 0], draws[3, 1] = np.inf, 1e40, 1e-40
    found = compiled.predict(draws)
    assert np.isfinite(found[0]).all()
    assert np.isnan(found[1:]).all()


def test_a_board_on_which_the_curvature_check_runs_far_out() -> None:
    """Of the benchmark's boards, one whose ground lead is all but unknown."""
    rng = np.random.default_rng(7)
    for _ in range(3):
        text, truth = bench(rng)
        settled = settle(read_sheet(text=text))
        for name, (value, _) in truth.items():
            one = next(e for e in settled.estimates if e.name == name)
            assert one.low * 0.85 < value < one.high * 1.15
