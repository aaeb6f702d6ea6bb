"""WAV files: PCM of 8 to 32 bits and floating point, extensible headers too.

Source: Multimedia Programming Interface and Data Specifications 1.0 (1991) for the chunks and PCM;
the extensible header's sub-format is the first two bytes of its GUID (from memory). There is no
absolute scale in such a file: values are shares of full scale, and only the ratio of two channels
can be trusted until a known resistor calibrates it.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.block import Progress
from ohmbook.captures.capture import Assumed, Axis, Capture, Channel, Question, Remark
from ohmbook.captures.signs import remarks
from ohmbook.errors import CaptureError

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_CHUNK_FRAMES = 1 << 18
MOST_FRAMES = 25_000_000
_ADVICE = "save it as plain WAV: PCM of 16 or 24 bits, or 32-bit floating point"
NAMES = {1: ("mono",), 2: ("left", "right")}
CLIPPED_RUN = 3


@dataclass(frozen=True, slots=True)
class _Format:
    """How samples are stored."""

    tag: int
    channels: int
    rate: int
    bits: int

    @property
    def frame(self) -> int:
        """Bytes of one sample of every channel."""
        return self.channels * self.bits // 8

    @property
    def words(self) -> str:
        """In words, for people."""
        kind = "PCM" if self.tag == _PCM else "floating point"
        return f"{kind}, {self.bits} bits, {self.channels} channels, {self.rate} Hz"


def read_sound(name: str, data: bytes, progress: Progress | None = None) -> Capture:
    """A WAV file's channels as shares of full scale.

    Raises:
        CaptureError: it is no WAV file, is compressed, or holds no samples.
    """
    how, body, missing = _parts(name, data)
    count = len(body) // how.frame
    if count == 0:
        raise CaptureError(name, "there are no samples in it", "record it once more")
    if count > MOST_FRAMES:
        raise CaptureError(name, f"it has more than {MOST_FRAMES} samples", "cut it shorter")
    values = _samples(body, how, count, progress)
    names = NAMES.get(how.channels) or tuple(f"channel {k + 1}" for k in range(how.channels))
    channels = tuple(
        Channel(one, "full scale", row) for one, row in zip(names, values, strict=True)
    )
    t_s = np.arange(count, dtype=float)
    t_s /= how.rate
    axis = Axis("time", t_s, 1.0 / how.rate)
    told = remarks(axis, channels) + [r for one in channels for r in _at_full_scale(one)]
    if missing:
        told.append(Remark("size", f"the file was cut off: {missing} bytes of samples are missing"))
    return Capture(
        name,
        "sound",
        axis,
        channels,
        (
            Assumed("format", how.words, "the file's own header"),
            Assumed("scale", "shares of full scale", "sound has no volts: only ratios count"),
        ),
        (_which(names),) if how.channels == 2 else (),
        tuple(told),
        stated={"sampling rate": f"{how.rate} Hz", "bits": str(how.bits)},
    )


def _which(names: tuple[str, ...]) -> Question:
    return Question(
        "input",
        "which channel heard the source itself? (the other heard the part; swapped channels turn "
        "the answer upside down)",
        names,
        'input = "left"',
        names[0],
    )


def _parts(name: str, data: bytes) -> tuple[_Format, memoryview, int]:
    """The format, the samples' bytes, and how many of them are missing."""
    if data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        raise CaptureError(name, "this is no plain WAV file", _ADVICE)
    how: _Format | None = None
    view = memoryview(data)
    for tag, start, size in _chunks(data):
        if tag == b"fmt ":
            how = _format(name, data[start : start + size])
        if tag == b"data":
            if how is None:
                raise CaptureError(name, "its header does not come before its samples", _ADVICE)
            held = min(size, len(data) - start)
            missing = size - held if size != 0xFFFFFFFF else 0
            return how, view[start : start + held - held % how.frame], missing
    raise CaptureError(name, "there are no samples in it", _ADVICE)


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    at = 12
    while at + 8 <= len(data):
        tag, size = data[at : at + 4], int(struct.unpack_from("<I", data, at + 4)[0])
        yield tag, at + 8, size
        at += 8 + size + size % 2


def _format(name: str, body: bytes) -> _Format:
    if len(body) < 16:
        raise CaptureError(name, "its header is cut off", _ADVICE)
    tag, channels, rate, _, frame, bits = struct.unpack_from("<HHIIHH", body)
    if tag == _EXTENSIBLE:
        if len(body) < 26:
            raise CaptureError(name, "its extensible header is cut off", _ADVICE)
        tag = struct.unpack_from("<H", body, 24)[0]
    stored = 8 * frame // channels if channels else 0
    known = {_PCM: (8, 16, 24, 32), _FLOAT: (32, 64)}
    if stored not in known.get(tag, ()):
        raise CaptureError(
            name,
            f"its samples are stored in a way that is not read (format {tag}, {bits} bits)",
            _ADVICE,
        )
    if not 1 <= channels <= 64 or not 1 <= rate <= 10_000_000 or frame != channels * stored // 8:
        raise CaptureError(
            name, f"its header says {channels} channels at {rate} Hz, which cannot be", _ADVICE
        )
    return _Format(tag, channels, rate, stored)


def _samples(
    body: memoryview, how: _Format, count: int, progress: Progress | None
) -> NDArray[np.float32] | NDArray[np.float64]:
    """Shape (channels, count); single precision holds up to 24 bits exactly."""
    wide = how.bits == 64 or (how.tag == _PCM and how.bits == 32)
    values = np.empty((how.channels, count), dtype=np.float64 if wide else np.float32)
    for start in range(0, count, _CHUNK_FRAMES):
        end = min(start + _CHUNK_FRAMES, count)
        piece = body[start * how.frame : end * how.frame]
        values[:, start:end] = _converted(piece, how).reshape(-1, how.channels).T
        if progress is not None:
            progress(end, count)
    if how.tag == _FLOAT:
        np.nan_to_num(values, copy=False, nan=0.0, posinf=1.0, neginf=-1.0)
    return values


def _converted(piece: memoryview, how: _Format) -> NDArray[np.float32] | NDArray[np.float64]:
    if how.tag == _FLOAT:
        return np.frombuffer(piece, dtype=f"<f{how.bits // 8}")
    if how.bits == 8:
        return (np.frombuffer(piece, dtype=np.uint8).astype(np.float32) - 128.0) / 128.0
    if how.bits == 16:
        return np.frombuffer(piece, dtype="<i2").astype(np.float32) / np.float32(32768.0)
    if how.bits == 32:
        return np.frombuffer(piece, dtype="<i4") / 2.0**31
    three = np.frombuffer(piece, dtype=np.uint8).reshape(-1, 3)
    four = np.zeros((len(three), 4), dtype=np.uint8)
    four[:, 1:] = three
    return (four.view("<i4")[:, 0] >> 8).astype(np.float32) / np.float32(8388608.0)


def _at_full_scale(one: Channel) -> list[Remark]:
    """Runs of samples at full scale: clipped, even where they are too few to crowd."""
    at = (one.values >= 0.9999) | (one.values <= -0.9999)
    count = int(np.count_nonzero(at))
    if count < CLIPPED_RUN:
        return []
    runs = int(np.count_nonzero(at[:-2] & at[1:-1] & at[2:]))
    if not runs:
        return []
    return [Remark("clipping", f"{one.name} is clipped: {count} samples at full scale")]
