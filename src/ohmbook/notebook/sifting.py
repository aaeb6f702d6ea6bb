"""Which of the rows found in a damaged notebook are what was written, by the chain of digests."""

from __future__ import annotations

import bisect
import itertools
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from ohmbook.notebook.carving import Row
from ohmbook.notebook.ink import Act, Entry, Subject, digest_of
from ohmbook.notebook.mending import mended
from ohmbook.notebook.rows import act_of, entry_of

State = Literal["proven", "mended", "unproven", "doubtful", "lost"]
"""proven: as it was written. mended: a byte of it was put right, and then it is proven. unproven:
nothing speaks against it, but what stands before it is lost. doubtful: not what was written, or not
all of it. lost: nobody knows what was done."""

CERTAIN = ("proven", "mended")
_FAR = 1000
_MOST_WAYS = 64
_FLIPPED_BITS = 16
_MOST_MENDED = 30


@dataclass(frozen=True)
class Sifted:
    """One number of the history, as far as it can be read.

    Args:
        act: as it was found; None where it is lost.
        entries: those that were found.
        state: how certain they are.
    """

    number: int
    act: Act | None
    entries: tuple[Entry, ...]
    state: State


@dataclass
class _Found:
    acts: dict[int, list[Act]] = field(default_factory=dict)
    entries: dict[int, dict[int, list[Entry]]] = field(default_factory=dict)
    tries: int = field(default_factory=lambda: _MOST_MENDED)


def sift(rows: Iterable[Row]) -> list[Sifted]:
    """The history, in order and without gaps.

    Args:
        rows: as found, of any table, in any number of versions.
    """
    found = _Found()
    for row in rows:
        _take(found, row)
    made, before = list[Sifted](), {b""}
    for number in range(1, _last(found) + 1):
        one, before = _one(found, number, before)
        made.append(one)
    return list(_tidied(made))


def _take(found: _Found, row: Row) -> None:
    act = act_of(row)
    if act is not None and len(act.digest) == 32 and act.id > 0:
        versions = found.acts.setdefault(act.id, [])
        if act not in versions:
            versions.append(act)
    entry = entry_of(row)
    if entry is not None and entry.id > 0:
        of_act = found.entries.setdefault(entry.act, {}).setdefault(entry.id, [])
        if entry not in of_act:
            of_act.append(entry)


def _last(found: _Found) -> int:
    """The last number that is likely: one that is damaged may be any."""
    last = 0
    for number in sorted({*found.acts, *found.entries}):
        if not 0 < number <= last + _FAR:
            continue
        last = number
    return last


def _one(found: _Found, number: int, before: set[bytes]) -> tuple[Sifted, set[bytes]]:
    """One number, and the digests that may stand before the next one."""
    acts, made = found.acts.get(number, []), found.entries.get(number, {})
    entries = tuple(made[key][0] for key in sorted(made))
    if not acts:
        return Sifted(number, None, entries, "lost"), set()
    for act, ways in itertools.product(acts, _ways(made)):
        for first in before:
            digest = digest_of(first, act, ways)
            if _near(digest, act.digest):
                return Sifted(number, act, tuple(ways), "proven"), {digest}
    after = {one.digest for one in acts}
    # Where only the digest itself is damaged, the next number bears witness to this one.
    for act, ways in itertools.product(acts, _ways(made)):
        for digest in {digest_of(first, act, ways) for first in before}:
            if _leads_on(found, number + 1, digest):
                return Sifted(number, act, tuple(ways), "proven"), {digest}
    for first in before if found.tries else ():
        found.tries -= 1
        whole = mended(first, acts[0], entries)
        if whole is not None and whole[0].id == number:
            return Sifted(number, whole[0], tuple(whole[1]), "mended"), after
    return Sifted(number, acts[0], entries, "doubtful" if before else "unproven"), after


def _tidied(sifted: Sequence[Sifted]) -> Iterator[Sifted]:
    """What is not certain without what cannot have been written, so that all of it can be kept."""
    certain = [one for one in sifted if one.state in CERTAIN]
    sure = sorted(entry.id for one in certain for entry in one.entries)
    taken, low = set(sure), 0
    for one in sifted:
        if one.state in CERTAIN:
            low = max([low, *(entry.id for entry in one.entries)])
            yield one
            continue
        place = bisect.bisect_right(sure, low)
        high = sure[place] if place < len(sure) else low + _FAR
        entries = [
            _shown(entry)
            for entry in one.entries
            if low < entry.id < high and entry.id not in taken and _is_body(entry.body)
        ]
        taken |= {entry.id for entry in entries}
        act = None if one.act is None else _readable(one.act)
        yield replace(one, act=act, entries=tuple(entries))


def _readable(act: Act) -> Act:
    at, who, kind, words = map(_text, (act.at, act.who, act.kind, act.words))
    return replace(act, at=at, who=who, kind=kind, words=words)


def _shown(entry: Entry) -> Entry:
    subject = Subject(*map(_text, entry.subject))
    return replace(entry, subject=subject, body=None if entry.body is None else _text(entry.body))


def _text(text: str) -> str:
    """What is no text becomes the sign for that."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def _is_body(body: str | None) -> bool:
    try:
        return body is None or json.loads(body) is not None
    except ValueError:
        return False


def _leads_on(found: _Found, number: int, before: bytes) -> bool:
    made = found.entries.get(number, {})
    return any(
        digest_of(before, act, ways) == act.digest
        for act in found.acts.get(number, [])
        for ways in _ways(made)
    )


def _ways(made: dict[int, list[Entry]]) -> Iterator[Sequence[Entry]]:
    """Every choice among an act's entries, where a row was found in several versions."""
    choices = itertools.product(*(made[key] for key in sorted(made)))
    return itertools.islice(choices, _MOST_WAYS)


def _near(digest: bytes, other: bytes) -> bool:
    """The same but for a flipped byte or two: digests of different things differ in half."""
    differing = int.from_bytes(digest, "big") ^ int.from_bytes(other, "big")
    return differing.bit_count() <= _FLIPPED_BITS
