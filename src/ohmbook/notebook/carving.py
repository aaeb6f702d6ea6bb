"""Rows out of a SQLite file's pages, however damaged the trees above them are.

Only pages that hold rows are looked at, each by itself, so that neither a damaged header nor a
broken tree hides the rest. What is found is not proven to be what was written: see `rescue`.

Source: "Database File Format", sqlite.org: 1.3 header, 1.6 b-tree pages, 2.1 records, 4.1 the
write-ahead log.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

Value = int | float | str | bytes | None
Row = tuple[Value, ...]

_SIZES = [2**k for k in range(9, 17)]
_INTS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
_TABLE_LEAF, _INDEX_LEAF, _INDEX_INNER, _TABLE_INNER = 13, 10, 2, 5
_LOG_HEADER, _FRAME_HEADER = 32, 24


@dataclass(frozen=True)
class Pages:
    """A file's pages, in every version that lies there: in the file, and in its log.

    Args:
        size: of a page, bytes.
        usable: bytes of a page that are SQLite's.
        versions: each a mapping from a page's number, from 1, to its bytes; the newest first.
    """

    size: int
    usable: int
    versions: Sequence[dict[int, bytes]]

    def rows(self) -> Iterator[Row]:
        """Every row found: those of tables with their number first.

        Bytes of a text that are no text stand as lone surrogates (PEP 383).
        """
        for k, version in enumerate(self.versions):
            for number, page in version.items():
                yield from _rows(_Page(self, k, page, 100 if number == 1 else 0))

    def page(self, version: int, number: int) -> bytes | None:
        """A page as a version of the file had it."""
        older = self.versions[version:]
        return next((one[number] for one in older if number in one), None)


def pages_of(data: bytes, log: bytes = b"") -> Pages:
    """The pages of a file and of its log.

    Args:
        data: the file's bytes.
        log: the bytes of the write-ahead log beside it.
    """
    told = int.from_bytes(data[16:18], "big")
    size = 65536 if told == 1 else told if told in _SIZES else 4096
    kept_back = data[20] if len(data) > 20 and data[20] <= 32 else 0
    filed = {
        k // size + 1: data[k : k + size].ljust(size, b"\0") for k in range(0, len(data), size)
    }
    logged = _logged(log, size)
    return Pages(size, size - kept_back, [logged, filed] if logged else [filed])


def _logged(log: bytes, size: int) -> dict[int, bytes]:
    """The last version of each page in a log; frames of an earlier round have other salts."""
    found: dict[int, bytes] = {}
    step = _FRAME_HEADER + size
    for at in range(_LOG_HEADER, len(log) - step + 1, step):
        number, salts = int.from_bytes(log[at : at + 4], "big"), log[at + 8 : at + 16]
        if number and salts == log[16:24]:
            found[number] = log[at + _FRAME_HEADER : at + step]
    return found


@dataclass(frozen=True)
class _Page:
    pages: Pages
    version: int
    data: bytes
    start: int


def _rows(page: _Page) -> Iterator[Row]:
    kind = page.data[page.start]
    for at in _cells(page, 12 if kind in (_INDEX_INNER, _TABLE_INNER) else 8):
        if kind not in (_INDEX_LEAF, _INDEX_INNER, _TABLE_INNER):
            yield from _table_row(page, at)
        if kind not in (_TABLE_LEAF, _TABLE_INNER):
            yield from _index_row(page, at + (4 if kind == _INDEX_INNER else 0))


def _cells(page: _Page, header: int) -> Iterator[int]:
    """Where cells begin. A damaged count hides none: the pointers end where the cells begin.

    A page of no known kind is looked at only if its count can be one: it may be any bytes at all.
    """
    first = page.start + header
    count, content = struct.unpack_from(">HH", page.data, page.start + 3)
    known = page.data[page.start] in (_TABLE_LEAF, _TABLE_INNER, _INDEX_LEAF, _INDEX_INNER)
    if not known and not 0 < first + 2 * count <= content <= page.pages.usable:
        return
    end = min(max(first + 2 * count, content or page.pages.size), page.pages.usable)
    for slot in range(first, end - 1, 2):
        at = int.from_bytes(page.data[slot : slot + 2], "big")
        if first <= at < page.pages.usable:
            yield at
        elif slot >= first + 2 * count:
            return


def _table_row(page: _Page, at: int) -> Iterator[Row]:
    size, at = _varint(page.data, at)
    number, at = _varint(page.data, at)
    usable = page.pages.usable
    row = _record(_payload(page, at, size, usable - 35))
    if row is not None and row[:1] == (None,):
        yield (number, *row[1:])


def _index_row(page: _Page, at: int) -> Iterator[Row]:
    size, at = _varint(page.data, at)
    row = _record(_payload(page, at, size, (page.pages.usable - 12) * 64 // 255 - 23))
    if row is not None:
        yield row


def _payload(page: _Page, at: int, size: int, most: int) -> bytes | None:
    """A cell's payload with what overflows to other pages; None where that is not there."""
    usable = page.pages.usable
    if size > page.pages.size * sum(map(len, page.pages.versions)):
        return None
    if size <= most:
        return page.data[at : at + size] if at + size <= usable else None
    least = (usable - 12) * 32 // 255 - 23
    local = least + (size - least) % (usable - 4)
    local = local if local <= most else least
    if at + local + 4 > usable:
        return None
    found = [page.data[at : at + local]]
    number, left = int.from_bytes(page.data[at + local : at + local + 4], "big"), size - local
    while left > 0:
        further = page.pages.page(page.version, number) if number else None
        if further is None:
            return None
        found.append(further[4 : 4 + min(left, usable - 4)])
        left -= usable - 4
        number = int.from_bytes(further[:4], "big")
    return b"".join(found)


def _record(payload: bytes | None) -> Row | None:
    if not payload:
        return None
    end, at = _varint(payload, 0)
    kinds = []
    while at < end <= len(payload):
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if at != end or sum(map(_width, kinds)) != len(payload) - end:
        return None
    found: list[Value] = []
    for kind in kinds:
        found.append(_value(kind, payload[at : at + _width(kind)]))
        at += _width(kind)
    return tuple(found)


def _width(kind: int) -> int:
    return (kind - 12) // 2 if kind >= 12 else _INTS.get(kind, 8 if kind == 7 else 0)


def _value(kind: int, data: bytes) -> Value:
    if kind >= 12:
        return data.decode("utf-8", "surrogateescape") if kind % 2 else data
    if kind == 7:
        return float(struct.unpack(">d", data)[0])
    if kind in (8, 9):
        return kind - 8
    return int.from_bytes(data, "big", signed=True) if kind else None


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of one to nine bytes, and where it ends; beyond the end of the data zeros stand."""
    found = 0
    for k in range(9):
        byte = data[at + k] if at + k < len(data) else 0
        if k == 8:
            return found << 8 | byte, at + 9
        found = found << 7 | byte & 0x7F
        if byte < 0x80:
            break
    return found, at + k + 1
