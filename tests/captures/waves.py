"""Captures made up for the tests: a coil behind a resistor, as text and as sound."""

from __future__ import annotations

import struct
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
R_OHM, L_H, COIL_OHM = 100.0, 1e-3, 0.5


def coil(f_hz: Floats) -> NDArray[np.complex128]:
    """A coil's impedance."""
    return np.asarray(COIL_OHM + 2j * np.pi * f_hz * L_H)


def share(f_hz: Floats) -> NDArray[np.complex128]:
    """What of the input is across the coil, behind the resistor (voltage divider)."""
    return np.asarray(coil(f_hz) / (R_OHM + coil(f_hz)))


def pair(t: Floats, f_hz: float, size: float = 1.5) -> tuple[Floats, Floats]:
    """Input and the voltage across the coil."""
    h = share(np.array([f_hz]))[0]
    turn = 2 * np.pi * f_hz * t
    return size * np.cos(turn), size * abs(h) * np.cos(turn + np.angle(h))


def csv(columns: Sequence[Floats], head: str, form: str = "%.6e", delimiter: str = ",") -> bytes:
    """Headings and rows as text."""
    rows = (delimiter.join(form % one for one in row) for row in zip(*columns, strict=True))
    return "\n".join([head, *rows, ""]).encode()


def wav(x: Floats, rate: int, bits: int = 16, extensible: bool = False) -> bytes:
    """Samples of shape (n, channels) within ±1 as a WAV file; 32 bits are floating point."""
    n, channels = x.shape
    if bits == 16:
        body = np.round(x * 32767).astype("<i2").tobytes()
    elif bits == 24:
        four = np.round(x * 8388607).astype("<i4").view(np.uint8).reshape(n, channels, 4)
        body = four[:, :, :3].tobytes()
    else:
        body = x.astype("<f4").tobytes()
    tag = 3 if bits == 32 else 1
    frame = channels * bits // 8
    outer = 0xFFFE if extensible else tag
    head = struct.pack("<HHIIHH", outer, channels, rate, rate * frame, frame, bits)
    if extensible:
        guid = struct.pack("<H", tag) + bytes.fromhex("000000001000800000aa00389b71")
        head += struct.pack("<HHI", 22, bits, 3) + guid
    chunks = b"fmt " + struct.pack("<I", len(head)) + head
    chunks += b"LIST" + struct.pack("<I", 3) + b"abc\0"  # an odd chunk, padded
    chunks += b"data" + struct.pack("<I", len(body)) + body
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks
