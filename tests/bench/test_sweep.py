"""`sweep`: from a capture file to a reading in a sheet, and a part recovered with its causes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import ClassVar

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.errors import SheetError
from ohmbook.job import Settled, settle
from ohmbook.job.capturing import Clipped, looked
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.write import write_sheet
from tests.bench.method_contract import MethodContract
from tests.captures.waves import L_H, Floats, share, wav

F = np.array([200.0, 500, 1000, 2500, 6300, 16000])
SKEW_S, GAIN = 0.4e-6, 1.011
RATE = 96_000


def table(h: object, u: float = 0.05) -> str:
    rows = [
        f"{f:g} {100 * abs(one):.7g} {np.degrees(np.angle(one)):.7g} {u}"
        for f, one in zip(F, np.asarray(h), strict=True)
    ]
    return "\n".join(["frequency/Hz ratio/% phase/deg u/%", *rows])


def sheet(*readings: str) -> str:
    head = 'parts.L1 = { kind = "inductor" }\n'
    return head + "\n".join(f'[[readings]]\nkind = "sweep"\n{one}' for one in readings)


def coil(h: object, more: str = "") -> str:
    return f'part = "L1"\nresistor = "100 ohm ± 0.5 %"\n{more}table = """\n{table(h)}\n"""\n'


def bent(h: Floats | np.ndarray[tuple[int], np.dtype[np.complex128]]) -> object:
    """As two channels show it of which one is late and the other's gain is not its own."""
    return GAIN * np.asarray(h) * np.exp(-2j * np.pi * F * SKEW_S)


class TestSweep(MethodContract):
    """A coil behind a resistor; the published value is the voltage divider's closed form."""

    kind = "sweep"
    target = ("L1", "inductance")
    truth = L_H
    source = "voltage divider, any textbook: Z = R H / (1 - H)"
    hostile: ClassVar[Sequence[tuple[str, str, str]]] = (
        ('resistor = "100 ohm ± 0.5 %"', "", "reference resistor"),
        ("ratio/%", "height/%", "stands at the head"),
        ('part = "L1"', "", "one of part"),
        (' 0.05"""', ' 0"""', "more than 0"),
    )

    def text(self) -> str:
        return sheet(coil(share(F), 'gain = "0.5 %"\nskew = "20 ns"\n')).replace('\n"""', '"""')

    def published(self) -> Sequence[tuple[float, float, float]]:
        """Half the amplitude behind 50 ohm: L f = 4594.41 uH kHz (published as 4594); with no
        resistance of the coil's own the angle is 60 degrees."""
        text = """
parts.L1 = { kind = "inductor", resistance = "0 ohm" }
[[readings]]
kind = "sweep"
part = "L1"
resistor = "50 ohm"
gain = "0.001 %"
skew = "1 ns"
table = \"\"\"
frequency/kHz ratio/% phase/deg u/%
10 50 60 0.001
\"\"\"
"""
        found = settle(read_sheet(text=text)).estimate("L1", "inductance").value
        return [(found * 1e6 * 10.0, 4594.41, 1e-4)]


class TestSweepOnTheResistor(TestSweep):
    def text(self) -> str:
        more = 'probe_on = "resistor"\ngain = "0.5 %"\nskew = "20 ns"\n'
        return sheet(coil(1 - share(F), more)).replace('\n"""', '"""')


def of(found: Settled, owner: str, quantity: str) -> tuple[float, float]:
    one = (owner, quantity)
    at = found.answer.compiled.ids.index(one)
    return float(found.posterior.x[at]), found.posterior.u(one)


def test_skew_and_gain_are_recovered_once_both_channels_were_on_one_node() -> None:
    ones = np.ones(len(F))
    check = f'one_node = true\ntable = """\n{table(bent(ones))}\n"""\n'
    found = settle(read_sheet(text=sheet(check, coil(bent(share(F))))))
    gain, u_gain = of(found, "the two channels", "ratio of gains")
    skew, u_skew = of(found, "the two channels", "time skew")
    assert gain == pytest.approx(GAIN - 1, abs=3 * u_gain)
    assert skew == pytest.approx(SKEW_S, abs=3 * u_skew)
    assert u_gain < 5e-4
    assert u_skew < 20e-9
    estimate = found.estimate("L1", "inductance")
    assert estimate.value == pytest.approx(L_H, rel=2e-3)


def test_without_the_check_a_late_channel_does_not_mislead() -> None:
    """A fixed skew makes the inductance drift with frequency; here it is a cause of its own."""
    found = settle(read_sheet(text=sheet(coil(bent(share(F))))))
    estimate = found.estimate("L1", "inductance")
    assert estimate.low < L_H < estimate.high


def test_from_a_sound_file_to_the_part() -> None:
    rng = np.random.default_rng(3)
    t = np.arange(int(0.8 * RATE)) / RATE
    pieces = []
    for f, h in zip(F, share(F), strict=True):
        turn = 2 * np.pi * f * t
        late = turn - 2 * np.pi * f * SKEW_S + np.angle(h)
        pieces.append(np.column_stack([np.cos(turn), GAIN * abs(h) * np.cos(late)]) * 0.5)
    x = np.concatenate(pieces)
    data = wav(x + rng.normal(0, 1e-4, x.shape), RATE, 24)
    told = looked(captures.read(data, "coil.wav"), {}, Clipped("L1", "100 ohm ± 0.5 %"))
    text = 'parts.L1 = { kind = "inductor" }\n' + told.reading
    assert re.search(r'capture = "coil.wav, sha256 [0-9a-f]{16}"', text)
    found = settle(read_sheet(text=text))
    estimate = found.estimate("L1", "inductance")
    assert estimate.low < L_H < estimate.high
    assert estimate.determined
    assert (found.consistency.p_value or 0.0) > 0.01
    again = read_sheet(text=write_sheet(read_sheet(text=text)))
    assert again == read_sheet(text=text)


def test_between_two_nodes_of_the_board() -> None:
    z = 1 / (1 / 8.2 + 2j * np.pi * F * 10e-6)
    text = f"""
[parts]
R1 = {{ kind = "resistor", between = ["in", "gnd"] }}
C1 = {{ kind = "capacitor", resistance = "0 ohm", between = ["in", "gnd"] }}
[[readings]]
kind = "sweep"
between = ["in", "gnd"]
resistor = "10 ohm ± 1 %"
table = \"\"\"
{table(z / (z + 10))}
\"\"\"
"""
    found = settle(read_sheet(text=text))
    for name, quantity, truth in (("R1", "resistance", 8.2), ("C1", "capacitance", 10e-6)):
        estimate = found.estimate(name, quantity)
        assert estimate.low < truth < estimate.high
        assert estimate.determined


def test_a_resistor_that_is_the_part_itself_is_refused() -> None:
    text = sheet(coil(share(F))).replace('"100 ohm ± 0.5 %"', '"L1"')
    with pytest.raises(SheetError, match="not a resistor"):
        read_sheet(text=text)
