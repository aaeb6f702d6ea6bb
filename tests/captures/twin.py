"""What a synthetic twin of a captured file is, and the signals that fill it.

A twin is a file written from a description of a dialect alone, with the truth it was
written from beside it, and with a plain list of what the file leaves unsaid.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]


@dataclass(frozen=True)
class Twin:
    """One written file and what is true of it.

    Attributes:
        name: the file's name.
        data: its bytes.
        dialect: the structure it is a twin of.
        kind: "time" or "frequency".
        axis: true times (s) or frequencies (Hz), one for each sample.
        axis_within: how far the file's own digits may put a time or frequency off.
        channels: true values, one array for each channel, as recorded (`unit`).
        within: how far the file's own digits may put a value off, for each channel.
        unit: "V", "ohm", "dB", "S" (scattering), "full scale".
        phase_deg: the true phase where the file carries one beside a magnitude.
        unstated: what the file does not say, so that it must be asked: "step",
            "start", "unit", "scale", "probe", "decimal", "axis", "arrangement".
        told: what somebody who was there would answer, by the same words.
        conflict: the file contradicts itself in this: it must at least be remarked.
        refused: a clear refusal is a right answer too.
    """

    name: str
    data: bytes
    dialect: str
    kind: str
    axis: Array
    axis_within: float
    channels: tuple[Array, ...]
    within: tuple[float, ...]
    unit: str = "V"
    phase_deg: Array | None = None
    told: dict[str, str] = field(default_factory=dict)
    conflict: str = ""
    refused: bool = False

    @property
    def unstated(self) -> frozenset[str]:
        """What the file leaves unsaid."""
        return frozenset(self.told)


@dataclass(frozen=True)
class Record:
    """Two sines of one frequency on a uniform grid, as an ideal instrument saw them."""

    step_s: float
    t: Array
    a: Array
    b: Array


def rng(key: str) -> np.random.Generator:
    """Return the generator that belongs to one twin, the same on every run."""
    return np.random.default_rng(zlib.crc32(key.encode()))


def record(key: str, step_s: float, count: int, start_s: float = 0.0) -> Record:
    """Draw two sines, four to eight cycles long, 0.4 V to 3 V and smaller."""
    draw = rng(key)
    t = start_s + step_s * np.arange(count)
    omega = 2.0 * np.pi * draw.uniform(4.0, 8.0) / (step_s * count)
    one, two = draw.uniform(0.4, 3.0), draw.uniform(0.1, 0.9)
    at, later = draw.uniform(0.0, 6.0, 2)
    return Record(step_s, t, one * np.sin(omega * t + at), two * np.sin(omega * t + later))


def half(decimals: int, scale: float = 1.0) -> float:
    """Return half a unit of the last decimal written, times the unit's size."""
    return 0.5000001 * 10.0**-decimals * scale


def half_float(values: Array, digits: int) -> float:
    """Return half a unit of the last digit of the largest value, written `%.<digits>e`."""
    top = float(np.max(np.abs(values)))
    return half(digits, 10.0 ** np.floor(np.log10(top)))


def table(
    columns: Sequence[Array], forms: Sequence[str], sep: str = ",", end: str = ""
) -> list[str]:
    """Write columns as lines of text, each column by its own `%` format."""
    row = sep.join(forms) + end
    return [row % values for values in zip(*(c.tolist() for c in columns), strict=True)]


def text(lines: Sequence[str], end: str = "\n", encoding: str = "utf-8") -> bytes:
    """Join lines into a file."""
    return (end.join(lines) + end).encode(encoding)


def signed_engineering(value: float) -> str:
    """Write like `+127.862000E-06`."""
    power = 0 if value == 0.0 else int(np.floor(np.log10(abs(value)) / 3.0)) * 3
    return f"{value / 10.0**power:+.6f}E{power:+03d}"


def comma(lines: Sequence[str]) -> list[str]:
    """Put a decimal comma for every decimal point."""
    return [line.replace(".", ",") for line in lines]
