"""From bytes to text, or one sentence on why they are no text. Nothing is ever executed."""

from __future__ import annotations

import codecs
import re

from ohmbook.captures.capture import Assumed
from ohmbook.errors import CaptureError

MOST_BYTES = 50_000_000
MOST_SOUND_BYTES = 150_000_000
"""Sound is held as single-precision samples, so that more of it fits."""

_EXPORT = "save or export the capture as text (CSV) and give that file"
_MAGIC: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", "a zip archive or a spreadsheet's own file"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet's own file"),
    (b"\x1f\x8b", "a compressed file"),
    (b"BZh", "a compressed file"),
    (b"\xfd7zXZ", "a compressed file"),
    (b"7z\xbc\xaf", "a compressed file"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"BM", "a picture"),
    (b"II*\x00", "a picture"),
    (b"MM\x00*", "a picture"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"\x89HDF", "an HDF5 file"),
    (b"\x93NUMPY", "an array file"),
    (b"SQLite format 3", "a database"),
    (b"OggS", "compressed sound"),
    (b"fLaC", "compressed sound"),
    (b"ID3", "compressed sound"),
    (b"FORM", "sound in another container"),
)
_PICKLE = re.compile(rb"\x80[\x02-\x05].")
_TEXT_PICKLE = re.compile(rb"\(?[cil][\w.]+\n[\w.]+\n[(\x00-\x7f]")
_ODD = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f]")
_BOMS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def check_size(name: str, size: int, most: int = MOST_BYTES) -> None:
    """Refuse what is empty, or too large to be held."""
    if size == 0:
        raise CaptureError(name, "the file is empty", "save the capture once more")
    if size > most:
        raise CaptureError(
            name,
            f"the file has {size / 1e6:.0f} MB, more than the {most / 1e6:.0f} MB that are read",
            "save fewer points, or the part of the capture that matters",
        )


def decode(name: str, data: bytes) -> tuple[str, Assumed]:
    """The text in the bytes, with plain line ends, and how it was written.

    Raises:
        CaptureError: it is no text, by its first bytes or by what stands in it.
    """
    check_size(name, len(data))
    _refuse_other_files(name, data)
    text, encoding, why = _decoded(name, data)
    text = text.removeprefix("\ufeff")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text, Assumed("encoding", encoding, why)


def _refuse_other_files(name: str, data: bytes) -> None:
    for magic, what in _MAGIC:
        binary = _ODD.search(data[:4096]) is not None or b"\xff" in data[:64]
        if data.startswith(magic) and (len(magic) > 3 or binary):
            raise CaptureError(name, f"this is {what}, not text", _EXPORT)
    if _PICKLE.match(data) or _TEXT_PICKLE.match(data[:300]):
        raise CaptureError(
            name, "this is a program's stored objects, which are never opened", _EXPORT
        )


def _decoded(name: str, data: bytes) -> tuple[str, str, str]:
    for mark, codec in _BOMS:
        if data.startswith(mark):
            said = codec.removesuffix("-sig").upper()
            return _strict(name, data, codec), said, "its byte order mark"
    wide = _wide(data)
    if wide:
        return _strict(name, data, wide), wide.upper(), "every other byte is zero"
    if _ODD.search(data):
        raise CaptureError(name, "this is not text: there are control bytes in it", _EXPORT)
    try:
        return data.decode("utf-8"), "UTF-8", "all of it is"
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if sum(map(text.count, "�")) > 3 or _foreign(text) > 0.05:
        raise CaptureError(name, "this is not text in any encoding that is known", _EXPORT)
    return text, "Windows-1252", "it is not UTF-8; only remarks and unit signs depend on it"


def _foreign(text: str) -> float:
    sample = text[:20000]
    return sum(ord(one) > 126 for one in sample) / max(len(sample), 1)


def _strict(name: str, data: bytes, codec: str) -> str:
    try:
        return data.decode(codec)
    except UnicodeDecodeError as error:
        # an odd last byte is a file that was cut off, and everything before it is sound
        if error.start >= len(data) - 4:
            return data[: error.start].decode(codec)
        raise CaptureError(
            name, f"byte {error.start} fits no {codec.upper()} text, which it should be", _EXPORT
        ) from error


def _wide(data: bytes) -> str:
    """UTF-16 without a mark, by its zeros; "" where it is not."""
    sample = data[:2000]
    half = len(sample) // 2
    if half < 4:
        return ""
    if sample[1::2].count(0) > 0.8 * half and sample[::2].count(0) == 0:
        return "utf-16-le"
    if sample[::2].count(0) > 0.8 * half and sample[1::2].count(0) == 0:
        return "utf-16-be"
    return ""
