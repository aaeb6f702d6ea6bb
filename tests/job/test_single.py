"""One part from options: what comes out, and how a fault is told by the option's name."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job.single import SingleKind, settle_single, single_part_sheet

COIL = {"source": "50 ohm ± 5 %", "half_at": "5.6 kHz"}


def test_the_least_agrees_with_the_closed_form() -> None:
    """L = R / (2 pi f sqrt 3) for an ideal coil at half amplitude (issue 2, "common practice, no
    source"); a real coil's own resistance moves it by less than its interval."""
    found = settle_single("coil", COIL).estimate("coil", "inductance")
    ideal_h = 50.0 / (2 * pi * 5600.0 * sqrt(3.0))
    assert found.low < ideal_h < found.high
    assert found.value == pytest.approx(ideal_h, rel=0.02)
    # The source alone is known to 5 %/sqrt 3, and L is proportional to it.
    assert found.standard_uncertainty / found.value > 0.05 / sqrt(3.0)


@pytest.mark.parametrize(
    ("kind", "half_at", "value", "quantity"),
    [
        ("coil", "10.6 kHz", 0.438e-3, "inductance"),
        ("coil", "9.3 kHz", 0.499e-3, "inductance"),
        ("capacitor", "712 Hz", 7.73e-6, "capacitance"),
    ],
)
def test_a_source_measured_by_loading_it(
    kind: SingleKind, half_at: str, value: float, quantity: str
) -> None:
    """3.08 V open and 2.40 V across 178.2 ohm is 50.49 ohm, and half amplitude is then 0.438 mH or
    0.499 mH (issue 2, "common practice, no source"); C = sqrt 3 / (2 pi f R) by the same rule."""
    loaded = {"open": "3.08 Vpp", "loaded": "2.40 Vpp", "load": "178.2 ohm"}
    settled = settle_single(kind, {**loaded, "half_at": half_at})
    source = settled.estimate("generator", "resistance")
    assert source.value == pytest.approx(50.49, rel=0.005)
    assert source.low < 50.49 < source.high
    found = settled.estimate(kind, quantity)
    assert found.low < value < found.high
    assert found.value == pytest.approx(value, rel=0.02)


def test_half_amplitude_may_be_given_as_two_amplitudes() -> None:
    written = {"source": "50 ohm ± 5 %", "open": "4 Vpp", "across": "2 Vpp", "frequency": "5.6 kHz"}
    by_two = settle_single("coil", written).estimate("coil", "inductance")
    by_half = settle_single("coil", COIL).estimate("coil", "inductance")
    assert by_two.value == pytest.approx(by_half.value, rel=0.02)
    assert by_two.standard_uncertainty > by_half.standard_uncertainty * 0.99


def test_probing_the_resistor_is_the_other_pairing() -> None:
    """Half across the resistor: L = R sqrt 3 / (2 pi f), the voltage divider turned round."""
    written = {
        "source": "1 ohm ± 1 %",
        "resistor": "100 ohm ± 1 %",
        "probe_on": "resistor",
        "half_at": "5.6 kHz",
    }
    found = settle_single("coil", written).estimate("coil", "inductance")
    # Half of the open amplitude across 100 of 101 ohm: X^2 = (2 x 100)^2 - 101^2.
    ideal_h = sqrt(200.0**2 - 101.0**2) / (2 * pi * 5600.0)
    assert found.value == pytest.approx(ideal_h, rel=0.02)


def test_an_ohmmeter_s_leads_are_taken_off() -> None:
    found = settle_single("resistor", {"resistance": "8.4 ohm", "leads": "0.2 ohm"})
    value = found.estimate("resistor", "resistance")
    assert value.value == pytest.approx(8.2, abs=0.01)
    assert value.high - value.low > 0.2, "no ohmmeter is exact"
    assert any("cheap multimeter" in one.message for one in found.findings)


def test_a_resistor_by_divider() -> None:
    written = {"source": "50 ohm ± 1 %", "open": "4 Vpp", "across": "2 Vpp"}
    value = settle_single("resistor", written).estimate("resistor", "resistance")
    assert value.low < 50.0 < value.high


def test_what_is_assumed_of_the_instruments_is_said() -> None:
    loaded = {"open": "3.08 Vpp", "loaded": "2.40 Vpp", "load": "178.2 ohm ± 0.5 %"}
    settled = settle_single("coil", {**loaded, "half_at": "10.6 kHz"})
    assert any("entry-level scope" in found.message for found in settled.findings)


def test_a_marking_is_evidence() -> None:
    sheet = single_part_sheet("coil", **COIL, marking="0.82")
    assert sheet.parts["coil"].marking == "0.82"


@pytest.mark.parametrize("odd", ['0.82"', "0.82\\", "0.82\n[parts.x]", "\x7f", "0.82 \u00b5"])
def test_odd_characters_stay_inside_their_option(odd: str) -> None:
    try:
        sheet = single_part_sheet("coil", **COIL, marking=odd)
    except OhmbookError as error:
        assert "--marking" in str(error)  # noqa: PT017 - either way is right, a leak is not
    else:
        assert sheet.parts["coil"].marking == odd
        assert list(sheet.parts) == ["coil"]


@pytest.mark.parametrize(
    ("kind", "written", "named"),
    [
        ("coil", {}, "--half-at"),
        ("coil", {"half_at": "5.6 kHz"}, "--source"),
        ("coil", {"source": "50 ohm"}, "--half-at"),
        ("coil", {**COIL, "across": "2 Vpp"}, "--across"),
        ("coil", {"source": "50 ohm", "across": "2 Vpp"}, "--open and --frequency"),
        ("coil", {"source": "50 ohm", "across": "2 Vpp", "open": "4 Vpp"}, "--frequency"),
        ("coil", {**COIL, "loaded": "2 Vpp", "open": "4 Vpp"}, "--load"),
        ("coil", {**COIL, "load": "47 ohm"}, "--loaded"),
        ("coil", {**COIL, "leads": "0.2 ohm"}, "--resistance"),
        ("coil", {**COIL, "probe_on": "resistor"}, "--resistor"),
        ("coil", {**COIL, "like": "entry-level scope"}, "--open"),
        ("resistor", {"source": "50 ohm"}, "--resistance"),
        ("resistor", {"resistance": "8 ohm", "open": "4 Vpp"}, "--open"),
    ],
)
def test_an_option_that_is_missing_or_one_too_many_is_the_call_s_fault(
    kind: SingleKind, written: dict[str, str], named: str
) -> None:
    with pytest.raises(CallError) as caught:
        single_part_sheet(kind, **written)
    assert named in str(caught.value)


@pytest.mark.parametrize(
    ("written", "begins"),
    [
        ({**COIL, "half_at": "5.6 V"}, "--half-at: "),
        ({**COIL, "half_at": "nan Hz"}, "--half-at: "),
        ({**COIL, "source": "50"}, "--source: "),
        ({**COIL, "source": "-50 ohm"}, "--source: "),
        ({**COIL, "probe_on": "floor", "resistor": "10 ohm"}, "--probe-on: "),
        ({**COIL, "open": "4 Vpp", "like": "scope of doom"}, "--like: "),
        ({**COIL, "resistance": "0.5 H"}, "--resistance: "),
        ({**COIL, "resistance": "0.5 ohm", "meter": "lots"}, "--meter: "),
        (
            {"source": "50 ohm", "open": "4 Vpp", "across": "5 Vpp", "frequency": "5 kHz"},
            "--across: ",
        ),
    ],
)
def test_bad_data_is_told_by_its_option(written: dict[str, str], begins: str) -> None:
    with pytest.raises(OhmbookError) as caught:
        single_part_sheet("coil", **written)
    assert not isinstance(caught.value, CallError)
    assert str(caught.value).startswith(begins)
    assert "line" not in str(caught.value)


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(OhmbookError) as caught:
        single_part_sheet("coil", source="50", half_at="5.6")
    assert [line.split(":")[0] for line in str(caught.value).splitlines()] == [
        "--source",
        "--half-at",
    ]
