"""Slips on a small board: a neighbouring node, a row's frequency, a whole column.

What should have been read is worked out by the voltage divider (any textbook).
"""

from __future__ import annotations

from math import pi, sqrt

from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet
from tests.counsel.test_slips import best, slip

BOARD = """
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ resistance = "50 ohm ± 0.5 %", open = "6 Vpp ± 0.3 %" }}
instruments.scope = {{ kind = "oscilloscope", amplitude = "0.5 % + 2 mV", return_lead = "0 ohm" }}
sketch = {{ input = "in", ground = "gnd" }}
[parts]
L1 = {{ kind = "inductor", resistance = "0.4 ohm ± 10 %", between = ["in", "w"] }}
C1 = {{ kind = "capacitor", resistance = "0.1 ohm ± 20 %", between = ["w", "gnd"] }}
R1 = {{ kind = "resistor", between = ["w", "gnd"] }}
[[readings]]
kind = "probe"
at = "in"
table = '''
{heads}
{rows}
'''
"""
AT_HZ = (100, 400, 900, 1500, 2500, 4000)


def board(heads: str = "frequency/Hz in/Vpp w/Vpp", **cells: str) -> Settled:
    """A small low-pass board; `r3c2="..."` writes a cell of row 3, column 2 otherwise."""
    rows = []
    for number, f_hz in enumerate(AT_HZ, 1):
        low = 1.0 / (1.0 / 8.0 + 1.0 / (0.1 + 1.0 / (2j * pi * f_hz * 12e-6)))
        z = low + 0.4 + 2j * pi * f_hz * 0.9e-3
        at = 6.0 * z / (z + 50.0)
        row = [f"{f_hz}", f"{abs(at):.3f}", f"{abs(at * low / z):.3f}"]
        rows.append(" ".join(cells.get(f"r{number}c{k}", cell) for k, cell in enumerate(row)))
    return settle(read_sheet(text=BOARD.format(heads=heads, rows="\n".join(rows))))


def test_a_neighbouring_node_is_named_with_the_cell_to_change() -> None:
    clean = board()
    assert not [one for one in clean.findings if one.kind in ("slip", "strained", "sketch doubt")]
    table = clean.sheet.readings[0].table  # type: ignore[attr-defined]
    at_input = table.rows[2].cells[1]
    found = slip(board(r3c2=at_input), "reading 1")
    assert any("neighbouring node in, not at w" in one.what for one in found.explanations)
    named = next(one for one in found.explanations if "neighbouring" in one.what)
    assert "in the row of 900 Hz" in named.change


def test_a_row_with_a_wrong_frequency_is_one_slip() -> None:
    found = slip(board(r5c0="250"), "reading 1")
    assert "250 Hz fits as 2500 Hz" in best(found)
    found = slip(board(r5c0="3170"), "reading 1")
    assert "3170 Hz fits as about 2.50 kHz" in found.explanations[0].what


def test_a_column_in_another_convention_is_one_mistake() -> None:
    clean = board()
    table = clean.sheet.readings[0].table  # type: ignore[attr-defined]
    rms = {
        f"r{k}c2": f"{float(row.cells[2]) / 2 / sqrt(2):.4f}" for k, row in enumerate(table.rows, 1)
    }
    found = slip(board(**rms), "reading 1")
    assert "Vrms" in best(found)
    assert "w/Vrms at the head of its column" in found.message


def test_readings_that_nothing_else_checks_are_told_by_name() -> None:
    """Two numbers at one frequency for two unknown parts: neither is checked by anything."""
    rows = "900 1.000 0.900"
    settled = settle(read_sheet(text=BOARD.format(heads="frequency/Hz in/Vpp w/Vpp", rows=rows)))
    message = next(one.message for one in settled.findings if "Nothing else checks" in one.message)
    assert "in at 900 Hz" in message
    assert "w at 900 Hz" in message
