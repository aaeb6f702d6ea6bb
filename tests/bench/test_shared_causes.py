"""Errors that readings share are causes with an identity: they cancel and correlate."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pytest

from tests.bench.texts import BOARD, settled

TWO_COILS = """
sources.generator = {{ resistance = "50 ohm ± 5 %" }}
parts.L1 = {{ kind = "inductor", resistance = "0 ohm" }}
parts.L2 = {{ kind = "inductor", resistance = "0 ohm" }}
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp ± 0.5 %"
across = "2 Vpp ± 0.5 %"
[[readings]]
kind = "amplitude ratio"
part = "L2"
frequency = "9 kHz"
open = "4 Vpp ± 0.5 %"
across = "2 Vpp ± 0.5 %"
"""


def test_a_ratio_of_two_coils_is_known_better_than_either() -> None:
    """By hand: ln L = ln R + ln(q / sqrt(1 - q^2)) - ln(2 pi f), so R cancels in the ratio; the
    slope by ln q is 1 / (1 - q^2) = 4/3 at q = 1/2."""
    found = settled(TWO_COILS).posterior
    # limits on a log scale: half-width (ln(x + a) - ln(x - a)) / 2, over sqrt 3
    u_source = (log(1.05) - log(0.95)) / 2 / sqrt(3)
    u_ratio = 0.005 / sqrt(3) * sqrt(2)
    alone = sqrt(u_source**2 + (4 / 3 * u_ratio) ** 2)
    together = 4 / 3 * u_ratio * sqrt(2)
    assert found.u(("L1", "inductance")) == pytest.approx(alone, rel=2e-3)
    assert found.u(("L2", "inductance")) == pytest.approx(alone, rel=2e-3)
    ratio = found.combination({("L1", "inductance"): 1.0, ("L2", "inductance"): -1.0})
    assert ratio.u == pytest.approx(together, rel=2e-3)
    assert ratio.u < 0.5 * alone


def test_the_scopes_gain_cancels_in_a_ratio_on_one_range() -> None:
    text = """
sources.generator = {{ resistance = "50 ohm" }}
instruments.scope = {{ kind = "oscilloscope", {causes}, noise = "0 V", reads = "cursors" }}
parts.L1 = {{ kind = "inductor", resistance = "0 ohm" }}
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp @ 1 V/div"
across = "2 Vpp @ {range} V/div"
"""
    same = settled(text, causes='shared_gain = "3 %", range_gain = "1 %"', range="1").posterior
    assert same.u(("L1", "inductance")) < 1e-3
    other = settled(text, causes='shared_gain = "3 %", range_gain = "1 %"', range="0.5").posterior
    # two ranges, 1 % limits each, slope 4/3
    expected = 4 / 3 * 0.01 / sqrt(3) * sqrt(2)
    assert other.u(("L1", "inductance")) == pytest.approx(expected, rel=5e-3)


REPEATS = """
[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
frequency = "1 kHz"
amplitudes = {{ w = "0.300 Vpp @ 0.05 V/div" }}
"""


@pytest.mark.parametrize(
    ("values", "gain"), [(("0.300",) * 4, 1.0), (("0.290", "0.300", "0.310", "0.304"), 2.0)]
)
def test_repeats_on_a_grid_average_only_where_they_scatter(
    values: tuple[str, ...], gain: float
) -> None:
    """Four equal readings on a fixed grid are one; four that scatter over steps are four."""
    text = BOARD.replace('amplitude = "0.5 % + 2 mV"', 'step = "0.04 div", reads = "cursors"')
    readings = "".join(
        REPEATS.replace("{{", "{").replace("}}", "}").replace("0.300", value) for value in values
    )
    compiled = settled(text, readings=readings).answer.compiled
    rows = [k for k, row in enumerate(compiled.rows) if "w at" in row.label]
    weight = np.linalg.inv(compiled.covariance[np.ix_(rows, rows)]).sum()
    single = 12.0 / (0.04 * 0.05) ** 2
    assert sqrt(weight / single) == pytest.approx(gain, rel=0.01)
