"""Set-ups and parts that cannot be are refused with their line, before anything is worked out.

The rules are the project's own; no outside source.
"""

from __future__ import annotations

import pytest

from ohmbook.errors import SheetError
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet

BOARD = """
sources.generator = { resistance = "50 ohm", open = "4 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
instruments.meter = { kind = "multimeter", like = "cheap multimeter" }
sketch = { input = "in" }
[parts]
L1 = { kind = "inductor", between = ["in", "w"] }
C1 = { kind = "capacitor", between = ["w", "gnd"] }
R1 = { kind = "resistor", between = ["w", "gnd"] }
R7 = { kind = "resistor", value = "10 ohm ± 1 %" }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }
[[readings]]
"""
FIRST_LINE = BOARD.count("\n") + 1

RATIO = 'kind = "amplitude ratio"\npart = "L1"\nfrequency = "5 kHz"\nacross = "2 Vpp"\n'
LOADING = 'kind = "source loading"\nload = "47 ohm"\nopen = "4 Vpp"\n'
OHMS = 'kind = "resistance"\nbetween = ["in", "gnd"]\nvalue = "1 ohm"\n'
PROBED = 'kind = "probe"\nat = "in"\nfrequency = "1 kHz"\n'
ALONE = 'kind = "resistance"\npart = "L1"\nvalue = "1 ohm"\n'


@pytest.mark.parametrize(
    ("reading", "key", "words"),
    [
        (RATIO, 'resistor = "L1"', "not a resistor besides L1"),
        (RATIO, 'resistor = "C1"', "not a resistor besides L1"),
        (RATIO, 'resistor = "woofer"', "not a resistor besides L1"),
        (RATIO, 'resistor = "0 ohm"', "leave the key out"),
        (LOADING, 'loaded = "0 Vpp"', "shorts the source"),
        (PROBED, 'amplitudes = { w = "-3 V" }', "an amplitude cannot be negative"),
        (OHMS, 'instead = { woofer = "C1" }', '"C1" is not a resistor'),
        (OHMS, 'added = { R7 = ["w", "w"] }', "expected two nodes"),
        (OHMS, 'added = { R1 = ["in", "w"] }', "on the board already"),
        (OHMS, 'shorted = ["R1"]\ninstead = { R1 = "5 ohm" }', "one of these for a part"),
        (ALONE, 'detached = ["woofer"]', "L1 is read alone"),
    ],
)
def test_a_set_up_that_cannot_be(reading: str, key: str, words: str) -> None:
    with pytest.raises(SheetError, match=words) as told:
        read_sheet(text=BOARD + reading + key)
    assert told.value.line is not None
    assert told.value.line >= FIRST_LINE


@pytest.mark.parametrize(
    ("reading", "key"),
    [
        (RATIO, 'resistor = "R7"\nprobe_on = "resistor"'),
        (OHMS, 'instead = { woofer = "R7" }'),
        (OHMS, 'added = { R7 = ["in", "gnd"] }'),
        (OHMS, 'detached = ["R1"]\nadded = { R1 = ["in", "gnd"] }'),
        (OHMS, 'detached = ["woofer"]\nshorted = ["L1"]\nlifted = ["R1.2"]'),
        (OHMS, 'detached = ["woofer"]\ninstead = { woofer = "10 ohm" }'),
        (OHMS, 'detached = ["woofer"]\nshorted = ["woofer"]'),
        (ALONE, 'lifted = ["L1.1"]'),
    ],
)
def test_a_set_up_that_can_be(reading: str, key: str) -> None:
    assert len(read_sheet(text=BOARD + reading + key).readings) == 1


@pytest.mark.parametrize(
    "part",
    [
        'kind = "driver", rated = "0 ohm"',
        'kind = "inductor", made_of = ["0 mH", "0 mH"]',
        'kind = "capacitor", made_of = ["47 uF", "0 uF"]',
        'kind = "resistor", made_of = ["0 ohm"]',
    ],
)
def test_a_part_of_nothing(part: str) -> None:
    with pytest.raises(SheetError, match="expected more than 0") as told:
        read_sheet(text=f"[parts]\nX = {{ {part} }}\n")
    assert told.value.line == 2


OFF = """
sources.g = { like = "generator" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
parts.L1 = { kind = "inductor" }
[[readings]]
kind = "generator off"
value = "4 mVpp"
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5 kHz"
open = "4 Vpp"
across = "2 Vpp"
"""


def test_ordinary_noise_is_no_slip() -> None:
    settled = settle(read_sheet(text=OFF))
    assert not [one for one in settled.findings if one.kind in ("strained", "slip")]


@pytest.mark.parametrize(
    ("was", "now", "line", "words"),
    [
        ("5 kHz", "5 kHz ± 6 kHz", 8, "could be nothing at all"),
        ('{ like = "generator" }', '{ resistance = "0 ohm ± 1 ohm" }', 8, "resistor in series"),
        ('"inductor"', '"inductor", resistance = "0 ohm ± 1 ohm"', 4, "spread about zero"),
        ("4 Vpp", "0 Vpp", 12, "expected more than 0"),
    ],
)
def test_what_settling_finds_wrong_has_its_line(was: str, now: str, line: int, words: str) -> None:
    with pytest.raises(SheetError, match=words) as told:
        settle(read_sheet(text=OFF.replace(was, now)))
    assert told.value.line == line


def test_a_source_that_reads_like_a_part_is_refused() -> None:
    text = OFF.replace('{ like = "generator" }', '{ resistance = "R1" }') + (
        '[parts.R1]\nkind = "resistor"\n'
    )
    with pytest.raises(SheetError, match="name of a part as well"):
        read_sheet(text=text)


def test_a_table_of_nothing_is_refused() -> None:
    table = 'kind = "probe"\nat = "in"\ntable = "frequency/kHz in/Vpp\\n1.0 -"\n'
    with pytest.raises(SheetError, match="nothing was read"):
        read_sheet(text=BOARD + table)
