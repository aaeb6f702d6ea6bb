"""WAV files, and impedances from them: a known coil behind a known resistor comes back."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.captures import phasors
from ohmbook.captures.outline import preview
from ohmbook.errors import CaptureError
from tests.captures.waves import R_OHM, Floats, coil, pair, share, wav

RATE = 48_000
STEPS = (200.0, 400.0, 1000.0, 2500.0, 6300.0, 16000.0)


def stepped(rng: np.random.Generator) -> Floats:
    t = np.arange(int(0.8 * RATE)) / RATE
    x = np.concatenate([np.column_stack(pair(t, f, 0.5)) for f in STEPS])
    return np.asarray(x + rng.normal(0, 1e-4, x.shape))


def glide(rng: np.random.Generator, seconds: int = 6) -> Floats:
    """A logarithmic sweep and what a coil makes of it, by its spectrum."""
    t = np.arange(RATE * seconds) / RATE
    rate = np.log(20_000 / 20) / seconds
    quiet = np.zeros(RATE)
    x = np.concatenate([quiet, 0.5 * np.sin(2 * np.pi * 20 / rate * (np.exp(t * rate) - 1)), quiet])
    f = np.asarray(np.fft.rfftfreq(len(x), 1 / RATE), dtype=np.float64)
    y = np.fft.irfft(np.asarray(np.fft.rfft(x)) * share(f), len(x))
    both = np.column_stack([x, y])
    return np.asarray(both + rng.normal(0, 1e-4, both.shape))


@pytest.mark.parametrize(
    ("bits", "extensible"),
    [(16, False), (16, True), (24, False), (24, True), (32, False), (32, True)],
)
def test_samples_come_back(bits: int, extensible: bool) -> None:
    x = np.column_stack([np.linspace(-1, 1, 999), np.linspace(0.5, -0.5, 999)])
    found = captures.read(wav(x, 96_000, bits, extensible), "a.wav")
    assert [one.name for one in found.channels] == ["left", "right"]
    for one, column in zip(found.channels, x.T, strict=True):
        assert one.unit == "full scale"
        assert one.values == pytest.approx(column, abs=5e-5 if bits == 16 else 3e-7)
    assert found.axis is not None
    assert found.axis.even == 1 / 96_000
    assert [one.key for one in found.questions] == ["input"]


@pytest.mark.parametrize("bits", [16, 24, 32])
def test_stepped_sines_tell_the_coil(bits: int) -> None:
    x = stepped(np.random.default_rng(1))
    found = phasors.ratios(captures.read(wav(x, RATE, bits), "a.wav"), "right", "left")
    assert found.f_hz == pytest.approx(STEPS, rel=1e-6)
    z, covariance = phasors.impedance(found, R_OHM, "part")
    off = z - coil(found.f_hz)
    claimed = covariance[:, 0, 0] + covariance[:, 1, 1]
    assert np.mean(np.abs(off) ** 2 / claimed) < 2.5
    assert np.abs(off / z).max() < 5e-4


def test_a_swept_sine_tells_the_coil_within_its_claim() -> None:
    x = glide(np.random.default_rng(1))
    found = phasors.ratios(captures.read(wav(x, RATE, 24), "a.wav"), "right", "left")
    assert "swept" in found.way
    assert found.f_hz[0] < 25
    assert found.f_hz[-1] > 18_000
    z, covariance = phasors.impedance(found, R_OHM, "part")
    off = np.abs(z - coil(found.f_hz)) ** 2 / (covariance[:, 0, 0] + covariance[:, 1, 1])
    assert 0.6 < np.mean(off) < 1.6
    assert np.abs(z / coil(found.f_hz) - 1)[found.f_hz > 1000].max() < 1e-3


def test_the_resistor_may_be_probed_instead() -> None:
    x = stepped(np.random.default_rng(2))
    x[:, 1] = x[:, 0] - x[:, 1]
    found = phasors.ratios(captures.read(wav(x, RATE, 24), "a.wav"), "right", "left")
    z, _ = phasors.impedance(found, R_OHM, "resistor")
    assert z == pytest.approx(coil(found.f_hz), rel=2e-3)


def test_swapped_channels_are_told() -> None:
    x = stepped(np.random.default_rng(3))
    right = phasors.ratios(captures.read(wav(x, RATE), "a.wav"), "right", "left")
    wrong = phasors.ratios(captures.read(wav(x[:, ::-1], RATE), "a.wav"), "right", "left")
    assert phasors.swapped(right) == ""
    assert "swapped" in phasors.swapped(wrong)


def test_clipping_is_told() -> None:
    t = np.arange(RATE) / RATE
    x = np.column_stack(pair(t, 1000.0, 1.3)).clip(-1, 1)
    found = captures.read(wav(x, RATE), "a.wav")
    assert any(one.kind == "clipping" and "left" in one.message for one in found.remarks)
    assert not any("right" in one.message for one in found.remarks)


def test_a_file_that_was_cut_off_is_read_as_far_as_it_goes() -> None:
    x = np.column_stack(pair(np.arange(RATE) / RATE, 1000.0, 0.5))
    found = captures.read(wav(x, RATE)[:-1001], "a.wav")
    assert any("cut off" in one.message for one in found.remarks)
    assert len(found.channels[0].values) == RATE - 251


@pytest.mark.parametrize(
    ("at", "value", "words"),
    [
        (20, b"\x02\x00", "not read"),  # a compressed format
        (22, b"\x00\x00", "not read"),  # no channels
        (24, b"\x00\x00\x00\x00", "cannot be"),  # no rate
        (34, b"\x0c\x00", ""),  # 12 bits in 16: as stored
        (8, b"AVI ", "no plain WAV"),
        (12, b"junk", "before its samples"),
    ],
)
def test_other_sound_is_refused_in_words(at: int, value: bytes, words: str) -> None:
    x = np.column_stack(pair(np.arange(100) / RATE, 1000.0, 0.5))
    data = bytearray(wav(x, RATE))
    data[at : at + len(value)] = value
    if words:
        with pytest.raises(CaptureError, match=words):
            captures.read(bytes(data), "a.wav")
    else:
        assert len(captures.read(bytes(data), "a.wav").channels) == 2


def test_silence_between_the_steps_does_no_harm() -> None:
    quiet = np.zeros((int(0.3 * RATE), 2))
    t = np.arange(RATE) / RATE
    tones = [np.concatenate([quiet, np.column_stack(pair(t, f, 0.5))]) for f in STEPS]
    rng = np.random.default_rng(5)
    x = np.concatenate([*tones, quiet])
    data = wav(np.asarray(x + rng.normal(0, 1e-4, x.shape)), RATE, 24)
    found = phasors.ratios(captures.read(data, "a.wav"), "right", "left")
    assert found.f_hz == pytest.approx(STEPS, rel=1e-6)
    assert found.remarks == ()
    z, _ = phasors.impedance(found, R_OHM, "part")
    assert z == pytest.approx(coil(found.f_hz), rel=1e-3)


def test_channels_without_a_common_signal_tell_nothing() -> None:
    x = np.random.default_rng(6).normal(0, 0.01, (3 * RATE, 2))
    with pytest.raises(CaptureError, match="no signal in common"):
        phasors.ratios(captures.read(wav(x, RATE, 24), "a.wav"), "right", "left")


def test_a_long_record_is_drawn_by_its_outline() -> None:
    """Every n-th sample of 16 kHz would be a slow sine; the outline fills its height."""
    x = np.column_stack(pair(np.arange(RATE) / RATE, 15_990.0, 0.5))
    drawn = preview(captures.read(wav(x, RATE, 24), "a.wav"))
    assert drawn is not None
    y = np.array(drawn["channels"][0]["y"])
    assert 500 < len(y) == len(drawn["x"]) < 700
    assert np.all(y[1::2] > 0.24)
    assert np.all(y[::2] < -0.24)
