"""Small boards for the notebook's tests; invented."""

from __future__ import annotations

from typing import Any

COIL = """\
title = "One coil on the bench"

[sources.generator]
resistance = "50 ohm ± 5 %"
open = "4.12 Vpp"

[parts]
L1 = { kind = "inductor", marking = "0.82" }
C1 = { kind = "capacitor" }

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
across = "2.06 Vpp"
date = 2026-11-25
note = '''He said "half",
and it was.'''

[[readings]]
kind = "resistance"
name = "ohms"
part = "L1"
value = "0.5 ohm"
leads = "0.2 ohm"
"""

WAITING = (
    COIL
    + """
[[readings]]
kind = "amplitude ratio"
part = "C1"
frequency = "600 Hz"
across = "?"
"""
)


def ohms(value: str = "0.6 ohm", **more: Any) -> dict[str, Any]:
    """A further reading with an ohmmeter."""
    return {"kind": "resistance", "part": "L1", "value": value, **more}
