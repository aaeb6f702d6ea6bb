"""Ohms read where the sketch as drawn has no way for them: a doubt about the sketch, no error."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.simulate import Bench, Board, TruePart, check, grid, sheet, take

from ohmbook.errors import OhmbookError
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet


def _drawn(without: str) -> str:
    """A board with a resistor beside its capacitor, read well, drawn without the resistor."""
    board = Board(
        {
            "L1": TruePart("inductor", ("in", "w"), 1e-3, 0.4),
            "C1": TruePart("capacitor", ("w", "gnd"), 10e-6, 0.05, said={"dielectric": "film"}),
            "R1": TruePart("resistor", ("w", "gnd"), 8.2),
        },
        ("in", "w"),
    )
    bench = Bench(np.random.default_rng(4))
    ohms = {"kind": "resistance", "between": ["w", "gnd"], "instrument": "meter"}
    taken = [check(board, bench), grid(board, bench, (100, 300, 1000, 3000, 10000))]
    text = sheet(board, bench, [*taken, take(board, bench, ohms)])
    return "\n".join(line for line in text.splitlines() if not line.startswith(without))


def test_ohms_without_a_way_are_a_doubt_about_the_sketch() -> None:
    settled = settle(read_sheet(text=_drawn("R1")))
    first = settled.findings[0]
    assert first.kind == "sketch doubt"
    assert "no direct current flows" in first.message
    assert "reading 3" in first.readings
    assert "resistor" in first.explanations[0].what
    assert settled.sheet.readings[2].struck is not None
    assert settled.estimates


def test_where_nothing_else_was_read_it_stays_an_error() -> None:
    text = """
    instruments.meter = { kind = "multimeter", resistance = "0.8 % + 2 digits" }
    sketch = { input = "in", ground = "gnd" }
    parts.C1 = { kind = "capacitor", between = ["in", "gnd"] }
    [[readings]]
    kind = "resistance"
    between = ["in", "gnd"]
    instrument = "meter"
    value = "8.2 ohm"
    """
    with pytest.raises(OhmbookError, match="no direct current"):
        settle(read_sheet(text=text))
