"""Every synthetic twin, the WAV files among them.

WAV: "Multimedia Programming Interface and Data Specifications 1.0" (1991) for the
chunks, "Multiple Channel Audio Data and WAVE Files" (2001) for the extensible header.
"""

from __future__ import annotations

import struct

import numpy as np

from tests.captures.twin import Array, Twin, record
from tests.captures.twins_sweep import sweep_twins
from tests.captures.twins_time import scope_twins
from tests.captures.twins_writing import writing_twins

_GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")


def _samples(both: Array, form: str) -> bytes:
    if form == "float32":
        return both.astype("<f4").tobytes()
    bits = int(form[3:])
    counts = np.round(both * 2.0 ** (bits - 1)).clip(-(2 ** (bits - 1)), 2 ** (bits - 1) - 1)
    wide = counts.astype("<i4")
    if bits == 32:
        return wide.tobytes()
    return wide.reshape(-1, 1).view(np.uint8)[:, : bits // 8].tobytes()


def _chunk(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def _format(form: str, rate: int, channels: int, extensible: bool) -> bytes:
    tag = 3 if form == "float32" else 1
    bits = 32 if tag == 3 else int(form[3:])
    block = channels * bits // 8
    kind = 0xFFFE if extensible else tag
    head = struct.pack("<HHIIHH", kind, channels, rate, rate * block, block, bits)
    if not extensible:
        return head
    return head + struct.pack("<HHI", 22, bits, 3) + struct.pack("<H", tag) + _GUID_TAIL


def _wave(name: str, form: str, rate: int, extensible: bool = False, over: float = 1.0) -> Twin:
    got = record(name, 1.0 / rate, rate // 20)
    both = 0.3 * over * np.column_stack((got.a, got.b))
    top = 1.0 if form == "float32" else 1.0 - 2.0 ** (1 - int(form[3:]))
    both = both.clip(-1.0, top)
    junk = _chunk(b"LIST", b"INFOICMT\x05\0\0\0coil\0\0") + _chunk(b"odd ", b"abc")
    body = b"WAVE" + _chunk(b"fmt ", _format(form, rate, 2, extensible)) + junk
    body += _chunk(b"data", _samples(both, form))
    within = 1e-7 if form == "float32" else 0.51 * 2.0 ** (1 - int(form[3:]))
    return Twin(
        name,
        b"RIFF" + struct.pack("<I", len(body)) + body,
        f"WAV {form} at {rate} Hz" + (", extensible" if extensible else ""),
        "time",
        got.t,
        1e-12,
        (both[:, 0], both[:, 1]),
        (within, within),
        unit="full scale",
        told={"scale": "1"},
        conflict="clip" if over > 1.0 else "",
    )


def wave_twins() -> list[Twin]:
    """Return the WAV files."""
    return [
        _wave("sixteen.wav", "pcm16", 44_100),
        _wave("twentyfour.wav", "pcm24", 96_000),
        _wave("single.wav", "float32", 192_000),
        _wave("wide.wav", "pcm24", 48_000, extensible=True),
        _wave("wide32.wav", "float32", 48_000, extensible=True),
        _wave("long.wav", "pcm32", 48_000),
        _wave("clipped.wav", "pcm16", 48_000, over=3.0),
    ]


def all_twins() -> list[Twin]:
    """Return every twin, in a fixed order."""
    return scope_twins() + writing_twins() + sweep_twins() + wave_twins()
