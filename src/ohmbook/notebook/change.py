"""What is to be written, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ohmbook.notebook.ink import Subject


@dataclass(frozen=True, slots=True)
class Change:
    """One thing to be written.

    Args:
        subject: what it is about; the key of a new reading is "".
        value: plain values of what is to stand there; None takes it out.
        base: id of the entry that the writer saw there, 0 for none; None where they write on
            whatever stands there now.
    """

    subject: Subject
    value: Any
    base: int | None = None


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of an act.

    Args:
        act: its number in the history.
        entries: the numbers of what it wrote.
        beside: it rested on an outdated state: it is kept beside what holds, and does not count.
        told: what to tell the person then, or of a part that stays where it was; "" otherwise.
    """

    act: int
    entries: tuple[int, ...]
    beside: bool = False
    told: str = ""
