"""Curves as few bytes that a page can draw at once.

    bytes 0 to 3      length of the header, little-endian
    the header        JSON in UTF-8, padded with spaces to a multiple of 4 bytes in all
    the rest          rows of 32-bit floats, little-endian, one after another

The header names the rows: [what, whose], such as ["gain_db", "woofer"]; a null is NaN.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Literal

import numpy as np

from ohmbook.crossover.behaviour import Band, Behaviour
from ohmbook.crossover.curves import Floats

INPUT = "input"
"""Whose the rows of the impedance are: an output may bear any other name."""

Curves = Literal["gain", "impedance", "phase"]
CURVES: tuple[Curves, ...] = ("gain", "impedance", "phase")

Row = tuple[str, str, Floats]


def packed(
    shown: Behaviour,
    header: Mapping[str, Any],
    *,
    curves: Collection[Curves] = CURVES,
    frequencies: bool = False,
) -> bytes:
    """A behaviour's curves with what else there is to say.

    Args:
        shown: whose curves.
        header: goes before them, with "points", "draws" and "rows" besides.
        curves: which go along.
        frequencies: whether the frequencies go along, as the first row.
    """
    rows = list(_rows(shown, curves, frequencies))
    points = shown.frequency_hz.size
    about = {
        **header,
        "points": points,
        "draws": shown.draws,
        "rows": [[what, whose] for what, whose, _ in rows],
    }
    text = json.dumps(about, allow_nan=False, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    numbers = np.array([row for _, _, row in rows], dtype="<f4")
    numbers[~np.isfinite(numbers)] = np.nan
    return len(text).to_bytes(4, "little") + text + numbers.tobytes()


def unpacked(data: bytes) -> tuple[dict[str, Any], dict[tuple[str, str], Floats]]:
    """The header and the rows, by what and whose."""
    start = 4 + int.from_bytes(data[:4], "little")
    header = json.loads(data[4:start])
    numbers = np.frombuffer(data, dtype="<f4", offset=start).astype(np.float64)
    rows = numbers.reshape(len(header["rows"]), header["points"])
    return header, {
        (what, whose): row for (what, whose), row in zip(header["rows"], rows, strict=True)
    }


def _rows(shown: Behaviour, curves: Collection[Curves], frequencies: bool) -> Iterator[Row]:
    if frequencies:
        yield "frequency_hz", INPUT, shown.frequency_hz
    impedance = shown.input_impedance
    if "gain" in curves:
        for one in shown.outputs:
            yield "gain_db", one.name, one.gain_db
            yield from _edges("gain_db", one.name, one.band)
    if "impedance" in curves:
        yield "magnitude_ohm", INPUT, impedance.magnitude_ohm
        yield from _edges("magnitude_ohm", INPUT, impedance.band)
    if "phase" in curves:
        for one in shown.outputs:
            yield "phase_deg", one.name, one.phase_deg
        yield "impedance_phase_deg", INPUT, impedance.phase_deg


def _edges(what: str, whose: str, band: Band | None) -> Iterator[Row]:
    if band is not None:
        yield f"{what}_low", whose, band.low
        yield f"{what}_high", whose, band.high
