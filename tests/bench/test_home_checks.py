"""Checks at home that improve an instrument, and the starting points behind `like`."""

from __future__ import annotations

import pytest

from ohmbook.bench.likes import LIKES
from ohmbook.circuit.network import Id
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

METER = """
instruments.lcr = { kind = "tester", impedance = "2 %", resistance = "2 % + 2 digits" }
[parts]
L1 = { kind = "inductor", resistance = "0.40 ohm ± 2 %" }
R1 = { kind = "resistor", value = "10.00 ohm ± 0.1 %" }
"""
COIL = """
[[readings]]
kind = "impedance"
part = "L1"
frequency = "3 kHz"
magnitude = "18.85 ohm"
"""
KNOWN = """
[[readings]]
kind = "impedance"
part = "R1"
frequency = "3 kHz"
magnitude = "10.10 ohm"
"""


def u_of(found: Settled, one: Id) -> float:
    return float(found.posterior.u(one))


def test_a_known_resistor_improves_the_meter_and_every_part_read_with_it() -> None:
    before, after = (settle(read_sheet(text=METER + text)) for text in (COIL, KNOWN + COIL))
    gain = ("lcr", "impedance gain")
    assert u_of(before, gain) == pytest.approx(0.02 / 3**0.5, rel=0.05)
    assert u_of(after, gain) < 0.1 * u_of(before, gain)
    assert after.posterior.value(gain) == pytest.approx(0.01, abs=2e-4)
    coils = [one.estimate("L1", "inductance") for one in (before, after)]
    assert coils[1].high - coils[1].low < 0.5 * (coils[0].high - coils[0].low)
    assert coils[1].value < coils[0].value


def test_clips_read_shorted_improve_a_small_resistance() -> None:
    read = """
instruments.lcr = { kind = "tester", resistance = "0.3 % + 1 digits" }
parts.R1 = { kind = "resistor" }
[[readings]]
kind = "meter"
part = "R1"
resistance = "0.290 ohm"
"""
    shorted = '\n[[readings]]\nkind = "clips shorted"\nresistance = "0.090 ohm"\n'
    found = settle(read_sheet(text=read + shorted)).estimate("R1", "resistance")
    assert found.value == pytest.approx(0.2, rel=0.01)
    assert settle(read_sheet(text=read)).estimate("R1", "resistance").low > 0.28


def test_clips_not_read_are_told() -> None:
    told = [one.message for one in settle(read_sheet(text=METER + COIL)).findings]
    assert any("its clips were not read" in one for one in told)


@pytest.mark.parametrize("name", sorted(LIKES))
def test_every_starting_point_is_read_and_told(name: str) -> None:
    if "output" in name or name == "generator":
        text = f'sources.generator = {{ like = "{name}" }}\n'
        kind, tool = "oscilloscope", "entry-level scope"
    else:
        text = 'sources.generator = { like = "generator" }\n'
        kind = "oscilloscope" if "scope" in name or name == "sound card" else "tester"
        tool = name
    kind = "multimeter" if "multimeter" in tool else kind
    text += f'instruments.tool = {{ kind = "{kind}", like = "{tool}" }}\n'
    text += 'parts.R1 = { kind = "resistor" }\n[[readings]]\n'
    if kind == "oscilloscope":
        text += 'kind = "amplitude ratio"\npart = "R1"\nfrequency = "1 kHz"\n'
        text += 'open = "1.00 V"\nacross = "0.50 V"\n'
    else:
        text += 'kind = "resistance"\npart = "R1"\nvalue = "10.0 ohm"\nleads = "0.2 ohm"\n'
    found = settle(read_sheet(text=text))
    assert found.estimate("R1", "resistance").determined
    assert any(f"like a usual {name}" in one.message for one in found.findings)
