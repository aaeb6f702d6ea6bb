"""One flipped byte of what was written put right, where the digest proves it.

A digest of 256 bits tells not only that something is wrong: of all the texts that differ in one
byte from what is there, only the one that was written has it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ohmbook.notebook.ink import Act, Entry, Subject, digested

_ANY_BYTE, _ONE_BIT = 1_500, 12_000
"""Up to how many bytes every other byte is tried at each place, and one flipped bit."""
_ESCAPED = b'"\\'


def mended(before: bytes, act: Act, entries: Sequence[Entry]) -> tuple[Act, list[Entry]] | None:
    """An act and its entries as they were written; None where more than one byte is wrong.

    Args:
        before: the digest of the act before.
        act: as it was found; its digest is taken to be right.
        entries: as they were found, bytes that are no text as lone surrogates.
    """
    text = digested(act, entries).encode("utf-8", "surrogateescape")
    masks = range(1, 256) if len(text) <= _ANY_BYTE else [1 << k for k in range(8)]
    if len(text) > _ONE_BIT:
        return None
    so_far = hashlib.sha256(before)
    for at in range(len(text)):
        for put, rest in _others(text, at, masks):
            tried = so_far.copy()
            tried.update(put)
            tried.update(rest)
            if tried.digest() == act.digest:
                return _read(text[:at] + put + rest, act.digest)
        so_far.update(text[at : at + 1])
    return None


def _others(text: bytes, at: int, masks: Sequence[int]) -> Iterator[tuple[bytes, bytes]]:
    """What may have stood at a place, and all that stands after it.

    A quotation mark inside a text stands there with a backslash before it.
    """
    rest = text[at + 1 :]
    for mask in masks:
        was = bytes([text[at] ^ mask])
        yield was, rest
        if was in _ESCAPED:
            yield b"\\" + was, rest
    if text[at : at + 1] == b"\\" and rest:
        for mask in masks:
            yield bytes([rest[0] ^ mask]), rest[1:]


def _read(text: bytes, digest: bytes) -> tuple[Act, list[Entry]] | None:
    try:
        told, made = json.loads(text)
        act = replace(Act(*told), digest=digest)
        return act, [Entry(one[0], act.id, Subject(*one[1:4]), *one[4:]) for one in made]
    except (ValueError, TypeError):
        return None
