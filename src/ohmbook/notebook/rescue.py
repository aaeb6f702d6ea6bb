"""What can still be read of a damaged notebook, written into a new one."""

from __future__ import annotations

import datetime
import hashlib
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.beside import copies_of, draft_of, put_in_place, refuse_taken
from ohmbook.notebook.bodies import from_body, to_body
from ohmbook.notebook.carving import Row, pages_of
from ohmbook.notebook.held import alone
from ohmbook.notebook.ink import BOARD, READINGS, Act, Entry, Subject, digest_of
from ohmbook.notebook.ledger import Ledger
from ohmbook.notebook.opening import fill_new
from ohmbook.notebook.proving import proven
from ohmbook.notebook.sifting import CERTAIN, Sifted, sift
from ohmbook.notebook.store import Store, insert, insert_attachment

WHY_STRUCK = (
    "rescued from a damaged notebook, and not certain to be what was written: compare it, then "
    "restore it"
)
_MARKS = {
    "mended": " [rescued: a flipped byte was put right]",
    "doubtful": " [rescued: not all of it is certain to be what was written]",
    "unproven": " [rescued: nothing speaks against it, but what came before it is lost]",
}
_TOLD = (
    (
        "had a byte flipped, which was put right",
        "had a byte flipped, which was put right",
    ),
    (
        "can be read, but not proven, since what came before it is lost",
        "can be read, but not proven, since what came before them is lost",
    ),
    (
        "is damaged: its readings are struck until they are compared and restored",
        "are damaged: their readings are struck until they are compared and restored",
    ),
    (
        "is lost, but for such of its writing as could be read",
        "are lost, but for such of their writing as could be read",
    ),
)
_LOST = "what was done here could not be read"


@dataclass(frozen=True)
class Rescued:
    """What became of a damaged notebook.

    Args:
        new: where the new notebook is.
        proven: how many numbers of the history are certain to be as they were written.
        mended: numbers of which a flipped byte was put right, which their digest proves.
        unproven: numbers that nothing speaks against, but what came before them is lost.
        doubtful: numbers that are not what was written, or not all of it; their readings are
            struck until somebody has compared them.
        lost: numbers of which at most some of the writing could be read.
        entries_lost: how many things written could not be read.
        attachments: how many are there, each as it was put in.
        attachments_lost: how many were found that are not.
    """

    new: Path
    proven: int
    mended: tuple[int, ...]
    unproven: tuple[int, ...]
    doubtful: tuple[int, ...]
    lost: tuple[int, ...]
    entries_lost: int
    attachments: int
    attachments_lost: int

    @property
    def told(self) -> str:
        """The same in words."""
        said = [f"{self.proven} numbers of the history are as they were written"]
        every = (self.mended, self.unproven, self.doubtful, self.lost)
        for numbers, (one, several) in zip(every, _TOLD, strict=True):
            if numbers:
                said.append(f"{_listed(numbers)} {one if len(numbers) == 1 else several}")
        if self.entries_lost:
            said.append(f"of what was written, {self.entries_lost} entries are lost")
        if self.attachments or self.attachments_lost:
            said.append(
                f"{self.attachments} attachments are as they were put in, "
                f"{self.attachments_lost} could not be read"
            )
        return "; ".join(said) + "."


def rescue(damaged: str | os.PathLike[str], new: str | os.PathLike[str], who: str) -> Rescued:
    """Write what can still be read of a damaged notebook into a new one.

    Every number of the history keeps its number. What is not certain to be what was written is
    marked in the history, and its readings are struck, so that no value rests on it unseen.

    Args:
        damaged: the file; it is only read, byte for byte, and left as it is.
        new: where nothing stands yet.
        who: the writer, for the history.

    Raises:
        NotebookError: the new one cannot be made, or the damaged one is open here.
        DamagedError: nothing can be read.
    """
    old, target = Path(damaged), Path(new)
    refuse_taken(target, os.fspath(new))
    rows = list(_rows_of(old, os.fspath(damaged)))
    sifted = sift(rows)
    if not any(one.act is not None or one.entries for one in sifted):
        raise DamagedError(
            os.fspath(damaged), "nothing in it can be read; it was left as it is", _instead(old)
        )
    kept, spoilt = _attachments(rows)
    history = _history(sifted, old.name, who)
    try:
        with draft_of(target) as draft:
            _write(draft, os.fspath(new), history, kept)
            put_in_place(draft, target)
    except OSError as error:
        raise NotebookError(
            os.fspath(new),
            f"it cannot be made there ({error.strerror}); nothing was made, and {damaged} is as "
            "it was",
            "make room, or choose a folder of your own",
        ) from None
    return _rescued(target, sifted, len(kept), spoilt)


def _rows_of(path: Path, file: str) -> Iterator[Row]:
    with alone(path) as may:
        if not may:
            raise NotebookError(file, "it is open here", "close it first")
        try:
            data = path.read_bytes()
            log = path.resolve().with_name(f"{path.resolve().name}-wal")
            logged = log.read_bytes() if log.is_file() else b""
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or "its name cannot be a file's name"
            raise NotebookError(file, f"it cannot be read ({reason})", "check the name") from None
    return pages_of(data, logged).rows()


def _instead(path: Path) -> str:
    copies = copies_of(path)
    return f"take its newest copy, {copies[0].name}" if copies else "look for a copy of it"


def _attachments(rows: Iterable[Row]) -> tuple[dict[bytes, tuple[bytes, bytes | None]], int]:
    """Attachments whose bytes are those of their hash, and how many others there are."""
    kept: dict[bytes, tuple[bytes, bytes | None]] = {}
    spoilt = set()
    for row in rows:
        if len(row) != 4:
            continue
        digest, _, thumbnail, data = row
        if not isinstance(digest, bytes) or not isinstance(data, bytes):
            continue
        if len(digest) == 32 and hashlib.sha256(data).digest() == digest:
            kept[digest] = (data, thumbnail if isinstance(thumbnail, bytes) else None)
        elif len(digest) == 32:
            spoilt.add(digest)
    return kept, len(spoilt - set(kept))


def _history(sifted: Sequence[Sifted], name: str, who: str) -> Ledger:
    """The history as it is to stand in the new notebook, with the rescue as its last number."""
    ledger, at = Ledger(), _now()
    since = next((one.act.at for one in sifted if one.act is not None), at)
    for one in sifted:
        since = one.act.at if one.act is not None else since
        _add(ledger, _act_of(one, since), one.entries)
    entries = _entries(ledger, {one.number for one in sifted if one.state == "doubtful"})
    certain = sum(one.state in CERTAIN for one in sifted)
    words = f"{name}: {certain} of {len(sifted)} numbers of its history are as they were written"
    _add(ledger, Act(len(sifted) + 1, at, who, "rescue", words), entries)
    return ledger


def _act_of(one: Sifted, since: str) -> Act:
    if one.act is None:
        return Act(one.number, since, "?", "lost", _LOST)
    undoes = one.act.undoes
    if undoes is not None and not 0 < undoes < one.number:
        undoes = None
    return replace(one.act, undoes=undoes, words=one.act.words + _MARKS.get(one.state, ""))


def _add(ledger: Ledger, act: Act, entries: Sequence[Entry]) -> None:
    ledger.add(replace(act, digest=digest_of(ledger.digest, act, entries)), entries)


def _entries(ledger: Ledger, doubtful: set[int]) -> list[Entry]:
    """What the rescue itself writes: boards whose beginning is lost, and doubtful readings struck.

    A board stands there from its first entry on; a reading that is struck already stays so.
    """
    act, number = ledger.last + 1, max((one.id for one in ledger.entries), default=0) + 1
    made: list[Entry] = []
    for board in ledger.boards():
        subject = Subject(board, BOARD, "")
        if not ledger.history(subject) and _spoken_of(ledger, board, doubtful):
            made.append(Entry(number + len(made), act, subject, 0, to_body({})))
    for head in _heads(ledger):
        raw = from_body(head.body or "null")
        if head.act in doubtful and isinstance(raw, dict) and "struck" not in raw:
            body = to_body({**raw, "struck": WHY_STRUCK})
            made.append(Entry(number + len(made), act, head.subject, head.id, body))
    return made


def _spoken_of(ledger: Ledger, board: str, doubtful: set[int]) -> bool:
    """Whether there was such a board: not where its name stands in one doubtful entry alone."""
    entries = [one for one in ledger.entries if one.subject.board == board]
    return len(entries) > 1 or any(one.act not in doubtful for one in entries)


def _heads(ledger: Ledger) -> Iterator[Entry]:
    view = ledger.view()
    for board in ledger.boards():
        yield from view.standing(board, READINGS)


def _write(
    draft: Path, file: str, history: Ledger, kept: dict[bytes, tuple[bytes, bytes | None]]
) -> None:
    fill_new(draft, file)
    store = Store(draft, file)
    try:
        with store.writing() as db:
            for act in history.acts:
                insert(db, act, history.made_by(act.id))
            for digest, (data, thumbnail) in kept.items():
                insert_attachment(db, digest, data, thumbnail)
        proven(store, wholly=True)
    finally:
        store.close()


def _rescued(new: Path, sifted: Sequence[Sifted], attachments: int, spoilt: int) -> Rescued:
    def numbers(state: str) -> tuple[int, ...]:
        return tuple(one.number for one in sifted if one.state == state)

    there = {entry.id for one in sifted for entry in one.entries}
    return Rescued(
        new,
        len(numbers("proven")),
        numbers("mended"),
        numbers("unproven"),
        numbers("doubtful"),
        numbers("lost"),
        max(there, default=0) - len(there),
        attachments,
        spoilt,
    )


def _listed(numbers: Sequence[int]) -> str:
    shown = ", ".join(map(str, numbers[:8]))
    more = f" and {len(numbers) - 8} more" if len(numbers) > 8 else ""
    return f"number{'s' * (len(numbers) > 1)} {shown}{more}"


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
