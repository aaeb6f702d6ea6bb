"""From a path, or standard input, to the text of a sheet."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ohmbook.errors import SheetError

LIMIT_BYTES = 5_000_000
STDIN = "standard input"
NOTHING = "there is nothing in it; `ohmbook start` writes a sheet to fill in"

# Longer marks first: the mark of UTF-32 begins like that of UTF-16.
_OTHER_ENCODINGS = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)


def load_text(path: str | os.PathLike[str]) -> tuple[str, str]:
    """Read a sheet's text.

    Args:
        path: the file, or "-" for standard input.

    Returns:
        The file's name as given, and its text without a byte order mark.

    Raises:
        SheetError: the file cannot be read, is too large, or is not text in UTF-8.
    """
    file = os.fspath(path)
    if file == "-":
        return STDIN, _decoded(STDIN, _standard_input())
    return file, _decoded(file, _file_bytes(file))


def checked_text(file: str, text: str) -> str:
    """A text that was given as such, held to the same limits as a file."""
    _check_size(file, len(text))
    if "\x00" in text:
        raise _binary(file)
    return text.removeprefix("\ufeff")


def _standard_input() -> bytes:
    buffer = getattr(sys.stdin, "buffer", None)
    if buffer is not None:
        return bytes(buffer.read(LIMIT_BYTES + 1))
    return sys.stdin.read(LIMIT_BYTES + 1).encode("utf-8", "surrogatepass")


def _file_bytes(file: str) -> bytes:
    try:
        if Path(file).is_dir():
            raise SheetError(file, None, "this is a folder; expected a sheet, a text file")
        with open(file, "rb") as stream:
            return stream.read(LIMIT_BYTES + 1)
    except FileNotFoundError:
        raise SheetError(
            file, None, "there is no such file; `ohmbook start` writes a sheet to fill in"
        ) from None
    except PermissionError:
        raise SheetError(file, None, "the file may not be read (permission denied)") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's name"
        raise SheetError(file, None, f"the file cannot be read ({reason})") from None


def _decoded(file: str, data: bytes) -> str:
    _check_size(file, len(data))
    for mark, name in _OTHER_ENCODINGS:
        if data.startswith(mark):
            raise SheetError(file, None, f"the file is written in {name}; save it as UTF-8")
    if b"\x00" in data:
        raise _binary(file)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SheetError(
            file,
            line,
            f"a character here (byte {data[error.start]:02X}) is not UTF-8, as if the file were "
            "in an older encoding; save it as UTF-8",
        ) from None


def _check_size(file: str, size: int) -> None:
    if size > LIMIT_BYTES:
        raise SheetError(
            file, None, f"more than {LIMIT_BYTES // 1_000_000} MB is too large for a sheet"
        )


def _binary(file: str) -> SheetError:
    return SheetError(file, None, "this is no text (it holds zero bytes); expected a sheet in TOML")
