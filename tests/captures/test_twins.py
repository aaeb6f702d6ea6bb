"""Every twin is read rightly, or asked about, or refused in words; none is misread in silence.

The twins (twins.py and beside it) were written from a description of the dialects by somebody
who had not seen the reader; here the reader meets them.
"""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.captures import Capture
from ohmbook.captures.touchstone import impedance
from ohmbook.errors import CaptureError
from tests.captures.twin import Twin
from tests.captures.twins import all_twins

TWINS = {twin.name: twin for twin in all_twins()}
ANSWERS = {
    "edited2.csv": {"time unit": "s", "unit": "V"},
    "keys.csv": {"probe": "counted"},
    "counts.csv": {"interval": "10 us", "scale": "40 mV"},
    "base.csv": {"interval": "200 ns", "unit": "mV"},
    "wave2.txt": {"interval": "80 ns"},
    "comma.csv": {"time unit": "ms"},
    "comma16.csv": {"time unit": "ms"},
    "both.csv": {"decimal": "comma"},
    "nounits.csv": {"time unit": "ms", "unit": "V"},
    "bare.csv": {"columns": "time/s, CH1/mV"},
    "three.txt": {"columns": "frequency/Hz, magnitude/ohm, phase/deg"},
    "threek.txt": {"columns": "frequency/kHz, magnitude/ohm, phase/rad"},
    "four.dat": {"columns": "frequency/Hz, magnitude/V, phase/deg, error/V"},
    "ragged.dat": {"columns": "frequency/Hz, magnitude/V, phase/deg, -"},
    "series.s2p": {"two-port": "series"},
    "shunt.s2p": {"two-port": "shunt"},
}
"""What somebody who was there would answer, by the questions' keys."""
ASKED = {
    "step": {"interval"},
    "axis": {"time unit", "frequency unit", "columns"},
    "unit": {"unit", "columns"},
    "phase": {"columns"},
    "scale": {"scale"},
    "probe": {"probe"},
    "decimal": {"decimal"},
    "arrangement": {"two-port"},
}
"""Which questions ask for what a twin leaves unsaid."""
TOO_CAREFUL = {"comma.csv", "comma16.csv"}
"""Milliseconds are stated; a record of less than one is asked about all the same."""
AXIS_KEYS = {"interval", "time unit", "frequency unit", "columns", "axis", "block", "decimal"}
VALUE_KEYS = {"scale", "unit", "columns", "block", "decimal", "two-port"}
CONFLICTS = {"time unit": "time unit", "rate": "rate", "stamps": "time", "clip": "clipping"}

every_twin = pytest.mark.parametrize("name", TWINS)


def read(twin: Twin, answered: bool) -> Capture:
    return captures.read(twin.data, twin.name, ANSWERS.get(twin.name, {}) if answered else {})


def keys(found: Capture) -> set[str]:
    return {one.key for one in found.questions}


def axis_is_right(found: Capture, twin: Twin) -> None:
    assert found.axis is not None
    assert found.axis.quantity == twin.kind
    assert len(found.axis.values) == len(twin.axis)
    rounding = 1e-9 * float(np.ptp(twin.axis)) / len(twin.axis)
    assert np.abs(found.axis.values - twin.axis).max() <= twin.axis_within + rounding
    if found.axis.even:
        step = float(np.ptp(twin.axis)) / (len(twin.axis) - 1)
        allowed = 2 * twin.axis_within / len(twin.axis) + 1e-9 * step
        assert found.axis.even == pytest.approx(step, rel=0, abs=allowed)


def values_are_right(found: Capture, twin: Twin) -> None:
    if found.form == "Touchstone":
        z = impedance(found, twin.told.get("arrangement", ""))
        assert np.abs(z - twin.channels[0]).max() <= twin.within[0]
        return
    assert len(found.channels) == len(twin.channels)
    for one, values, within in zip(found.channels, twin.channels, twin.within, strict=True):
        assert one.unit == twin.unit
        got = one.values
        if twin.phase_deg is not None:
            assert got.dtype.kind == "c"
            turned = np.degrees(np.angle(got)) - twin.phase_deg
            assert np.abs(turned).max() <= 6e-4
            got = np.abs(got)
        if "zero" in twin.told:  # which count stands for no volts is told, not asked
            got = got - float(twin.told["zero"]) * float(twin.told["scale"])
        assert np.abs(got - values).max() <= within * (1 + 1e-6) + 1e-14


def test_there_are_enough_of_them() -> None:
    assert len(TWINS) == len(all_twins()) >= 28
    assert set(ANSWERS) <= set(TWINS)


@every_twin
def test_none_is_misread_in_silence(name: str) -> None:
    twin = TWINS[name]
    found = read(twin, answered=False)
    if not keys(found) & AXIS_KEYS or twin.conflict:
        axis_is_right(found, twin)
    if not keys(found) & VALUE_KEYS:
        values_are_right(found, twin)
    open_keys = {one.key for one in found.open}
    unsaid = set[str]().union(*(ASKED.get(word, set()) for word in twin.told))
    assert open_keys <= unsaid | ({"time unit"} if name in TOO_CAREFUL else set())


@every_twin
def test_what_is_unstated_is_asked(name: str) -> None:
    twin = TWINS[name]
    found = read(twin, answered=False)
    if found.form == "sound":
        assert any(one.what == "scale" and "no volts" in one.why for one in found.assumed)
        return
    for word in twin.unstated - {"zero"}:
        assert keys(found) & ASKED[word], word


@pytest.mark.parametrize("name", [name for name in TWINS if name != "both2.csv"])
def test_each_is_read_rightly_once_answered(name: str) -> None:
    twin = TWINS[name]
    found = read(twin, answered=True)
    assert not found.open
    axis_is_right(found, twin)
    values_are_right(found, twin)


def test_commas_that_cannot_be_parted_are_refused_in_words() -> None:
    twin = TWINS["both2.csv"]
    assert "decimal" in keys(read(twin, answered=False))
    with pytest.raises(CaptureError, match="cannot be parted"):
        captures.read(twin.data, twin.name, {"decimal": "comma"})


@pytest.mark.parametrize("name", [name for name, twin in TWINS.items() if twin.conflict])
def test_what_contradicts_itself_is_told(name: str) -> None:
    twin = TWINS[name]
    found = read(twin, answered=False)
    told = keys(found) | {one.kind for one in found.remarks}
    assert CONFLICTS.get(twin.conflict, "rows") in told


@pytest.mark.parametrize("name", ["fft.csv", "fft2.csv", "fft3.csv"])
def test_a_spectrum_is_never_time(name: str) -> None:
    found = read(TWINS[name], answered=False)
    assert found.axis is not None
    assert found.axis.quantity == "frequency"
    assert any(one.kind == "phase" for one in found.remarks)


def test_a_gap_in_time_is_told() -> None:
    assert any(
        one.kind == "time" and "not evenly" in one.message
        for one in read(TWINS["gap.csv"], answered=False).remarks
    )


def test_the_zero_of_raw_counts_is_told() -> None:
    found = read(TWINS["counts.csv"], answered=True)
    assert any("count 0" in one.value for one in found.assumed)
