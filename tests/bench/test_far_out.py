"""A fit may try values far out: what has no answer is NaN there, and nothing breaks."""

from __future__ import annotations

import numpy as np
from benchmarks.simulate import Bench, check, grid, sheet, two_way

from ohmbook.bench.compile import compile_sheet
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet


def test_draws_far_out_are_not_a_number_and_the_others_are() -> None:
    rng = np.random.default_rng(1)
    board, bench = two_way(rng), Bench(rng)
    text = sheet(board, bench, [check(board, bench), grid(board, bench)])
    compiled = compile_sheet(read_sheet(text=text))
    centre = np.array(
        [np.exp(u.prior.centre) if u.scale == "log" else u.prior.centre for u in compiled.unknowns]
    )
    draws = np.tile(centre, (4, 1))
    draws[1, 0], draws[2, 0], draws[3, 1] = np.inf, 1e40, 1e-40
    found = compiled.predict(draws)
    assert np.isfinite(found[0]).all()
    assert np.isnan(found[1:]).all()


CURVED = """
defaults = { source = "generator", instrument = "scope" }
sources.generator = { like = "generator", open = "6.0 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope", noise = "0 mV" }
sketch = { input = "in" }
[parts]
L1 = { kind = "inductor", between = ["in", "w"] }
C1 = { kind = "capacitor", between = ["w", "gnd"] }
[[readings]]
kind = "probe"
at = "in"
table = '''
frequency/kHz  in/Vpp  w/Vpp
0.2  3.46  3.52
1.5  0.05  0.45
20   5.0   0.02
'''
"""


def test_a_walked_interval_is_where_its_value_is_told() -> None:
    """A coil told at 8 kHz, its interval walked."""
    settled = settle(read_sheet(text=CURVED))
    coil = settled.estimate("L1", "inductance")
    assert coil.frequency_hz is not None
    assert coil.frequency_hz > 3000.0
    assert settled.posterior.converged
    assert any("followed outwards" in one.message and "L1" in one.parts for one in settled.findings)
    for one in settled.estimates:
        assert one.low <= one.value <= one.high


def test_an_amplitude_of_zero_is_a_reading_like_others() -> None:
    """The absolute value has a corner at zero, where no fit comes to rest: the values stand."""
    settled = settle(read_sheet(text=CURVED.replace("0.02\n", "0\n")))
    for one in settled.estimates:
        assert one.low <= one.value <= one.high
