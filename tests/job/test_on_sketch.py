"""What stands beside the parts of a sketch."""

from __future__ import annotations

import ohmbook
from ohmbook.job.demo import demo_text
from ohmbook.job.on_sketch import on_sketch

TWO_ANSWERS = """
[instruments.tester]
kind = "tester"
inductance = "1 %"
[parts]
L1 = { kind = "inductor" }
R1 = { kind = "resistor", value = "10 ohm" }
C1 = { kind = "capacitor" }
[[readings]]
kind = "meter"
part = "L1"
inductance = "1.00 mH"
frequency = "1 kHz"
[[readings]]
kind = "meter"
part = "L1"
inductance = "2.00 mH"
frequency = "1 kHz"
"""


def test_values_stand_beside_their_parts_and_say_how_they_are_known() -> None:
    told = on_sketch(ohmbook.settle(ohmbook.read_sheet(text=demo_text())))
    assert told["values"]["L1"]["state"] == "settled"
    assert told["values"]["L1"]["value"].endswith(" mH")
    assert told["values"]["L1"]["well"].startswith("±")
    assert told["values"]["woofer"] == {"value": "8 Ω", "well": "", "state": "stated"}
    assert told["findings"] == []


def test_what_contradicts_and_what_is_open_is_told_apart() -> None:
    told = on_sketch(ohmbook.settle(ohmbook.read_sheet(text=TWO_ANSWERS)))
    states = {name: one["state"] for name, one in told["values"].items()}
    assert states["R1"] == "stated"
    assert states["C1"] == "unread", "a belief is no value"
    assert states["L1"] == "doubtful"
    assert any("L1" in one["parts"] for one in told["findings"])
