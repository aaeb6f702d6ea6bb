"""Photos and captures kept with a board: the original bytes, once each, under their SHA-256."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ohmbook.errors import CallError, DamagedError, NotebookError
from ohmbook.notebook.boards import kept, reading_subjects, readings
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import ATTACHMENTS, PARTS, READINGS, Entry, Subject
from ohmbook.notebook.ledger import View
from ohmbook.notebook.safenames import free_name, safe_name
from ohmbook.notebook.sniffing import type_of
from ohmbook.notebook.store import Store
from ohmbook.notebook.thumbnails import thumbnail

MOST_BYTES = 25_000_000
"""How large an attachment may be."""

To = tuple[str, str] | None
"""What an attachment belongs to: ("parts", "L1"), ("readings", "reading 3"), None for the board."""


@dataclass(frozen=True, slots=True)
class Bytes:
    """Bytes looked at, before anything is written.

    Args:
        data: the original.
        digest: its SHA-256.
        type: what it is; see `sniffing.type_of`.
        thumbnail: a small picture, or None.
    """

    data: bytes
    digest: bytes
    type: str
    thumbnail: bytes | None


@dataclass(frozen=True, slots=True)
class Attached:
    """An attachment as it stands.

    Args:
        board: of which board.
        name: a safe file name, its own on this board.
        sha256: of its bytes, hexadecimal.
        type: what the bytes are, as mail and the web name it.
        size: bytes.
        to: what it belongs to; None: the board.
        note: what the person said about it.
        entry: the entry that holds.
    """

    board: str
    name: str
    sha256: str
    type: str
    size: int
    to: Subject | None
    note: str
    entry: Entry


def looked_at(data: bytes, name: str) -> Bytes:
    """Look at bytes that are to be attached.

    Raises:
        NotebookError: there are none, or too many.
    """
    shown = safe_name(name)
    if not data:
        raise NotebookError(
            shown, "it is empty (0 bytes), and was not attached", "copy it from the device again"
        )
    if len(data) > MOST_BYTES:
        raise NotebookError(
            shown,
            f"it has more than the {MOST_BYTES / 1e6:.0f} MB that a notebook takes of a file; "
            "it was not attached",
            "save a photo smaller or as JPEG, cut a capture to the part that matters, or keep the "
            "file elsewhere and write in a note where it is",
        )
    return Bytes(data, hashlib.sha256(data).digest(), type_of(data), thumbnail(data))


def attaching(view: View, board: str, what: tuple[str, Bytes], to: To, note: str) -> Change:
    """What is written where bytes are attached.

    Args:
        view: what stands there.
        board: on which board.
        what: the person's name for it, and the bytes.
        to: what it belongs to.
        note: a few words on it.

    Raises:
        CallError: what it should belong to is not there.
    """
    name, found = what
    taken = (one.name for one in attachments(view, board))
    body: dict[str, Any] = {
        "sha256": found.digest.hex(),
        "type": found.type,
        "size": len(found.data),
    }
    if to is not None:
        body["to"] = list(_owner(view, board, to)[1:])
    if note:
        body["note"] = note
    return Change(Subject(board, ATTACHMENTS, free_name(safe_name(name), taken)), body)


def attachments(view: View, board: str) -> Iterator[Attached]:
    """The attachments of a board, in the order they came."""
    for one in view.standing(board, ATTACHMENTS):
        body = from_body(one.body or "{}")
        to = Subject(board, *body["to"]) if "to" in body else None
        yield Attached(
            board, one.subject.key, body["sha256"], body["type"], body["size"], to,
            body.get("note", ""), one,
        )  # fmt: skip


def owner_name(view: View, one: Attached) -> str:
    """What an attachment belongs to, by its name: a part, a reading, or the board."""
    if one.to is None:
        return one.board
    if one.to.section != READINGS:
        return one.to.key
    place = reading_subjects(view, one.board).index(one.to) + 1
    found = kept(view, one.to, place)
    return f"reading {place}" if found is None else found.name


def bytes_of(store: Store, sha256: str, name: str) -> bytes:
    """The original bytes, held against their hash.

    Raises:
        DamagedError: they are not there, or not what was attached.
    """
    found = store.attachment(bytes.fromhex(sha256))
    if found is None:
        raise DamagedError(store.file, f"the bytes of {name} are missing", _OTHER_COPY)
    if hashlib.sha256(found[0]).hexdigest() != sha256:
        raise DamagedError(
            store.file, f"the bytes of {name} are not those that were attached", _OTHER_COPY
        )
    return found[0]


def every_hash(view: View) -> dict[str, Subject]:
    """The hash of everything that was ever attached, and what it was first attached as."""
    found: dict[str, Subject] = {}
    for one in view.ledger.entries:
        if one.subject.section == ATTACHMENTS and one.body is not None and one.act <= view.at:
            found.setdefault(from_body(one.body)["sha256"], one.subject)
    return found


def every_size(view: View) -> dict[str, set[int]]:
    """The sizes that are told of each hash: one, unless something is wrong."""
    found: dict[str, set[int]] = {}
    for one in view.ledger.entries:
        if one.subject.section == ATTACHMENTS and one.body is not None:
            body = from_body(one.body)
            found.setdefault(body["sha256"], set()).add(body["size"])
    return found


_OTHER_COPY = (
    "everything else can be read as before; attach the file again, or take it from a copy of the "
    "notebook"
)


def _owner(view: View, board: str, to: tuple[str, str]) -> Subject:
    section, name = to
    if section == PARTS:
        found = view.head(Subject(board, PARTS, name))
        there = [one.subject.key for one in view.standing(board, PARTS)]
        subject = None if found is None or found.body is None else found.subject
    elif section == READINGS:
        every = {one.name: one.entry.subject for one in readings(view, board)}
        there = list(every)
        subject = every.get(name) or every.get(f"reading {name}")
    else:
        raise CallError(f'An attachment belongs to a part or a reading, not to "{section}".')
    if subject is None:
        raise CallError(
            f'There is no "{name}" among the {section} of {board}; nothing was attached. There '
            f"are: {', '.join(there) or 'none yet'}."
        )
    return subject
