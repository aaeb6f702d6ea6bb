"""What is written in a notebook: acts, and the entries each act makes. Nothing is ever changed.

An *act* is what one person did at one moment, all of it or nothing: a sheet taken in, a reading
written, struck or revised, an undo. An *entry* is one thing that an act wrote, under its *subject*:
which board, which section of it, which thing there. What holds for a subject is its last entry
that counts.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

ActKind = Literal[
    "begin", "take in", "write", "revise", "strike", "restore", "take out", "attach", "put away",
    "bring",
    "undo", "redo", "choose", "lost", "rescue",
]  # fmt: skip
READINGS = "readings"
PARTS = "parts"
ATTACHMENTS = "attachments"
BOARD = "board"
"""Section of the one entry that begins a board."""

NAMED = ("instruments", "sources", PARTS)
"""Sections of a sheet that hold things by name."""

WHOLE = ("title", "defaults", "sketch")
"""Sections of a sheet that are one thing each; their key is ""."""


class Subject(NamedTuple):
    """What an entry is about: a board, a section of it, and the thing's key there."""

    board: str
    section: str
    key: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing written.

    Args:
        id: counted from 1 through the whole notebook.
        act: which act wrote it.
        subject: what it is about.
        base: id of the entry that its writer saw there, 0 where there was none.
        body: JSON of what stands there from now on; None: it is taken out.
    """

    id: int
    act: int
    subject: Subject
    base: int
    body: str | None


@dataclass(frozen=True, slots=True)
class Act:
    """What was done at one moment.

    Args:
        id: counted from 1, without gaps.
        at: when, UTC, ISO 8601 with milliseconds.
        who: the writer, as they call themselves.
        kind: what was done.
        words: the same in words, for the history.
        undoes: the act that this one takes back; None for all but undo and redo.
        beside: it rests on an outdated state and does not count until it is chosen.
        digest: of this act, its entries and the digest before it; see `digest_of`.
    """

    id: int
    at: str
    who: str
    kind: str
    words: str
    undoes: int | None = None
    beside: bool = False
    digest: bytes = b""


def digest_of(before: bytes, act: Act, entries: Sequence[Entry]) -> bytes:
    """SHA-256 (FIPS 180-4) over an act, its entries and the digest of the act before it.

    So a byte that changes anywhere in what was written is seen when the notebook is opened.

    Args:
        before: the digest of the act before; empty for the first.
        act: its own digest is not looked at.
        entries: in the order they were written.
    """
    text = digested(act, entries)
    return hashlib.sha256(before + text.encode("utf-8", "surrogatepass")).digest()


def digested(act: Act, entries: Sequence[Entry]) -> str:
    """The text of an act and its entries that its digest is taken over."""
    told = [act.id, act.at, act.who, act.kind, act.words, act.undoes, act.beside]
    made = [[one.id, *one.subject, one.base, one.body] for one in entries]
    return json.dumps([told, made], ensure_ascii=False, separators=(",", ":"))
