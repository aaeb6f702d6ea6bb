"""Labels: a short code for each part, to stick on the real one.

A code tells the number of the part's first entry in the notebook, so it is the part's for good and
nobody else's. It has no I, L, O, 0 and 1, and its last sign checks the others: the signs, counted
1, 2, 3 ... from the last, add up to a multiple of 31. As 31 is a prime, and neighbours count
differently, every single wrong sign and every swap of two neighbours is found (a weighted checksum
modulo a prime, as in ISBN-10, ISO 2108:2005).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ohmbook.errors import CallError
from ohmbook.notebook.ink import PARTS, Subject
from ohmbook.notebook.ledger import View
from ohmbook.sheet.near import nearest

SIGNS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
_BASE = len(SIGNS)
_LEAST = 3  # signs before the check sign: enough for 29,790 entries
_SCATTER = 11_003  # so that codes of neighbouring entries look nothing alike


@dataclass(frozen=True, slots=True)
class Labelled:
    """What a label is on.

    Args:
        code: as printed.
        board: where the part was first written.
        part: its name there.
        there: whether it still stands there.
        moved_to: board and name of the part that it became in the drawer or out of it, or None.
    """

    code: str
    board: str
    part: str
    there: bool
    moved_to: tuple[str, str] | None = None


def code_of(number: int) -> str:
    """The code of an entry's number.

    Args:
        number: from 1.

    Returns:
        Four signs up to 29,790, five up to 923,520, and so on.
    """
    length = _LEAST
    while number >= _BASE**length:
        length += 1
    left = number * _SCATTER % _BASE**length
    digits = [left // _BASE**k % _BASE for k in range(length)]
    check = -sum((k + 2) * digit for k, digit in enumerate(digits)) % _BASE
    return "".join(SIGNS[one] for one in (*reversed(digits), check))


def number_of(code: str) -> int | None:
    """The entry's number that a code tells; None where it is mistyped."""
    text = tidy(code)
    length = len(text) - 1
    if length < _LEAST or any(one not in SIGNS for one in text):
        return None
    digits = [SIGNS.index(one) for one in reversed(text)]
    if sum((k + 1) * digit for k, digit in enumerate(digits)) % _BASE:
        return None
    scattered = sum(digit * _BASE**k for k, digit in enumerate(digits[1:]))
    number = scattered * pow(_SCATTER, -1, _BASE**length) % _BASE**length
    return number if code_of(number) == text and number else None


def tidy(code: str) -> str:
    """A code as it is printed, however it was typed."""
    return "".join(code.upper().replace("-", "").split())


def label(view: View, board: str, part: str) -> str:
    """The code of a part.

    Raises:
        CallError: no such part was ever written.
    """
    written = view.ledger.history(Subject(board, PARTS, part))
    if not written:
        raise CallError(f'There is no part "{part}" on {board}, so it has no label.')
    return code_of(written[0].id)


def labels(view: View, board: str) -> dict[str, str]:
    """The code of every part that stands on a board, by name."""
    standing = view.standing(board, PARTS)
    return {one.subject.key: label(view, board, one.subject.key) for one in standing}


def part_of(view: View, code: str) -> Labelled:
    """The part that a label is on.

    Raises:
        CallError: it is mistyped, or no part of this notebook has it.
    """
    number = number_of(code)
    entries = view.ledger.entries
    if number is not None and number <= len(entries):
        subject = entries[number - 1].subject
        first = view.ledger.history(subject)[0]
        if subject.section == PARTS and first.id == number:
            return _labelled(view, code_of(number), subject)
    raise CallError(_unknown(view, tidy(code), mistyped=number is None))


def _labelled(view: View, code: str, subject: Subject) -> Labelled:
    head = view.head(subject)
    there = head is not None and head.body is not None
    moved = None if there else _moved(view, subject)
    return Labelled(code, subject.board, subject.key, there, moved)


def _moved(view: View, subject: Subject) -> tuple[str, str] | None:
    """Where a part that was put away, or taken from the drawer, is now."""
    seen = {subject}
    while True:
        head = view.head(subject)
        if head is not None and head.body is not None:
            return subject.board, subject.key
        act = None if head is None else view.ledger.acts[head.act - 1]
        if act is None or act.kind not in ("put away", "bring"):
            return None
        made = view.ledger.made_by(act.id)
        onward = [one.subject for one in made if one.subject.section == PARTS and one.body]
        if len(onward) != 1 or onward[0] in seen:
            return None
        subject = onward[0]
        seen.add(subject)


def _unknown(view: View, code: str, *, mistyped: bool) -> str:
    known = dict(_every(view))
    wrong = "it is mistyped" if mistyped else "it is from another notebook"
    near = _near(code, list(known))
    if near is None:
        return (
            f'There is no label "{code}" in this notebook: {wrong}. Labels have four signs or '
            "more, and no 0, 1, I, L or O among them."
        )
    return f'There is no label "{code}": {wrong}. Did you mean {near} ({known[near]})?'


def _every(view: View) -> Iterator[tuple[str, str]]:
    for board in view.ledger.boards():
        for subject in view.ledger.subjects(board, PARTS):
            number = view.ledger.history(subject)[0].id
            yield code_of(number), f"{subject.key} of {board}"


def _near(code: str, known: list[str]) -> str | None:
    """One sign or one swap away, or else the most alike."""
    slips = [
        one
        for one in known
        if len(one) == len(code)
        and (_differing(one, code) == 1 or (_differing(one, code) == 2 and _swapped(one, code)))
    ]
    return slips[0] if slips else nearest(code, known)


def _differing(one: str, other: str) -> int:
    return sum(a != b for a, b in zip(one, other, strict=True))


def _swapped(one: str, other: str) -> bool:
    return any(one[:k] + one[k + 1] + one[k] + one[k + 2 :] == other for k in range(len(one) - 1))
