"""Readings of one part that contradict each other, and one number behind all of them.

What should have been read is worked out by the voltage divider (any textbook), in lines that share
nothing with the product.
"""

from __future__ import annotations

from math import pi

import pytest

from ohmbook.bench.told import findings
from ohmbook.documents.finding import Finding
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet

HEAD = """
defaults = {{ source = "generator", instrument = "scope" }}
sources.generator = {{ resistance = "50 ohm ± 5 %", open = "{open}" }}
instruments.scope = {{ kind = "oscilloscope", like = "entry-level scope" }}
instruments.tester = {{ kind = "tester" }}
instruments.meter = {{ kind = "multimeter", resistance = "0.8 % + 2 digits" }}
parts.L1 = {{ kind = "inductor" }}
parts.L2 = {{ kind = "inductor" }}
"""


def reading(kind: str, part: str = "L1", **said: str) -> str:
    lines = [f'{key} = "{text}"' for key, text in said.items()]
    return "\n".join(["[[readings]]", f'kind = "{kind}"', f'part = "{part}"', *lines, ""])


def half_at(f: str) -> str:
    return reading("amplitude ratio", frequency=f, half_of="4.12 Vpp")


def by_tester(henry: str) -> str:
    return reading("meter", instrument="tester", inductance=henry, frequency="1 kHz")


def told(*readings: str, open_: str = "4.12 Vpp") -> Settled:
    return settle(read_sheet(text=HEAD.format(open=open_) + "".join(readings)))


def slips(settled: Settled) -> dict[str, float]:
    """How probable the slip of each reading is, all its mistakes together."""
    found = [one for one in settled.findings if one.kind == "slip"]
    chances = {}
    for one in found:
        named = [why for why in one.explanations if why.what != "no mistake"]
        chances[one.readings[0]] = sum(why.probability or 0.0 for why in named)
    return chances


def test_of_two_equal_readings_either_is_as_likely_wrong() -> None:
    """By symmetry: the same tester, the same limits, 50 standard uncertainties apart."""
    settled = told(by_tester("0.82 mH ± 1 %"), by_tester("1.27 mH ± 1 %"))
    chances = slips(settled)
    assert set(chances) == {"reading 1", "reading 2"}
    assert chances["reading 1"] == pytest.approx(0.5, abs=0.03)
    assert sum(chances.values()) == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize("henry", ["0.41 mH ± 5 %", "1.6 mH ± 5 %"])
def test_a_half_amplitude_is_not_blamed_before_a_tester(henry: str) -> None:
    """Half at 5.6 kHz on 50 ohm is 0.82 mH (50 ohm / (sqrt 3 * 2 pi f)); the tester says half of
    that, or twice. Nothing tells which is wrong, and both are told so."""
    assert 50.0 / (3**0.5 * 2.0 * pi * 5600.0) == pytest.approx(0.82e-3, rel=0.01)
    settled = told(by_tester(henry), half_at("5.6 kHz"))
    chances = slips(settled)
    assert set(chances) == {"reading 1", "reading 2"}
    assert all(0.2 < chance < 0.8 for chance in chances.values())
    for one in settled.findings:
        assert one.kind != "sketch doubt"
        assert "Nothing else checks" not in one.message
        if one.kind == "slip":
            assert "Either this or" in one.message
            assert "tells which" in one.message
            # 4.12 mVpp would drown in the scope's own error, where anything fits
            assert not any("mVpp" in why.what for why in one.explanations)


def test_readings_that_agree_only_on_an_absurd_value_are_both_named() -> None:
    """Half at 5.6 kHz and at 2.8 kHz too: only a coil of nearly 50 ohm does that."""
    settled = told(half_at("5.6 kHz"), half_at("2.8 kHz"))
    assert not [f for f in settled.findings if f.kind == "sketch doubt"]
    (one,) = (f for f in settled.findings if f.kind == "strained")
    assert one.readings == ("reading 1", "reading 2")
    assert "in series" in one.message
    assert "look at each again" in one.message


def test_what_strains_says_what_to_do() -> None:
    settled = told(by_tester("0.82 mH ± 1 %"), by_tester("1.27 mH ± 1 %"))
    (one,) = (f for f in findings(settled.answer, settled.estimates) if f.kind == "strained")
    assert set(one.readings) == {"reading 1", "reading 2"}
    assert "Look at them again" in one.message


def coils(open_: str) -> Finding:
    """Two coils read at six frequencies in all, what the generator gives stated once for all."""
    readings = []
    for part, henry, at in (("L1", 1e-3, (1500, 3000, 6000, 9000)), ("L2", 2.7e-3, (1500, 3000))):
        said = {"instrument": "meter", "value": "0.7 ohm", "leads": "0.2 ohm"}
        readings.append(reading("resistance", part, **said))
        for f in at:
            z = 0.5 + 2j * pi * f * henry
            volts = f"{4.12 * abs(z / (z + 49.0)):.3f} Vpp"
            readings.append(reading("amplitude ratio", part, frequency=f"{f} Hz", across=volts))
    settled = told(*readings, open_=open_)
    (one,) = (f for f in settled.findings if f.kind == "slip")
    assert not [f for f in settled.findings if f.kind in ("strained", "sketch doubt")]
    return one


@pytest.mark.parametrize(
    ("open_", "because"),
    [("8.24 Vpp", "display"), ("41.2 Vpp", "decimal point"), ("4.12 Vrms", "peak to peak")],
)
def test_the_sources_amplitude_is_one_number_behind_all_its_readings(
    open_: str, because: str
) -> None:
    first = coils(open_).explanations[0]
    assert first.change == 'in [sources.generator] open = "4.12 Vpp"'
    assert because in first.what
    assert (first.probability or 0.0) > 0.9
