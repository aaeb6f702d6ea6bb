"""Set-ups: what was connected, what cannot be, and what to mind before."""

from __future__ import annotations

import pytest

from ohmbook.bench.compile import compile_sheet
from ohmbook.documents.reading import Sheet
from ohmbook.documents.setup import SetUp
from ohmbook.errors import OhmbookError, SheetError
from ohmbook.sheet.read import read_sheet
from tests.bench.texts import BOARD, sheet_of

PROBE = """
[[readings]]
kind = "probe"
at = {at}
{more}
frequency = "1 kHz"
amplitudes = {{ w = "0.3 Vpp" }}
"""


def probe(at: str = '"in"', more: str = 'detached = ["woofer"]', text: str = BOARD) -> Sheet:
    return sheet_of(text, readings=PROBE.format(at=at, more=more))


def set_up(sheet: Sheet) -> SetUp:
    return compile_sheet(sheet).set_ups[-1][1]


def test_earthed_grounds_on_two_nodes_short_the_board() -> None:
    with pytest.raises(SheetError, match="both are earthed: that shorts the board") as told:
        probe('["w", "in"]')
    assert told.value.line is not None


def test_a_source_that_is_not_earthed_may_sit_across_a_part() -> None:
    text = BOARD.replace('open = "6 Vpp', 'earthed = false, open = "6 Vpp')
    found = set_up(probe('["in", "w"]', text=text))
    assert found.network.drive.ends == ("in", "w")
    assert found.network.probes == (("w", "gnd"),)


def test_the_scopes_ground_may_be_said_to_be_with_the_sources() -> None:
    text = BOARD.replace('return_lead = "0 ohm"', 'return_lead = "0.03 ohm"')
    sheet = probe('["in", "w"]', 'detached = ["woofer"]\nscope_ground = "w"', text)
    found = set_up(sheet)
    lead = next(one for one in found.network.branches if "ground lead" in one.owner)
    assert lead.ends[0] == "w"
    assert found.network.drive.ends[1] == lead.ends[1] == found.network.probes[0][1]


def test_a_detached_driver_brings_the_power_amplifier_caution_before_the_wiring() -> None:
    found = set_up(probe())
    assert any("Never drive a board with its drivers detached" in one for one in found.cautions)
    assert "Discharge capacitors" in found.cautions[0]
    assert found.notes == ("woofer detached",)


def test_a_load_instead_of_a_driver_shows_its_watts() -> None:
    """Available power of 6 Vpp behind 50 ohm: (6 / (2 sqrt 2))^2 / (4 x 50) = 22.5 mW."""
    found = set_up(probe(more='instead = { woofer = "10 ohm ± 1 %" }'))
    assert any("22.5 mW" in one for one in found.notes)
    assert any(one.owner.endswith("instead of woofer") for one in found.network.branches)


def test_shorted_added_and_lifted_parts() -> None:
    text = BOARD.replace("R1 = {{", 'R7 = {{ kind = "resistor", value = "10 ohm ± 1 %" }}\nR1 = {{')
    more = (
        'detached = ["woofer"]\nshorted = ["L1"]\nlifted = ["C1.1"]\nadded = { R7 = ["w", "gnd"] }'
    )
    kinds = {one.owner: one.element for one in set_up(probe(more=more, text=text)).network.branches}
    assert kinds == {"L1": "short", "R1": "resistor", "R7": "resistor"}


def test_ohms_between_nodes_without_a_direct_path_are_told() -> None:
    text = """
instruments.meter = { kind = "multimeter", resistance = "1 %" }
sketch = { input = "in" }
[parts]
C1 = { kind = "capacitor", between = ["in", "w"] }
R1 = { kind = "resistor", between = ["w", "gnd"] }
[[readings]]
kind = "resistance"
name = "over the capacitor"
between = ["in", "gnd"]
value = "7 ohm"
wires = 4
"""
    with pytest.raises(OhmbookError, match=r"over the capacitor.*no direct current.*missing there"):
        compile_sheet(read_sheet(text=text))


def test_the_return_lead_has_its_default_for_probe_readings_only() -> None:
    text = BOARD.replace(', return_lead = "0 ohm"', "")
    owners = [one.owner for one in set_up(probe(text=text)).network.branches]
    assert any("ground lead" in one for one in owners)
    alone = read_sheet(
        text="""
sources.generator = { resistance = "50 ohm" }
instruments.scope = { kind = "oscilloscope", amplitude = "1 %" }
parts.L1 = { kind = "inductor" }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp"
across = "2 Vpp"
"""
    )
    assert not any("ground lead" in one.owner for one in set_up(alone).network.branches)
