"""What a sheet says as changes of a board, and changes in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import BOARD, NAMED, READINGS, WHOLE, Act, Subject


def changes_of(board: str, raw: Mapping[str, Any]) -> list[Change]:
    """Everything that a sheet says, as changes of a board that is begun with them."""
    found = [Change(Subject(board, BOARD, ""), {})]
    for section, value in raw.items():
        if section in WHOLE:
            found.append(Change(Subject(board, section, ""), value))
        elif section in NAMED:
            found += [Change(Subject(board, section, key), one) for key, one in value.items()]
        else:
            found += [Change(Subject(board, section, ""), one) for one in value]
    return found


def listed(changes: Sequence[Change]) -> str:
    """What is written, for the history: "L1, C2 and 3 readings"."""
    count = sum(one.subject.section == READINGS for one in changes)
    names = [
        one.subject.key or one.subject.section for one in changes if one.subject.section != READINGS
    ]
    shown = names if len(names) <= 4 else [*names[:3], f"{len(names) - 3} more"]
    said = [*shown, count_of(count, "reading")] if count else shown
    return " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)


def told_beside(act: Act, outdated: Sequence[Change], file: str) -> str:
    """What to tell the person whose act rests on an outdated state."""
    what = ", ".join(dict.fromkeys(_thing(one.subject) for one in outdated))
    return (
        f"{what} has been changed by someone else since you looked. Both are kept: theirs counts, "
        f"yours stands beside it as number {act.id} of the history of {file}. Look at both, then "
        f"let yours count (ohmbook notebook choose) or leave it."
    )


def _thing(subject: Subject) -> str:
    board, section, key = subject
    if section == READINGS:
        return f"A reading of {board}"
    return f"{key or section} of {board}"


def count_of(number: int, noun: str) -> str:
    """ "1 reading", "3 readings"."""
    return f"{number} {noun}{'s' * (number != 1)}"
