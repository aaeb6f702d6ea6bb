"""Synthetic twins of sweeps: plain columns, spectra and Touchstone files.

Touchstone: the open standard "Touchstone File Format Specification", version 1.1
(option line and its defaults; a version 1 impedance is divided by R).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.captures.twin import Array, Twin, comma, half, record, rng, table, text


def _load(
    key: str, count: int = 60, low_hz: float = 20.0, high_hz: float = 2e4
) -> tuple[Array, Array]:
    """Return frequencies and the impedance of an invented coil with loss."""
    draw = rng(key)
    f = np.round(np.geomspace(low_hz, high_hz, count), 2)
    s = 2j * np.pi * f
    series, coil, loss = draw.uniform(3.0, 8.0), draw.uniform(3e-4, 2e-3), draw.uniform(80.0, 300.0)
    return f, series + 1.0 / (1.0 / (s * coil) + 1.0 / loss)


def _sweep(
    name: str, data: bytes, dialect: str, f: Array, channel: Array, within: float, **more: object
) -> Twin:
    fields: dict[str, object] = {"unit": "ohm", **more}
    return Twin(name, data, dialect, "frequency", f, half(2), (channel,), (within,), **fields)  # type: ignore[arg-type]


def _plain(mark: str, sep: str, key: str, decimal: str = ".") -> Twin:
    f, z = _load(key)
    phase = np.degrees(np.angle(z))
    rows = table((f, np.abs(z), phase), ("%.2f", "%.4f", "%.3f"), sep)
    if decimal == ",":
        rows = comma(rows)
    head = [
        f"{mark} impedance of a driver",
        f"{mark} Frequency (Hz){sep}Impedance (ohm){sep}Phase (deg)",
    ]
    data = text(head + rows)
    dialect = f"plain columns, {mark!r} comments, {sep!r} between"
    return _sweep(key, data, dialect, f, np.abs(z), half(4), phase_deg=phase)


def plain_columns() -> list[Twin]:
    return [
        _plain("*", "  ", "star.txt"),
        _plain("#", "\t", "hash.txt"),
        _plain(";", ",", "semi.csv"),
        _plain("!", " ", "bang.txt"),
        _plain('"', "\t", "quote.txt"),
        _plain("*", ";", "comma.txt", ","),
    ]


def kilohertz_radians() -> Twin:
    f, z = _load("khz")
    rows = table((f / 1e3, np.abs(z), np.angle(z)), ("%.5f", "%.4f", "%.5f"), ",")
    head = ["Frequency (kHz),|Z| (ohm),Phase (rad)"]
    return _sweep(
        "khz.csv",
        text(head + rows),
        "kHz and radians",
        f,
        np.abs(z),
        half(4),
        phase_deg=np.degrees(np.angle(z)),
    )


def unstated_sweep() -> Twin:
    f, z = _load("unstated")
    phase = np.degrees(np.angle(z))
    rows = table((f, np.abs(z), phase), ("%.2f", "%.4f", "%.3f"), " ")
    told = {"axis": "Hz", "unit": "ohm", "phase": "deg"}
    return _sweep(
        "three.txt",
        text(rows),
        "three bare columns",
        f,
        np.abs(z),
        half(4),
        phase_deg=phase,
        told=told,
    )


def unstated_kilohertz() -> Twin:
    f, z = _load("unstated kHz")
    rows = table((f / 1e3, np.abs(z), np.angle(z)), ("%.5f", "%.4f", "%.5f"), " ")
    told = {"axis": "kHz", "unit": "ohm", "phase": "rad"}
    return _sweep(
        "threek.txt",
        text(["freq mag phase", *rows]),
        "bare columns that are kHz and radians",
        f,
        np.abs(z),
        half(4),
        phase_deg=np.degrees(np.angle(z)),
        told=told,
    )


def decibels_alone() -> Twin:
    f, z = _load("decibels")
    level = 20.0 * np.log10(np.abs(z) / 10.0)
    rows = table((f, level), ("%.2f", "%.3f"), ",")
    return _sweep(
        "db.csv",
        text(["Frequency (Hz),Magnitude (dB)", *rows]),
        "dB without phase",
        f,
        level,
        half(3),
        unit="dB",
    )


def magnitude_alone() -> Twin:
    f, z = _load("magnitude")
    rows = table((f, np.abs(z)), ("%.2f", "%.4f"), "\t")
    head = ["Freq [Hz]\tImpedance [Ohm]"]
    return _sweep("mag.txt", text(head + rows), "ohm without phase", f, np.abs(z), half(4))


def _four_columns(name: str, dialect: str, ragged: bool) -> Twin:
    f, z = _load(name)
    volts = np.abs(z) / 50.0
    phase = np.degrees(np.angle(z))
    rows = table((f, volts, phase, 0.01 * volts), ("%.2f", "%.5f", "%.3f", "%.5f"), "\t")
    if ragged:
        rows = [row.rsplit("\t", 1)[0] if k % 7 == 3 else row for k, row in enumerate(rows)]
    told = {"axis": "Hz", "unit": "V", "phase": "deg"}
    return _sweep(
        name, text(rows), dialect, f, volts, half(5), unit="V", phase_deg=phase, told=told
    )


def frequency_volts_phase_error() -> Twin:
    return _four_columns("four.dat", "headerless tabs: frequency, volts, phase, error", False)


def ragged_rows() -> Twin:
    return _four_columns("ragged.dat", "headerless tabs, ragged rows", True)


def _spectrum(name: str, head: list[str], dialect: str) -> Twin:
    got = record(name, 1e-5, 1000)
    level = 20.0 * np.log10(np.abs(np.fft.rfft(got.a * np.hanning(1000))) / 500.0 + 1e-6)
    f = np.fft.rfftfreq(1000, 1e-5)
    rows = table((f, level), ("%.2f", "%.4f"))
    return _sweep(name, text(head + rows), dialect, f, level, half(4), unit="dB", refused=True)


def spectra() -> list[Twin]:
    return [
        _spectrum("fft.csv", ["Source,FFT", "Hz,dB"], "FFT export: Hz, dB"),
        _spectrum(
            "fft2.csv",
            [
                "Record Length,501",
                "Sample Interval,100",
                "Horizontal Units,Hz",
                "Vertical Units,dB",
                "Label",
                "FREQ,MATH",
            ],
            "FFT export dressed as a capture",
        ),
        _spectrum("fft3.csv", ["x-axis,FFT1", "Hertz,dBV"], "FFT export: Hertz, dBV"),
    ]


def _ri(s: Array) -> tuple[Array, Array]:
    return s.real, s.imag


def _ma(s: Array) -> tuple[Array, Array]:
    return np.abs(s), np.degrees(np.angle(s))


def _db(s: Array) -> tuple[Array, Array]:
    return 20.0 * np.log10(np.abs(s)), np.degrees(np.angle(s))


def _one_port(
    name: str,
    option: list[str],
    form: Callable[[Array], tuple[Array, Array]],
    per_hz: float = 1.0,
    ref_ohm: float = 50.0,
    letter: str = "S",
) -> Twin:
    f, z = _load(name, low_hz=1e3, high_hz=1e6)
    ways = {"S": (z - ref_ohm) / (z + ref_ohm), "Z": z / ref_ohm, "Y": ref_ohm / z}
    rows = table((f / per_hz, *form(ways[letter])), ("%.11g", "%.9g", "%.9g"), " ")
    dialect = f"Touchstone one-port, {option[-1] if option else 'no option line'}"
    within = 1e-6 * float(np.max(np.abs(z)))
    return _sweep(name, text(["! a coil", *option, *rows]), dialect, f, z, within)


def one_ports() -> list[Twin]:
    return [
        _one_port("a.s1p", ["# HZ S RI R 50"], _ri),
        _one_port("b.s1p", ["#"], _ma, 1e9),
        _one_port("c.s1p", ["# khz s db r 75"], _db, 1e3, 75.0),
        _one_port(
            "d.s1p", ["# R 600 MA MHz S ! any order", "! a comment after it"], _ma, 1e6, 600.0
        ),
        _one_port("e.s1p", ["# Hz Z RI R 50"], _ri, letter="Z"),
        _one_port("f.s1p", ["# Hz Y MA R 50"], _ma, letter="Y"),
        _one_port("g.S1P", ["# GHz"], _ma, 1e9),
    ]


def low_end_noise() -> Twin:
    f, z = _load("noise", low_hz=1e3, high_hz=1e6)
    s = (z - 50.0) / (z + 50.0)
    s[:3] = np.array([1.02 + 0.01j, -1.01, 1.005j])
    rows = table((f, *_ri(s)), ("%.2f", "%.9f", "%.9f"), "\t")
    seen = 50.0 * (1.0 + s) / (1.0 - s)
    within = 1e-5 * float(np.max(np.abs(seen)))
    return _sweep(
        "noise.s1p",
        text(["# HZ S RI R 50", *rows]),
        "Touchstone, first points |S| > 1",
        f,
        seen,
        within,
        conflict="passive",
    )


def _two_port(name: str, shunt: bool) -> Twin:
    f, z = _load(name, low_hz=1e3, high_hz=1e6)
    through = 2 * z / (2 * z + 50.0) if shunt else 100.0 / (z + 100.0)
    back = -50.0 / (2 * z + 50.0) if shunt else z / (z + 100.0)
    columns = [f]
    for s in (back, through, through, back):
        columns += list(_ri(s))
    rows = table(columns, ("%.2f",) + ("%.10f",) * 8, " ")
    told = {"arrangement": "shunt" if shunt else "series"}
    head = ["! through an instrument of 50 ohm", "# Hz S RI R 50", "! S11 S21 S12 S22"]
    within = 1e-5 * float(np.max(np.abs(z)))
    return _sweep(
        name,
        text(head + rows),
        f"Touchstone two-port in {told['arrangement']}",
        f,
        z,
        within,
        told=told,
    )


def two_ports() -> list[Twin]:
    return [_two_port("series.s2p", False), _two_port("shunt.s2p", True)]


def sweep_twins() -> list[Twin]:
    """Return every twin whose axis is frequency."""
    makers = (
        kilohertz_radians,
        unstated_sweep,
        unstated_kilohertz,
        decibels_alone,
        magnitude_alone,
        frequency_volts_phase_error,
        ragged_rows,
        low_end_noise,
    )
    groups = (plain_columns, spectra, one_ports, two_ports)
    return [make() for make in makers] + [twin for group in groups for twin in group()]
