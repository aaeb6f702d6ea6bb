"""The study of slips in small: found and named on boards drawn by seed, and no false alarm."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.slips import KINDS, as_it_was, drawn, evening, outcome

import ohmbook


@pytest.mark.parametrize(
    ("seed", "kind"),
    [
        (1003, "decimal point"),
        (1004, "another node"),
        (1005, "frequency, swapped"),
        (1006, "open for a 50 ohm load"),
        (1007, "open read with the load on"),
        (1008, "source, digits swapped"),
    ],
)
def test_a_slip_on_a_two_way_board_is_found_and_named(seed: int, kind: str) -> None:
    assert kind in KINDS
    one = evening(seed)
    clean = ohmbook.settle(ohmbook.read_sheet(text=as_it_was(one, kind)))
    assert not [f for f in clean.findings if f.kind in ("slip", "strained", "sketch doubt")]
    case = drawn(one, clean, kind, np.random.default_rng(seed))
    assert case is not None
    told, _ = outcome(case)
    assert told.found
    assert told.named
    assert not told.innocent
