"""What a reader gets wrong by being helpful: each was once misread, and is now asked or told."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.captures import Capture
from ohmbook.captures.touchstone import impedance
from ohmbook.errors import CaptureError
from tests.captures.twin import record, table

GOT = record("near misses", 1e-5, 1000)
ROWS = table((GOT.t, GOT.a, GOT.b), ("%.5f", "%.4f", "%.4f"))
HEAD = ["Time (s),CH1 (V),CH2 (V)"]
F = np.geomspace(1e3, 1e5, 20)
Z = 5 + 2j * np.pi * F * 1e-4


def read(lines: list[str], name: str = "near.csv", **answers: str) -> Capture:
    return captures.read("\n".join(lines).encode(), name, answers)


def tops(found: Capture) -> list[float]:
    return [float(np.abs(one.values).max()) for one in found.channels]


@pytest.mark.parametrize(
    "stated",
    [["Probe Attenuation,1,10"], ["CH1 Probe,1X", "CH2 Probe,10X"]],
)
def test_a_probe_ratio_multiplies_its_own_channel_alone(stated: list[str]) -> None:
    before = tops(read(stated + HEAD + ROWS))
    assert tops(read(stated + HEAD + ROWS, probe="10")) == pytest.approx(
        [before[0], 10 * before[1]]
    )


@pytest.mark.parametrize("missing", [1, 3])
def test_missing_rows_are_not_smoothed_over(missing: int) -> None:
    found = read(HEAD + ROWS[:500] + ROWS[500 + missing :])
    assert found.axis is not None
    assert found.axis.values == pytest.approx(
        np.delete(GOT.t, np.s_[500 : 500 + missing]), abs=1e-9
    )
    assert any("rows are missing at one place" in one.message for one in found.remarks)


@pytest.mark.parametrize("step", [1.02e-5, 1.045e-5, 1.4e-5, 0.4e-5])
def test_rounded_stamps_are_still_mended(step: float) -> None:
    t = step * np.arange(1000)
    found = read(HEAD + table((t, GOT.a, GOT.b), ("%.5f", "%.4f", "%.4f")))
    assert found.axis is not None
    assert found.axis.even == pytest.approx(step, rel=1e-3)


def test_a_blank_unit_is_not_the_next_channels() -> None:
    bare = ["Vertical Units,,mV", "Horizontal Units,s,", "TIME,CH1,CH2"]
    found = read(bare + ROWS)
    assert [one.unit for one in found.channels] == ["", "V"]
    assert [one.key for one in found.open] == ["unit"]


@pytest.mark.parametrize("stated", ["Sample Interval,10", "Sample Rate,100", "Sample Rate,100 x"])
def test_a_stated_number_without_a_unit_is_no_ten_seconds(stated: str) -> None:
    volts = table((GOT.a, GOT.b), ("%.4f", "%.4f"))
    found = read([stated, "CH1 (V),CH2 (V)", *volts])
    assert [one.key for one in found.open] == ["interval"]
    micro = table((GOT.t * 1e6, GOT.a), ("%.0f", "%.4f"))
    found = read([stated, "Time (us),CH1 (V)", *micro])
    assert found.axis is not None
    assert found.axis.even == pytest.approx(1e-5)


def test_a_rate_may_carry_a_prefix_alone() -> None:
    volts = table((GOT.a, GOT.b), ("%.4f", "%.4f"))
    found = read(["Sampling rate: 100 k", "CH1 (V),CH2 (V)", *volts])
    assert found.axis is not None
    assert found.axis.even == pytest.approx(1e-5)


def test_a_magnitude_without_a_unit_is_asked_about() -> None:
    rows = table((F, np.abs(Z), np.degrees(np.angle(Z))), ("%.2f", "%.4f", "%.3f"))
    found = read(["Frequency (Hz),Magnitude,Phase (deg)", *rows])
    assert [one.key for one in found.questions] == ["columns"]
    found = read(["Frequency (Hz),Magnitude (ohm),Phase (deg)", *rows])
    assert not found.questions


def _version2(*words: str) -> list[str]:
    s = (Z - 75) / (Z + 75)
    rows = table((F, s.real, s.imag), ("%.9g",) * 3, " ")
    return ["[Version] 2.0", "# Hz S RI R 50", "[Number of Ports] 1", *words, *rows, "[End]"]


def test_a_reference_of_version_2_rules_over_the_option_line() -> None:
    found = read(_version2("[Reference] 75.0", "[Network Data]"), "new.s1p")
    f = np.round(F, 9)
    assert found.axis is not None
    assert found.axis.values == pytest.approx(f, rel=1e-8)
    assert impedance(found) == pytest.approx(Z, rel=1e-6)
    for words in ("[Reference]", "[Reference] 50 75", "[Matrix Format] Lower"):
        with pytest.raises(CaptureError, match=r"expected|in full"):
            read(_version2(words), "new.s1p")


def test_the_order_of_a_two_port_is_minded() -> None:
    row = "1e3 0.1 0 0.9 0 0.8 0 0.2 0"
    old = read(["# Hz S RI R 50", row], "a.s2p")
    new = read(["# Hz S RI R 50", "[Two-Port Data Order] 12_21", row], "a.s2p")
    assert [one.values[0].real for one in old.channels] == [0.1, 0.9, 0.8, 0.2]
    assert [one.values[0].real for one in new.channels] == [0.1, 0.8, 0.9, 0.2]
