"""Sheets for the bench's tests, and short ways to settle them."""

from __future__ import annotations

from ohmbook.documents.reading import Sheet
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

IDEAL_COIL = 'parts.L1 = {{ kind = "inductor", resistance = "0 ohm" }}'

RATIO = """
sources.generator = {{ resistance = "{source}" }}
parts.L1 = {{ kind = "{kind}", resistance = "{ohm}" }}
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "{f}"
{rest}
"""

BOARD = """
title = "a small board"
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ resistance = "50 ohm ± 2 %", open = "6 Vpp ± 0.5 %" }}
instruments.scope = {{ kind = "oscilloscope", amplitude = "0.5 % + 2 mV", return_lead = "0 ohm" }}
instruments.meter = {{ kind = "multimeter", like = "cheap multimeter" }}
sketch = {{ input = "in", ground = "gnd" }}

[parts]
L1 = {{ kind = "inductor", resistance = "0.4 ohm ± 20 %", between = ["in", "w"] }}
C1 = {{ kind = "capacitor", resistance = "0.1 ohm ± 50 %", between = ["w", "gnd"] }}
R1 = {{ kind = "resistor", between = ["w", "gnd"] }}
woofer = {{ kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }}
{readings}
"""


def sheet_of(text: str, **values: str) -> Sheet:
    """A sheet from a template."""
    return read_sheet(text=text.format(**values))


def settled(text: str, **values: str) -> Settled:
    """A template's sheet, settled."""
    return settle(sheet_of(text, **values))


def coil(f: str, rest: str, source: str = "50 ohm", ohm: str = "0 ohm") -> Settled:
    """One coil alone across a source, settled."""
    return settled(RATIO, kind="inductor", f=f, rest=rest, source=source, ohm=ohm)
