"""Slips: one test for each mistake, on a coil alone, a small board, and a throw-away kind.

What should have been read is worked out by the voltage divider (any textbook), with complex
numbers, in lines that share nothing with the product.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import pytest

from ohmbook.bench.kinds import KINDS
from ohmbook.counsel.mistakes import MISTAKES
from ohmbook.documents.finding import Finding
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet
from tests.bench.two_lamps import TwoLamps

COIL_H, COIL_OHM, SOURCE_OHM, OPEN_V = 1.0e-3, 0.5, 50.0, 4.12
FREQUENCIES_HZ = (1590, 2600, 4300, 6500, 9700, 14500)
HEAD = """
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 0.5 %" }
instruments.scope = { kind = "oscilloscope", amplitude = "0.5 % + 4 mV", reads = "peak to peak" }
parts.L1 = { kind = "inductor", resistance = "0.5 ohm ± 20 %" }
parts.L2 = { kind = "inductor", resistance = "0.5 ohm ± 20 %" }
"""


@dataclass(frozen=True)
class Written:
    """One reading of a coil as a person wrote it."""

    f: str
    across: str
    open: str = "4.12 Vpp"
    part: str = "L1"
    more: str = ""

    @property
    def text(self) -> str:
        return (
            f'[[readings]]\nkind = "amplitude ratio"\npart = "{self.part}"\n'
            f'frequency = "{self.f}"\nopen = "{self.open}"\nacross = "{self.across}"\n{self.more}\n'
        )


def across(f_hz: float, henry: float = COIL_H, series_ohm: float = 0.0) -> float:
    """Across the coil; with a series resistor across that instead."""
    z = COIL_OHM + 2j * pi * f_hz * henry
    return OPEN_V * abs((series_ohm or z) / (z + SOURCE_OHM + series_ohm))


def right() -> list[Written]:
    """Six readings of one coil and one of another, nothing wrong in them."""
    found = [Written(f"{f} Hz", f"{across(f):.3f} Vpp") for f in FREQUENCIES_HZ]
    other = [Written(f"{f} Hz", f"{across(f, 2.7e-3):.3f} Vpp", part="L2") for f in (900, 2200)]
    return [*found, *other]


def told(readings: list[Written]) -> Settled:
    return settle(read_sheet(text=HEAD + "".join(one.text for one in readings)))


def slip(settled: Settled, reading: str = "reading 3") -> Finding:
    """The one slip that is told, of a given reading."""
    found = [one for one in settled.findings if one.kind == "slip"]
    assert [one.readings for one in found] == [(reading,)]
    assert not [one for one in settled.findings if one.kind in ("strained", "sketch doubt")]
    return found[0]


def best(finding: Finding) -> str:
    first = finding.explanations[0]
    assert first.probability is not None
    assert first.probability > 0.5
    assert first.change
    assert first.change in finding.message
    return first.what


AT = across(4300)


@pytest.mark.parametrize(
    ("written", "fits", "because"),
    [
        (Written("4300 Hz", f"{AT:.3f} mVpp"), f"fits as {AT:.3f} Vpp", "prefix"),
        (Written("4300 Hz", f"{AT / 10:.4f} Vpp"), f"fits as {AT:.3f} Vpp", "decimal point"),
        (Written("4300 Hz", f"{AT / 10:.4f} Vpp"), f"fits as {AT:.3f} Vpp", "10x"),
        (Written("4300 Hz", f"{AT / 2 / sqrt(2):.3f} Vpp"), "Vrms", "rms"),
        (Written("4300 Hz", f"{AT / 2:.3f} Vpp"), "Vp", "peak"),
        (Written("43.0 kHz", f"{AT:.3f} Vpp"), "fits as 4.3 kHz", "decimal point"),
        (Written("4300 kHz", f"{AT:.3f} Vpp"), "fits as 4300 Hz", "prefix"),
        (Written("4300000 Hz", f"{AT:.3f} Vpp"), "fits as 4300 Hz", "prefix"),
        (Written("4.3 GHz", f"{AT:.3f} Vpp"), "fits as 4.3 kHz", "prefix"),
        (Written("3400 Hz", f"{AT:.3f} Vpp"), "fits as 4300 Hz", "swapped"),
        (Written(f"{2 * pi * 4300:.0f} Hz", f"{AT:.3f} Vpp"), "fits as 43", "radians"),
        (
            Written("4300 Hz", f"{AT:.3f} Vpp", open="2.06 Vpp"),
            "fits as 4.12 Vpp",
            "display holds for a load",
        ),
        (Written("4300 Hz", f"{AT:.3f} Vpp", part="L2"), "fits at L1", "it was L1, not L2"),
    ],
)
def test_a_mistake_in_one_reading_is_named(written: Written, fits: str, because: str) -> None:
    readings = right()
    readings[2] = written
    found = slip(told(readings)).explanations
    likely = [one.what for one in found if one.probability and one.probability > 0.1]
    assert any(fits in what and because in what for what in likely)


def test_two_readings_of_one_number_are_named_together() -> None:
    """A decimal point and a 10x probe: both a factor of ten, so one explanation."""
    readings = right()
    readings[2] = Written("4300 Hz", f"{AT / 10:.4f} Vpp")
    shown = f"{AT / 10:.4f} Vpp fits as"
    explanations = [one.what for one in slip(told(readings)).explanations if shown in one.what]
    assert "decimal point" in explanations[0]
    assert "10x" in explanations[0]
    assert not any("10x" in one for one in explanations[1:])


@pytest.mark.parametrize(
    ("shown", "because"), [("44 Hz", "dropped"), ("4300 Hz", "dropped"), ("44300 Hz", "doubled")]
)
def test_a_digit_dropped_or_doubled(shown: str, because: str) -> None:
    """14300 Hz for 4300 Hz the other way round: a one was lost; or a four was written twice."""
    readings = right()
    truth = {"44 Hz": 443.0, "4300 Hz": 14300.0, "44300 Hz": 4300.0}[shown]
    readings[2] = Written(shown, f"{across(truth):.3f} Vpp")
    found = slip(told(readings))
    assert any(because in one.what for one in found.explanations)


def test_the_probe_was_on_the_other_part() -> None:
    readings = right()
    shown = across(4300, series_ohm=100.0)
    more = 'resistor = "100 ohm ± 0.5 %"'
    readings[2] = Written("4300 Hz", f"{shown:.3f} Vpp", more=more)
    what = best(slip(told(readings)))
    assert '"resistor" is meant, not "part"' in what


def test_the_source_was_loaded_while_open_was_read() -> None:
    readings = right()
    readings[2] = Written("4300 Hz", f"{AT:.3f} Vpp", open=f"{AT * 1.001:.3f} Vpp")
    found = slip(told(readings))
    assert any("load on" in one.what and "4.1" in one.what for one in found.explanations)


def test_no_usual_mistake_is_said_so() -> None:
    readings = right()
    readings[2] = Written("4300 Hz", f"{1.37 * AT:.3f} Vpp")
    found = slip(told(readings))
    other = next(one for one in found.explanations if one.what.startswith("some other"))
    assert other.probability is not None
    assert other.probability > 0.5
    assert "No usual mistake" in found.message
    assert f"{AT:.2f} Vpp is expected" in found.message


def test_right_readings_give_no_slip_and_nothing_is_changed_by_one() -> None:
    clean = told(right())
    assert not [one for one in clean.findings if one.kind in ("slip", "strained")]
    readings = right()
    readings[2] = Written("4300 Hz", f"{AT * 10:.2f} Vpp", open="41.2 Vpp")  # twice: it cancels
    assert not [one for one in told(readings).findings if one.kind == "slip"]
    readings[2] = Written("3400 Hz", f"{AT:.3f} Vpp")
    wrong = told(readings)
    assert wrong.sheet == read_sheet(text=HEAD + "".join(one.text for one in readings))


LAMPS = """
parts.R1 = { kind = "resistor" }
"""


@pytest.mark.parametrize(("like", "because"), [("81 ohm", "swapped"), ("18 kohm", "prefix")])
def test_a_new_kind_has_its_slips_for_nothing(like: str, because: str) -> None:
    shown = ["18 ohm", "19 ohm", "17 ohm", like, "18 ohm", "18 ohm"]
    readings = (f'[[readings]]\nkind = "two lamps"\npart = "R1"\nlike = "{one}"\n' for one in shown)
    settled = settle(read_sheet(text=LAMPS + "".join(readings), kinds=(*KINDS, TwoLamps)))
    found = slip(settled, "reading 4")
    assert "fits as 18 ohm" in best(found)
    assert because in best(found)


def test_every_mistake_says_how_often_it_happens_and_why() -> None:
    for one in MISTAKES:
        assert 0.0 < one.odds <= 0.05
        assert "common practice, no source" in one.why
    assert len({one.name for one in MISTAKES}) == len(MISTAKES)
