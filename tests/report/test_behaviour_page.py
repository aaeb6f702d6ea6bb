"""The printed behaviour, on a circuit whose answer is known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.crossover.behaviour import Behaviour, behave, grid
from ohmbook.report.behaviour import behaviour_page, curves_table

from .made_up import printed

VALUES = {
    ("L1", "inductance"): 8.0 / (2 * np.pi * 1000.0),
    ("C1", "capacitance"): 1.0 / (2 * np.pi * 1000.0 * 8.0),
    ("woofer", "resistance"): 8.0,
    ("tweeter", "resistance"): 8.0,
}
FIRST_ORDER = Network(
    (
        Branch("L1", "inductor", ("in", "w")),
        Branch("C1", "capacitor", ("in", "t")),
        Branch("woofer", "resistor", ("w", "gnd")),
        Branch("tweeter", "resistor", ("t", "gnd")),
    ),
    Drive(("in", "gnd")),
    (("w", "gnd"), ("t", "gnd")),
)


@pytest.fixture(scope="module")
def behaviour() -> Behaviour:
    """A first-order pair at 1 kHz into 8 ohm: it is 8 ohm at every frequency (Zobel's identity),
    and crosses at 1 kHz and -3.01 dB; L is drawn 2 % either way."""
    spread = 1.0 + 0.02 * np.linspace(-1.0, 1.0, 41)
    draws = VALUES | {("L1", "inductance"): VALUES["L1", "inductance"] * spread}
    return behave(FIRST_ORDER, ("woofer", "tweeter"), VALUES, draws, grid(20.0, 20e3, 301))


def test_the_crossing_is_told_with_its_interval(behaviour: Behaviour) -> None:
    shown = printed(behaviour_page(behaviour))
    assert "woofer and tweeter cross at 1.0" in shown
    assert "both at -3.01 dB" in shown


def test_each_output_has_its_corner_and_slope(behaviour: Behaviour) -> None:
    shown = printed(behaviour_page(behaviour))
    assert "3 dB down at 1.0004 kHz (0.98" in shown
    assert "falls 6 dB per octave" in shown
    assert "3 dB down at 998 Hz and below" in shown
    assert "lowest 8.000 Ω (7.9" in shown


def test_the_table_has_every_mark_on_the_grid(behaviour: Behaviour) -> None:
    rows = printed(curves_table(behaviour)).splitlines()
    assert [row.split()[0] + row.split()[1] for row in rows[1:4]] == ["20Hz", "50Hz", "100Hz"]
    assert rows[-1].split()[:2] == ["20", "kHz"]
    assert "±" in rows[5]


def test_a_narrow_screen_has_the_same_numbers(behaviour: Behaviour) -> None:
    narrow = " ".join(printed(curves_table(behaviour), 36).split())
    assert "20 Hz: woofer" in narrow
    assert narrow.count("input 8.00") + narrow.count("input 7.") >= 5


def test_without_draws_there_is_no_band() -> None:
    plain = behave(FIRST_ORDER, ("woofer", "tweeter"), VALUES, None, grid(100.0, 10e3, 101))
    shown = printed(behaviour_page(plain))
    assert "±" not in shown
    assert "woofer and tweeter cross at 1.00 kHz, both at -3.01 dB" in shown
