"""What kind of file some bytes are, told from the bytes alone: a name says nothing.

Source of the signatures: "MIME Sniffing" (WHATWG living standard), sections 6 and 7; TIFF 6.0
(Adobe, 1992), section 2; RIFF WAVE (RFC 2361).
"""

from __future__ import annotations

import codecs
import csv
import re

UNKNOWN = "application/octet-stream"
PICTURES = ("image/jpeg", "image/png", "image/gif", "image/webp", "image/tiff")

_BEGINNINGS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
    (b"II*\x00", "image/tiff"),
    (b"MM\x00*", "image/tiff"),
    (b"%PDF-", "application/pdf"),
)
_IN_RIFF = {b"WEBP": "image/webp", b"WAVE": "audio/wav"}
_UTF_16 = (codecs.BOM_UTF16_BE, codecs.BOM_UTF16_LE)
_BINARY = re.compile(rb"[\x00-\x08\x0b\x0e-\x1a\x1c-\x1f\x7f]")
_LOOKED_AT, _LINES, _ALIKE = 65_536, 200, 0.8


def type_of(data: bytes) -> str:
    """The type of some bytes, as mail and the web name it.

    Args:
        data: the whole file.

    Returns:
        One of `PICTURES`, "application/pdf", "audio/wav", "text/csv", "text/plain", or
        "application/octet-stream" where it is none of them.
    """
    for beginning, found in _BEGINNINGS:
        if data.startswith(beginning):
            return found
    if data[:4] == b"RIFF" and data[8:12] in _IN_RIFF:
        return _IN_RIFF[data[8:12]]
    if data[:2] in _UTF_16:
        return "text/plain"
    if not data or _BINARY.search(data):
        return UNKNOWN
    return "text/csv" if _is_table(data) else "text/plain"


def _is_table(data: bytes) -> bool:
    """Whether most lines have the same number of columns, two or more."""
    lines = data[:_LOOKED_AT].decode("utf-8-sig", "replace").splitlines()
    if len(data) > _LOOKED_AT:
        lines.pop()  # it is cut
    lines = [one for one in lines if one.strip()][:_LINES]
    return len(lines) > 1 and any(_columns_agree(lines, sign) for sign in ",;\t")


def _columns_agree(lines: list[str], sign: str) -> bool:
    try:
        widths = [len(row) for row in csv.reader(lines, delimiter=sign)]
    except csv.Error:
        return False
    usual = max(set(widths), key=widths.count)
    return usual > 1 and widths.count(usual) >= _ALIKE * len(widths)
