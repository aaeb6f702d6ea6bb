"""All that a notebook holds of one part: its readings, its attachments, and their history."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.notebook.attachments import Attached, attachments
from ohmbook.notebook.boards import Kept, kept
from ohmbook.notebook.ink import PARTS, READINGS, Act, Entry, Subject
from ohmbook.notebook.ledger import View

_OWN_WORDS = ("name", "note", "struck", "kind")


@dataclass(frozen=True)
class About:
    """What is there of a part.

    Args:
        written: every entry about the part itself, in order, whether it counts or not.
        readings: those that speak of it, struck ones too, each with every entry about it.
        attachments: those that belong to it or to one of these readings.
        acts: everything that was done to any of them, in order.
    """

    written: Sequence[Entry]
    readings: Sequence[tuple[Kept, Sequence[Entry]]]
    attachments: Sequence[Attached]
    acts: Sequence[Act]


def about(view: View, board: str, part: str) -> About:
    """Gather what is there of a part.

    Args:
        view: the moment.
        board: its name.
        part: the part's, or a source's or an instrument's.
    """
    ledger, own = view.ledger, Subject(board, PARTS, part)
    written = tuple(ledger.history(own))
    readings = tuple(
        (one, tuple(ledger.history(one.entry.subject))) for one in _readings(view, board, part)
    )
    theirs = {own, *(one.entry.subject for one, _ in readings)}
    attached = tuple(one for one in attachments(view, board) if one.to in theirs)
    entries = [*written, *(entry for _, history in readings for entry in history)]
    entries += [one.entry for one in attached]
    acts = sorted({one.act for one in entries if one.act <= view.at})
    return About(written, readings, attached, tuple(ledger.acts[number - 1] for number in acts))


def _readings(view: View, board: str, part: str) -> Iterator[Kept]:
    """Those that speak of it; the JSON of most needn't be read to see that they don't."""
    named = json.dumps(part, ensure_ascii=False)[:-1]  # also a leg of it, as in "C1.1"
    for number, subject in enumerate(view.ledger.subjects(board, READINGS), 1):
        if not any(named in (one.body or "") for one in view.ledger.history(subject)):
            continue
        found = kept(view, subject, number)
        if found is not None and speaks_of(found.raw, part):
            yield found


def speaks_of(raw: Mapping[str, Any], part: str) -> bool:
    """Whether a reading has to do with a part: its own, one detached, lifted, and the like."""
    return any(_names(held, part) for key, held in raw.items() if key not in _OWN_WORDS)


def _names(value: Any, part: str) -> bool:
    if isinstance(value, Mapping):
        return part in value or any(_names(one, part) for one in value.values())
    if isinstance(value, list):
        return any(_names(one, part) for one in value)
    return isinstance(value, str) and (value == part or value.startswith(f"{part}."))
