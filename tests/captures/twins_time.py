"""Synthetic twins of oscilloscope captures, written from the dialects' description alone."""

from __future__ import annotations

import numpy as np

from tests.captures.twin import (
    Record,
    Twin,
    half,
    half_float,
    record,
    signed_engineering,
    table,
    text,
)


def in_time(
    name: str, data: bytes, dialect: str, got: Record, within: tuple[float, ...], **more: object
) -> Twin:
    """Return a two-channel twin in time; `within` is for the axis, then each channel."""
    fields: dict[str, object] = {"channels": (got.a, got.b)[: len(within) - 1], **more}
    return Twin(name, data, dialect, "time", got.t, within[0], within=within[1:], **fields)  # type: ignore[arg-type]


def metadata_beside() -> Twin:
    got = record("beside", 4e-5, 2500, -0.04928)
    notes = [
        "Record Length,2.500000e+03",
        "Sample Interval,4.000000e-05",
        "Trigger Point,1.232000e+03",
        ",",
        "Source,CH1",
        "Vertical Units,V",
        "Vertical Scale,1.000000e+00",
        "Vertical Offset,0.000000e+00",
        "Horizontal Units,s",
        "Horizontal Scale,1.000000e-02",
        "Probe Atten,1.000000e+00",
    ]
    lines = []
    for k, (t, a) in enumerate(zip(got.t, got.a, strict=True)):
        sign = "-" if t < -1e-9 else ""
        stamp = f"{sign}0{abs(t):.5f}"
        lines.append(f"{notes[k] if k < len(notes) else ','},,{stamp},{a:8.5f},")
    return in_time(
        "BESIDE.CSV", text(lines, "\r\n"), "metadata beside the data", got, (half(5), half(5))
    )


def stated_microseconds() -> Twin:
    got = record("micro", 2e-8, 140_000, -1.4e-3)
    head = ["Model,Any", "Sample Period,0.02us", "Memory Length,140000", "Time(us),CH1(V)"]
    rows = table((got.t, got.a), ("%.8f", "%.3f"))
    return in_time(
        "long.csv",
        text(head + rows),
        "header says microseconds, data in seconds",
        got,
        (half(8), half(3)),
        conflict="time unit",
    )


def microseconds_alone() -> Twin:
    got = record("micro alone", 2e-7, 2000, -2e-4)
    rows = table((got.t, got.a, got.b), ("%.8f", "%.4f", "%.4f"))
    return in_time(
        "micro.csv",
        text(["Sample rate,5MSa/s", "Time (us),CH1 (V),CH2 (V)", *rows]),
        "header says microseconds, data in seconds, rate stated",
        got,
        (half(8), half(4), half(4)),
        conflict="time unit",
    )


def label_block() -> Twin:
    got = record("label", 1e-6, 1000, 3.2e-3)
    head = [
        "Model,Bench A",
        "Firmware Version,1.0",
        "",
        "Point Format,Y,",
        "Horizontal Units,S,",
        "Horizontal Scale,0.0001,",
        "Sample Interval,1e-06,",
        "Record Length,1000,",
        "Vertical Units,V,V,V",
        "Vertical Offset,0,0.2,0",
        "Probe Attenuation,1,1,1",
        "Label,,,",
        "TIME,CH1,CH2,CH3",
    ]
    c = 0.25 * got.a - got.b
    rows = table((got.t, got.a, got.b, c), ("%.6e", "%.5f", "%.5f", "%.5f"))
    within = (half_float(got.t, 6), half(5), half(5), half(5))
    return in_time(
        "label.csv",
        text(head + rows, "\r\n"),
        "block per channel, Label, TIME",
        got,
        within,
        channels=(got.a, got.b, c),
    )


def start_increment() -> Twin:
    got = record("start", 5e-7, 1200, -3e-4)
    head = ["CH1,CH2,Start,Increment,", "Volt,Volt,-3.000000e-04,5.000000e-07,"]
    rows = table((got.a, got.b), ("%.3e", "%.3e"), end=",")
    within = (1e-15, half_float(got.a, 3), half_float(got.b, 3))
    return in_time(
        "notime.csv", text(head + rows), "no time column, start and increment", got, within
    )


def single_precision() -> Twin:
    got = record("single", 1e-6, 1400, -7e-4)
    t = got.t.astype(np.float32).astype(float)
    rows = table((t, got.a), ("%.7e", "%.4e"), end=",")
    within = (1e-10, half_float(got.a, 4))
    return in_time(
        "jitter.csv",
        text(["Time,X(CH1),", "Second,Volt,", *rows], "\r\n"),
        "trailing comma, single-precision jitter",
        got,
        within,
    )


def _engineering(head: list[str], name: str, dialect: str, **more: object) -> Twin:
    got = record(name, 4e-6, 800, -1.6e-3)
    columns = (got.t, got.a, got.b, got.a - got.b)
    rows = [",".join(map(signed_engineering, row)) for row in zip(*columns, strict=True)]
    within = (1e-9, 1e-6, 1e-6, 1e-6)
    return in_time(name, text(head + rows), dialect, got, within, channels=columns[1:], **more)


def engineering() -> Twin:
    head = ["x-axis,1,2,MATH1", "second,Volt,Volt,Volt"]
    return _engineering(head, "engineering.csv", "signed engineering exponents")


def engineering_edited() -> Twin:
    head = ["x-axis,generator,across R,coil", "second,Volt,Volt,Volt"]
    return _engineering(head, "edited.csv", "the same, its names edited by hand")


def engineering_bare() -> Twin:
    head = ["t,generator,across R,coil"]
    told = {"axis": "s", "unit": "V"}
    return _engineering(head, "edited2.csv", "the same, its units deleted", told=told)


def key_value_probe() -> Twin:
    got = record("keys", 2e-6, 1500, -1.5e-3)
    head = [
        "Channel,CH1",
        "Trigger Level,-12.0mV",
        "Probe Ratio,10",
        "Vertical Scale,500mV",
        "Horizontal Scale,200us",
        "Time Unit,s",
        "Voltage Unit,V",
        "Waveform Data",
    ]
    rows = table((got.t, got.a), ("%.6f", "%.4f"))
    return in_time(
        "keys.csv",
        text(head + rows),
        "key,value with a probe ratio of 10",
        got,
        (half(6), half(4)),
        told={"probe": "1"},
    )


def raw_counts() -> Twin:
    got = record("counts", 1e-5, 600)
    counts = np.round(128 + got.a / 0.04)
    return in_time(
        "counts.csv",
        text(table((counts,), ("%d",))),
        "raw converter counts, one column",
        got,
        (1e-14, 0.0201),
        told={"step": "1e-5", "scale": "0.04", "zero": "128"},
    )


def timebase_comments() -> Twin:
    got = record("timebase", 2e-7, 4064)
    head = ["#timebase=80000000(ps)", "#voltbase=500000(uV)", "#size=4064"]
    rows = table((got.a * 1e3,), ("%.2f",))
    told = {"step": "2e-7", "unit": "mV"}
    return in_time(
        "base.csv",
        text(head + rows),
        "#timebase, #voltbase, unit unstated",
        got,
        (1e-15, half(2, 1e-3)),
        told=told,
    )


def index_tabs() -> Twin:
    got = record("index", 8e-8, 1000)
    head = [
        "Unit\t:mV",
        "Frequncy\t:F=  ?",
        "Period\t:T=  ?",
        "Time interval\t:0.08uS",
        "Indx\tCH1_Voltge(mV)\tCH2_Voltge(mV)",
    ]
    rows = table((np.arange(1000), got.a * 1e3, got.b * 1e3), ("%d", "%.2f", "%.2f"), "\t")
    within = (1e-15, half(2, 1e-3), half(2, 1e-3))
    return in_time(
        "wave.txt", text(head + rows, "\r\n"), "tabs before colons, an index for time", got, within
    )


def index_alone() -> Twin:
    got = record("index alone", 8e-8, 1000)
    rows = table((np.arange(1000), got.a * 1e3), ("%d", "%.2f"), "\t")
    return in_time(
        "wave2.txt",
        text(["Indx\tCH1_Voltge(mV)", *rows]),
        "an index for time, interval unstated",
        got,
        (1e-15, half(2, 1e-3)),
        told={"step": "8e-8"},
    )


def rate_disagrees() -> Twin:
    got = record("rate", 1e-6, 900)
    rows = table((got.t, got.a, got.b), ("%.6f", "%.4f", "%.4f"))
    head = ["; logged", "; Sample rate: 500000 Hz", "Time (s),CH1 (V),CH2 (V)"]
    return in_time(
        "logged.csv",
        text(head + rows),
        "; comments, stated rate disagrees",
        got,
        (half(6), half(4), half(4)),
        conflict="rate",
    )


def generator_comments() -> Twin:
    got = record("generator", 1e-6, 900, -4.5e-4)
    head = [
        "# Generator: sine, 1.5 Vpp, 7.0 kHz, offset 0 V",
        "# Frequency: 7000 Hz, Amplitude: 1.5 V, 10 periods",
        "# Acquired 2026-01-01 10:00:00",
        "Time (s),Channel 1 (V),Channel 2 (V)",
    ]
    rows = table((got.t, got.a, got.b), ("%.7f", "%.6f", "%.6f"))
    return in_time(
        "generator.csv",
        text(head + rows),
        "generator's settings",
        got,
        (half(7), half(6), half(6)),
    )


def in_seconds() -> Twin:
    got = record("in s", 2e-6, 700)
    rows = table((got.t, got.a), ("%.6e", "%.6e"))
    within = (half_float(got.t, 6), half_float(got.a, 6))
    return in_time("C1.csv", text(["in s,C1 in V", *rows]), "in s,C1 in V", got, within)


def source_second() -> Twin:
    got = record("source", 1e-6, 2000, -1e-3)
    rows = table((got.t, got.a), ("  %+.10f", "  %+.8f"))
    head = ["Source,CH4", "Second,Volt"]
    return in_time(
        "source4.csv", text(head + rows), "Source,CH4, leading spaces", got, (half(10), half(8))
    )


def two_blocks() -> Twin:
    got = record("blocks", 4e-6, 1000, -2e-3)
    keys = [("Record Length", "1000"), ("Sample Interval", "4e-06"), ("Vertical Units", "V")]
    keys += [("Horizontal Units", "s"), ("Probe Atten", "1")]
    lines = []
    for k, (t, a, b) in enumerate(zip(got.t, got.a, got.b, strict=True)):
        key, value = keys[k] if k < len(keys) else ("", "")
        left, right = (f"{key},{value},,{t:.6f},{x:.4f}," for x in (a, b))
        lines.append(f"{left},{right}")
    return in_time(
        "pair.csv", text(lines), "two channel blocks side by side", got, (half(6), half(4), half(4))
    )


def two_headed_blocks() -> Twin:
    got = record("headed", 4e-6, 1000, -2e-3)
    head = ["CH1,,,CH2,", "Time (s),Volt (V),,Time (s),Volt (V)"]
    rows = table((got.t, got.a, got.t, got.b), ("%.6f", "%.4f,", "%.6f", "%.4f"))
    within = (half(6), half(4), half(4))
    return in_time("pair2.csv", text(head + rows), "two headed blocks side by side", got, within)


def duplicate_stamps() -> Twin:
    got = record("duplicate", 4e-6, 1000)
    rows = table((got.t, got.a, got.b), ("%.5f", "%.4f", "%.4f"))
    return in_time(
        "sheet.csv",
        text(["Time (s),CH1 (V),CH2 (V)", *rows]),
        "duplicate time stamps",
        got,
        (half(5), half(4), half(4)),
        conflict="stamps",
    )


def scope_twins() -> list[Twin]:
    """Return the twins of instruments' layouts."""
    makers = (
        metadata_beside,
        stated_microseconds,
        microseconds_alone,
        label_block,
        start_increment,
        single_precision,
        engineering,
        engineering_edited,
        engineering_bare,
        key_value_probe,
        raw_counts,
        timebase_comments,
        index_tabs,
        index_alone,
        rate_disagrees,
        generator_comments,
        in_seconds,
        source_second,
        two_blocks,
        two_headed_blocks,
        duplicate_stamps,
    )
    return [make() for make in makers]
