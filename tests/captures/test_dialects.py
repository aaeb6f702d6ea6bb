"""Text as instruments write it: read rightly, or asked about; never misread in silence.

Each text here is a few rows in the manner of one kind of instrument; whole twins, written by
somebody who has not seen the reader, have a file of their own.
"""

from __future__ import annotations

import hashlib

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.captures import Capture
from ohmbook.errors import CaptureError
from tests.captures.waves import Floats, csv, pair

T = np.arange(400, dtype=float) * 4e-5 - 0.0492
ONE, OTHER = pair(T, 500.0)
HERTZ = np.arange(400, dtype=float) * 1e3
LATER = "Time,CH1,,Time,CH2\ns,V,,s,V\n" + "\n".join(
    f"{a:.6f},{b:.4f},,{a + 1e-5:.6f},{b:.4f}" for a, b in zip(T, ONE, strict=True)
)


def read(text: str | bytes, **answers: str) -> Capture:
    data = text if isinstance(text, bytes) else text.encode()
    return captures.read(data, "capture.csv", {k.replace("_", " "): v for k, v in answers.items()})


def rows(*columns: Floats, form: str = "%.6f", between: str = ",", end: str = "") -> str:
    return "\n".join(
        between.join(form % one for one in row) + end for row in zip(*columns, strict=True)
    )


def holds(found: Capture, *expected: Floats, t: Floats = T) -> None:
    assert found.axis is not None
    assert found.axis.quantity == "time"
    assert found.axis.values == pytest.approx(t, abs=2e-6 * 4e-2)
    assert len(found.channels) == len(expected)
    for one, values in zip(found.channels, expected, strict=True):
        assert one.values == pytest.approx(values, abs=2e-4)


STATED = ["Record Length,4e2", "Sample Interval,4e-05", "Vertical Units,V", "Horizontal Units,s"]
BESIDE = "\n".join(
    f"{STATED[k] if k < 4 else ','},,{T[k]:09.5f},{ONE[k]:.4f}," for k in range(len(T))
)
ENGINEERING = "x-axis,1,MATH1\nsecond,Volt,Volt\n" + rows(
    T * 1e3, ONE * 1e3, OTHER * 1e3, form="%+.6fE-03"
)
DECIMAL = "Time;Channel A;Channel B\r\n(ms);(V);(V)\r\n\r\n" + rows(
    T * 1e3, ONE, OTHER, form="%.8f", between=";"
).replace(".", ",")
LABELLED = (
    "Model,X\r\n\r\nHorizontal Units,s,,\r\nVertical Units,V,V,\r\nProbe Attenuation,10,1,\r\n"
    "Label,,,\r\nTIME,CH1,CH2\r\n" + rows(T, ONE, OTHER)
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (BESIDE, (ONE,)),
        (LABELLED, (ONE, OTHER)),
        ("Time,X(CH1),\nSecond,Volt,\n" + rows(T, ONE, end=","), (ONE,)),
        (ENGINEERING, (ONE, OTHER)),
        (ENGINEERING.replace("1,MATH1", "in,coil"), (ONE, OTHER)),
        ("# Frequency: 500 Hz\n# Amplitude: 3 V\nTime (s),Channel 1 (V)\n" + rows(T, ONE), (ONE,)),
        ("in s,C1 in V\n" + rows(T, ONE), (ONE,)),
        ("Source,CH4\nSecond,Volt\n" + rows(T, ONE, form="  %.6f"), (ONE,)),
        (DECIMAL, (ONE, OTHER)),
        (("Time (s),CH1 (V)\r\n" + rows(T, ONE)).encode("utf-16"), (ONE,)),
        (b"\xef\xbb\xbf" + csv([T, ONE], "Time (s),CH1 (V)"), (ONE,)),
        ("Time (ms)\tCH1 (mV)\n" + rows(T * 1e3, ONE * 1e3, between="\t"), (ONE,)),
        ('"Time (s)","CH1 (V)"\n' + rows(T, ONE), (ONE,)),
    ],
)
def test_what_is_stated_is_read(text: str | bytes, expected: tuple[Floats, ...]) -> None:
    found = read(text)
    holds(found, *expected)
    assert all(one.unit == "V" for one in found.channels)
    assert found.open == ()


@pytest.mark.parametrize(
    "text",
    [
        "CH1,CH2,Start,Increment,\nVolt,Volt,-0.0492,4e-05,\n" + rows(ONE, OTHER, end=",,"),
        "X,CH1,CH2,Start,Increment\nSequence,Volt,Volt,-0.0492,4e-05\n"
        + "\n".join(
            f"{k},{a:.6f},{b:.6f}" for k, (a, b) in enumerate(zip(ONE, OTHER, strict=True))
        ),
    ],
)
def test_time_by_start_and_increment(text: str) -> None:
    holds(read(text), ONE, OTHER)


def test_an_index_with_a_sampling_period_behind_tabs() -> None:
    found = read(
        "Frequency\t: F=  ?\nSampling Period\t:40uS\n\nIndex\tCH1_Votlage(mV)\n"
        + "\n".join(f"{k}\t\t{1e3 * a:.2f}" for k, a in enumerate(ONE))
    )
    holds(found, ONE, t=T - T[0])


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Time (us),CH1 (V)\n" + rows(T, ONE), "time unit"),
        ("Time (s),CH1 (V)\n" + rows(T * 1e6, ONE, form="%.3f"), "time unit"),
        ("1,2e-08,0,0,0\n2,4e-08,0,0,0\n" * 9, "decimal"),
        ("Time,CH1,CH2\n" + "1,2e-08,0,0,0\n2,4e-08,0,0,0\n" * 9, "decimal"),
        (rows(T, ONE), "columns"),
        (rows(T, ONE, OTHER, between="\t"), "columns"),
        ("\n".join(f"{60 * a + 128:.0f}" for a in ONE), "scale"),
        ("\n".join(f"{60 * a + 128:.0f}" for a in ONE), "interval"),
        ("#timebase=80000000(ps)\n#size=400\n" + rows(ONE * 1e3, form="%.2f"), "interval"),
        ("#timebase=80000000(ps)\n#size=400\n" + rows(ONE * 1e3, form="%.2f"), "unit"),
        ("TIME,FFT(CH1)\ns,dB\n" + rows(HERTZ, ONE - 60), "axis"),
        ("Horizontal Units,Hz\nTIME,MATH\n" + rows(HERTZ, ONE - 60), "axis"),
        (LATER, "block"),
        ("freq ohm phase\n" + rows(HERTZ, ONE + 8, ONE / 9, between=" "), "columns"),
    ],
)
def test_what_is_not_stated_is_asked(text: str, key: str) -> None:
    assert key in [one.key for one in read(text).open]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        (LABELLED, "probe"),
        ("; Sample Rate: 20000 Hz\nTime (s),CH1 (V)\n" + rows(T, ONE), "time unit"),
        ("Sample Interval,4e-05\nTime (us),CH1 (V)\n" + rows(T, ONE), "time unit"),
        ("Time (us),CH1 (V)\n" + rows(T * 1e3, ONE), "time unit"),
        ("TIME,CH1 (V)\n" + rows(T, ONE), "time unit"),
    ],
)
def test_what_was_decided_can_be_overruled(text: str, key: str) -> None:
    found = read(text)
    question = next(one for one in found.questions if one.key == key)
    assert question.default
    assert question not in read(text, **{key.replace(" ", "_"): question.choices[0]}).questions


def test_a_stated_interval_rules_over_the_headings_unit() -> None:
    holds(read("Sample Interval,4e-05\nTime (us),CH1 (V)\n" + rows(T, ONE)), ONE)


def test_answers_are_taken() -> None:
    counts = "\n".join(f"{60 * a + 128:.0f}" for a in ONE)
    found = read(counts, interval="25 kHz", scale="10 mV")
    assert found.axis is not None
    assert found.axis.even == pytest.approx(4e-5)
    assert found.channels[0].unit == "V"
    assert found.channels[0].values[0] == pytest.approx(0.01 * round(60 * ONE[0] + 128))
    assert found.open == ()
    holds(read("Time (us),CH1 (V)\n" + rows(T, ONE), time_unit="s"), ONE)
    holds(read(rows(T * 1e3, ONE), columns="time/ms, CH1/V"), ONE)
    both = "0,5,1,25\n0,6,1,5\n0,7,1,75\n"
    found = read(both, decimal="comma", columns="time/s, CH1/V")
    assert found.channels[0].values == pytest.approx([1.25, 1.5, 1.75])


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"intervall": "2 us"}, "answers no question"),
        ({"interval": "2 apples"}, "expected"),
        ({"unit": "parsec"}, "no unit"),
        ({"columns": "time/s, CH1/V"}, "columns"),
        ({"delimiter": "slash"}, "not known"),
    ],
)
def test_answers_that_answer_nothing_are_refused(answers: dict[str, str], words: str) -> None:
    with pytest.raises(CaptureError, match=words):
        read(rows(ONE), **answers)


def test_rounded_time_stamps_are_mended_and_told() -> None:
    found = read("Time (s),CH1 (V)\n" + rows(T, ONE, form="%.4f"))
    holds(found, ONE, t=np.asarray(found.axis.values if found.axis else T))
    assert found.axis is not None
    assert found.axis.even == pytest.approx(4e-5, rel=1e-3)
    assert any(one.kind == "time" and "twice" in one.message for one in found.remarks)


def test_a_spectrum_is_not_taken_for_time() -> None:
    found = read("Source,MATH FFT\nHz,dB\n" + rows(HERTZ, ONE - 60))
    assert found.axis is not None
    assert found.axis.quantity == "frequency"
    assert any(one.kind == "phase" for one in found.remarks)


@pytest.mark.parametrize(
    ("values", "kind"),
    [
        (ONE.clip(-1, 1), "clipping"),
        (ONE * 0, "flat"),
        (np.cos(2 * np.pi * 90 * T), "cycles"),
        (np.cos(2 * np.pi * 4e3 * T), "samples"),
    ],
)
def test_what_samples_give_away(values: Floats, kind: str) -> None:
    found = read("Time (s),CH1 (V)\n" + rows(T, values))
    assert kind in [one.kind for one in found.remarks]
    assert not read("Time (s),CH1 (V)\n" + rows(T, ONE)).remarks


@pytest.mark.parametrize("bits", [6, 8, 10])
@pytest.mark.parametrize("offset", [0.0, 0.1, 0.37])
def test_a_sine_in_steps_is_not_told_as_clipped(bits: int, offset: float) -> None:
    t: Floats = np.arange(20_000, dtype=float) * 1e-6
    step = 4.0 / 2**bits
    y = np.round((1.6 * np.cos(2 * np.pi * 523.0 * t) + offset * step) / step) * step
    assert not read("Time (s),CH1 (V)\n" + rows(t, y)).remarks


def test_the_original_bytes_are_known_by_their_hash() -> None:
    data = csv([T, ONE], "Time (s),CH1 (V)")
    assert read(data).sha256 == hashlib.sha256(data).hexdigest()
    assert read(data).size == len(data)


def test_columns_over_frequency() -> None:
    f: Floats = HERTZ[1:40] * 1e-3
    size, turn = np.linspace(5, 9, 39), np.linspace(-80, 80, 39)
    text = "* a driver\n* Freq(kHz) Z(ohm) Phase(degrees)\n" + rows(f, size, turn, between="\t")
    found = read(text)
    assert found.axis is not None
    assert found.axis.values == pytest.approx(f * 1e3)
    assert found.channels[0].unit == "ohm"
    assert found.channels[0].values == pytest.approx(size * np.exp(1j * np.radians(turn)), rel=1e-5)


def test_phase_may_come_before_magnitude() -> None:
    f, size, turn = HERTZ[1:40], np.linspace(5, 9, 39), np.linspace(-80, 80, 39)
    found = read("Frequency (Hz),Phase (deg),Impedance (ohm)\n" + rows(f, turn, size))
    assert len(found.channels) == 1
    assert found.channels[0].values == pytest.approx(size * np.exp(1j * np.radians(turn)), rel=1e-5)
