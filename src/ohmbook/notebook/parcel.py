"""A zip file from anywhere, read with suspicion: nothing in it is believed before it is checked.

Source of the layout: "APPNOTE.TXT - .ZIP File Format Specification" 6.3.9 (PKWARE, 2020), sections
4.3.12 to 4.3.16 and 4.4.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.safenames import folded, safe_name
from ohmbook.sheet.near import printable

FOLDERS = ("boards", "history", "attachments")


@dataclass(frozen=True, slots=True)
class Limits:
    """What an archive may hold.

    Args:
        files: how many.
        one: bytes of a file.
        total: bytes of all of them.
        ratio: how many times larger than in the zip a file may be, if it has over a megabyte.
    """

    files: int = 10_000
    one: int = 500_000_000
    total: int = 20_000_000_000
    ratio: int = 100


LIMITS = Limits()
_MEGABYTE, _PIECE, _PER_ENTRY = 1_000_000, 1 << 20, 1_000
_FAULTS = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error, EOFError, OSError,
    NotImplementedError, RuntimeError, ValueError, LookupError,
)  # fmt: skip
_OTHER = "nothing was made from it; take another copy of the archive"
_END, _END_64, _LOCATOR = b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07"


class Parcel:
    """An open zip file whose directory has been found sound; what it holds is not yet.

    Args:
        archive: the zip.
        file: what to call it.
        infos: its files by name.
    """

    def __init__(
        self, archive: zipfile.ZipFile, file: str, infos: dict[str, zipfile.ZipInfo]
    ) -> None:
        self._archive, self.file, self._infos = archive, file, infos

    @property
    def names(self) -> Sequence[str]:
        """The files in it."""
        return tuple(self._infos)

    def size(self, name: str) -> int:
        """How large a file is said to be, bytes."""
        return self._infos[name].file_size

    def read(self, name: str, most: int = LIMITS.one) -> bytes:
        """A file's bytes, never more of them than it is said to have.

        Raises:
            DamagedError: it is not there or cannot be read.
            NotebookError: it is larger than may be.
        """
        info = self._infos.get(name)
        if info is None:
            raise DamagedError(self.file, f"{name} is missing in it", _OTHER)
        if info.file_size > most:
            raise too_large(self.file, name, info.file_size, most)
        pieces, left = [], info.file_size
        with in_words(self.file, name), self._archive.open(info) as stream:
            while piece := stream.read(_PIECE):
                left -= len(piece)
                if left < 0:
                    raise DamagedError(self.file, f"{name} is larger than it says", _OTHER)
                pieces.append(piece)
        if left:
            raise DamagedError(self.file, f"{name} is shorter than it says", _OTHER)
        return b"".join(pieces)


@contextmanager
def opened_parcel(path: Path, file: str, limits: Limits = LIMITS) -> Iterator[Parcel]:
    """Open a zip file and check its directory.

    Args:
        path: where it is.
        file: what to call it.
        limits: what it may hold.

    Raises:
        NotebookError: there is none, or it may not be opened as it is.
        DamagedError: it is no zip file, or not a whole one.
    """
    size = _looked_at(path, file, limits)
    with in_words(file, "it"):
        archive = zipfile.ZipFile(path)
    with archive:
        infos = _sound(archive.infolist(), file, limits)
        if sum(one.compress_size for one in infos) > size:
            raise DamagedError(file, "files in it lie one over another", _OTHER)
        yield Parcel(archive, file, {one.filename: one for one in infos})


@contextmanager
def in_words(file: str, what: str) -> Iterator[None]:
    """What the zip library makes of damage becomes one clear message."""
    try:
        yield
    except _FAULTS as error:
        told = printable(str(error)) or type(error).__name__
        raise DamagedError(file, f"{what} cannot be read ({told})", _OTHER) from error


def too_large(file: str, name: str, size: int, most: int) -> NotebookError:
    """What is said of a file that is too large."""
    return NotebookError(
        file,
        f"{printable(name)} would have {size / 1e6:.1f} MB; up to {most / 1e6:.0f} MB are unpacked",
        "nothing was made from it; this is no archive as ohmbook makes them",
    )


def sha256(data: bytes) -> str:
    """SHA-256 (FIPS 180-4), hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _looked_at(path: Path, file: str, limits: Limits) -> int:
    """The file's size, once its last bytes promise a directory that is not too large."""
    try:
        with open(path, "rb") as stream:
            size = os.fstat(stream.fileno()).st_size
            stream.seek(max(0, size - 98))
            tail = stream.read(98)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's name"
        raise NotebookError(file, f"it cannot be read ({reason})", "check the name") from None
    if tail[-22:-18] != _END or tail[-2:] != b"\x00\x00":
        raise DamagedError(
            file, "this is no archive, or not a whole one (a zip file ends otherwise)", _OTHER
        )
    count, length = struct.unpack("<HL", tail[-12:-6])
    if tail[-42:-38] == _LOCATOR and tail[:4] == _END_64:
        count, length = struct.unpack("<QQ", tail[32:48])
    if count > limits.files or length > _PER_ENTRY * limits.files:
        raise NotebookError(
            file,
            f"it says that it holds {count} files; up to {limits.files} are unpacked",
            "nothing was made from it; this is no archive as ohmbook makes them",
        )
    return size


def _sound(
    infos: Sequence[zipfile.ZipInfo], file: str, limits: Limits
) -> Sequence[zipfile.ZipInfo]:
    if len(infos) > limits.files:
        raise _refused(file, f"it holds {len(infos)} files; up to {limits.files} are unpacked")
    seen: set[str] = set()
    for one in infos:
        name = one.orig_filename
        why = _why_not(one, name) or ("stands twice in it" if folded(name) in seen else None)
        if why:
            raise _refused(file, f"{printable(name)[:80]} {why}")
        if one.file_size > limits.one:
            raise too_large(file, name, one.file_size, limits.one)
        if one.file_size > max(_MEGABYTE, limits.ratio * one.compress_size):
            raise _refused(
                file,
                f"{name} would grow to more than {limits.ratio} times its size when unpacked",
                "if you zipped it yourself, zip it again without compression",
            )
        seen.add(folded(name))
    total = sum(one.file_size for one in infos)
    if total > limits.total:
        raise too_large(file, "all of it", total, limits.total)
    return [one for one in infos if not one.filename.endswith("/")]


def _why_not(one: zipfile.ZipInfo, name: str) -> str | None:
    """What speaks against a file of the zip."""
    kind = stat.S_IFMT(one.external_attr >> 16)
    if not _may_be(name) or one.filename != name:
        return "is not a name that an archive has; nothing outside its own folders is written"
    if kind not in (0, stat.S_IFDIR if name.endswith("/") else stat.S_IFREG):
        return "is a link or a device, not a file"
    if one.flag_bits & 0x41:
        return "is locked with a password; an archive has none"
    if one.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is compressed in a way that archives do not use"
    return None


def _may_be(name: str) -> bool:
    """Whether a name is one of an archive's: a file, or a file in one of its folders."""
    folder, slash, rest = name.rpartition("/")
    if slash and not rest:
        return folder in FOLDERS
    if slash and folder not in FOLDERS:
        return False
    ending = rest.rpartition(".")[2]
    return rest == safe_name(rest) and (
        bool(slash) or re.fullmatch("txt|toml|csv", ending) is not None
    )


def _refused(
    file: str, why: str, advice: str = "this is no archive as ohmbook makes them"
) -> NotebookError:
    return NotebookError(file, why, f"nothing was made from it; {advice}")
