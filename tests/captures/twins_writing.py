"""Synthetic twins of captures by how their numbers and letters are written."""

from __future__ import annotations

import numpy as np

from tests.captures.twin import (
    Record,
    Twin,
    comma,
    half,
    record,
    table,
    text,
)
from tests.captures.twins_time import in_time


def _continental(got: Record) -> list[str]:
    head = ["Time;Channel A;Channel B", "(ms);(V);(V)", ""]
    return head + comma(table((got.t * 1e3, got.a, got.b), ("%.8f",) * 3, ";"))


def decimal_comma() -> Twin:
    got = record("comma", 8e-8, 900, -5.008e-6)
    within = (half(8, 1e-3), half(8), half(8))
    return in_time(
        "comma.csv", text(_continental(got), "\r\n"), "decimal comma, semicolons", got, within
    )


def decimal_comma_utf16() -> Twin:
    got = record("comma16", 8e-8, 400, -5.008e-6)
    data = text(_continental(got), "\r\n", "utf-16")
    return in_time(
        "comma16.csv", data, "decimal comma in UTF-16", got, (half(8, 1e-3), half(8), half(8))
    )


def decimal_comma_tabs() -> Twin:
    got = record("comma tabs", 1e-5, 500)
    rows = comma(table((got.t * 1e3, got.a * 1e3), ("%.2f", "%.1f"), "\t"))
    within = (half(2, 1e-3), half(1, 1e-3))
    return in_time(
        "tabs.txt", text(["Time [ms]\tCH1 [mV]", *rows]), "decimal comma, tabs", got, within
    )


def ambiguous_comma() -> Twin:
    got = record("ambiguous", 1.2e-8, 300)
    rows = comma(table((got.t, got.a, got.b), ("%.4e", "%.3f", "%.3f")))
    return in_time(
        "both.csv",
        text(["Time (s),CH1 (V),CH2 (V)", *rows]),
        "a comma as separator and as decimal mark",
        got,
        (half(4, 1e-6), half(3), half(3)),
        told={"decimal": "comma"},
    )


def ambiguous_ragged() -> Twin:
    got = record("ambiguous 2", 1.2e-8, 80)
    a = np.round(got.a * 2)
    rows = [f"{t:.4e},{x:g},0,0".replace(".", ",") for t, x in zip(got.t, a, strict=True)]
    return in_time(
        "both2.csv",
        text(rows),
        "1,2e-08,0,0,0",
        got,
        (half(4, 1e-6), 1e-9),
        told={"decimal": "comma"},
        channels=(a,),
        refused=True,
    )


def plus_exponents() -> Twin:
    got = record("plus", 1e-3, 500, 2.0)
    a, b = got.a + 5.0, got.b + 5.0
    rows = table((got.t, a, b), ("%+.6E",) * 3)
    return in_time(
        "plus.csv",
        text(["Time(s),CH1(V),CH2(V)", *rows]),
        "E+ exponents",
        got,
        (half(6), half(6), half(6)),
        channels=(a, b),
    )


def _encoded(name: str, encoding: str, bom: bytes = b"", end: str = "\n") -> Twin:
    got = record(name, 1e-6, 400, -2e-4)
    head = "Time (µs),CH1 (mV),CH2 (mV)"
    rows = table((got.t * 1e6, got.a * 1e3, got.b * 1e3), ("%.1f", "%.2f", "%.2f"))
    data = bom + text([head, *rows], end, encoding)
    within = (half(1, 1e-6), half(2, 1e-3), half(2, 1e-3))
    return in_time(name, data, f"written as {encoding}", got, within)


def encodings() -> list[Twin]:
    greek = _encoded("greek.csv", "utf-8")
    return [
        _encoded("le.csv", "utf-16-le", b"\xff\xfe", "\r\n"),
        _encoded("be.csv", "utf-16-be", b"\xfe\xff"),
        _encoded("bom.csv", "utf-8-sig", end="\r\n"),
        _encoded("plain8.csv", "utf-8"),
        _encoded("western.csv", "cp1252", end="\r\n"),
        _encoded("oldmac.csv", "utf-8", end="\r"),
        Twin(**{**vars(greek), "data": greek.data.replace("µ".encode(), "μ".encode())}),
    ]


def unheaded_names() -> Twin:
    got = record("no units", 1e-3, 500)
    rows = table((got.t * 1e3, got.a, got.b), ("%.1f", "%.4f", "%.4f"))
    return in_time(
        "nounits.csv",
        text(["Time,CH1,CH2", *rows]),
        "no units anywhere (milliseconds)",
        got,
        (half(1, 1e-3), half(4), half(4)),
        told={"axis": "ms", "unit": "V"},
    )


def headerless() -> Twin:
    got = record("headerless", 1e-5, 500)
    rows = table((got.t, got.a * 1e3), ("%.5f", "%.1f"))
    return in_time(
        "bare.csv",
        text(rows),
        "no header at all",
        got,
        (half(5), half(1, 1e-3)),
        told={"axis": "s", "unit": "mV"},
    )


def rate_for_time() -> Twin:
    got = record("rate for time", 4e-7, 800)
    head = ["# Sample rate: 2.5 MS/s", "CH1 (V),CH2 (V)"]
    rows = table((got.a, got.b), ("%.4f", "%.4f"))
    return in_time(
        "rate.csv", text(head + rows), "a rate instead of time", got, (1e-15, half(4), half(4))
    )


def volts_beside_millivolts() -> Twin:
    got = record("mixed", 1e-5, 500, -2.5e-3)
    rows = table((got.t * 1e3, got.a, got.b * 1e3), ("%.3f", "%.4f", "%.2f"), ", ", " ,")
    head = ["Time (ms), CH1 (V), CH2 (mV),"]
    within = (half(3, 1e-3), half(4), half(2, 1e-3))
    return in_time("mixed.csv", text(head + rows), "volts beside millivolts", got, within)


def clipped() -> Twin:
    got = record("clipped", 1e-5, 500)
    top = 0.6 * float(np.max(got.a))
    a = np.clip(got.a, -top, top)
    rows = table((got.t, a, got.b), ("%.5f", "%.4f", "%.4f"))
    return in_time(
        "clip.csv",
        text(["Time (s),CH1 (V),CH2 (V)", *rows]),
        "a clipped channel",
        got,
        (half(5), half(4), half(4)),
        channels=(a, got.b),
        conflict="clip",
    )


def gap() -> Twin:
    whole = record("gap", 1e-5, 500)
    kept = [np.delete(column, np.s_[200:260]) for column in (whole.t, whole.a, whole.b)]
    got = Record(whole.step_s, *kept)
    rows = table(kept, ("%.5f", "%.4f", "%.4f"))
    return in_time(
        "gap.csv",
        text(["Time (s),CH1 (V),CH2 (V)", *rows]),
        "sixty rows missing",
        got,
        (half(5), half(4), half(4)),
        refused=True,
    )


def writing_twins() -> list[Twin]:
    """Return the twins of decimal marks, encodings, missing units and damaged rows."""
    makers = (
        decimal_comma,
        decimal_comma_utf16,
        decimal_comma_tabs,
        ambiguous_comma,
        ambiguous_ragged,
        plus_exponents,
        unheaded_names,
        headerless,
        rate_for_time,
        volts_beside_millivolts,
        clipped,
        gap,
    )
    return [make() for make in makers] + encodings()
