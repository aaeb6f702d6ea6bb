"""A sound sheet whose lines the tests count, and a helper that breaks it in one place."""

from __future__ import annotations

SOUND = '''\
title = "Broken on purpose"

[defaults]
source = "generator"
instrument = "scope"

[instruments.scope]
kind = "oscilloscope"
like = "entry-level scope"

[instruments.meter]
kind = "multimeter"
resistance = "0.8 % + 2 digits"

[sources.generator]
resistance = "50 ohm ± 5 %"
open = "4.12 Vpp"

[parts]
L1 = { kind = "inductor", marking = "0.82", between = ["in", "w"] }
C1 = { kind = "capacitor", value = "8.2 uF ± 10 %", between = ["w", "gnd"] }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }

[sketch]
ground = "gnd"
input = "in"

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
open = "4.12 Vpp"
across = "2.06 Vpp"

[[readings]]
kind = "resistance"
part = "L1"
instrument = "meter"
value = "0.5 ohm"

[[readings]]
kind = "probe"
at = "in"
detached = ["woofer"]
table = """
frequency/kHz   in/Vpp   w/Vpp
0.10            3.51     3.49
3.0             0.95     -
"""
'''


def broken(*changes: tuple[str, str]) -> str:
    """The sound sheet with each (old, new) replaced; `old` must stand in it exactly once."""
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text
