"""Everything written in a notebook, in memory, and what holds at any moment of its history."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ohmbook.notebook.ink import BOARD, Act, Entry, Subject

_TURNS = ("undo", "redo")


@dataclass
class Ledger:
    """Acts and entries as they were written, with what is needed to look things up quickly."""

    acts: list[Act] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    _of_act: dict[int, list[Entry]] = field(default_factory=dict)
    _of_subject: dict[Subject, list[Entry]] = field(default_factory=dict)
    _of_board: dict[str, dict[str, list[Subject]]] = field(default_factory=dict)
    _undone: set[int] = field(default_factory=set)

    def add(self, act: Act, entries: Iterable[Entry]) -> None:
        """Write one act further."""
        self.acts.append(act)
        made = list(entries)
        self._of_act[act.id] = made
        self.entries += made
        for one in made:
            if one.subject not in self._of_subject:
                sections = self._of_board.setdefault(one.subject.board, {})
                sections.setdefault(one.subject.section, []).append(one.subject)
            self._of_subject.setdefault(one.subject, []).append(one)
        if act.undoes is not None:
            self._undone = undone(self.acts)

    @property
    def last(self) -> int:
        """The last act's number; 0 in an empty notebook."""
        return self.acts[-1].id if self.acts else 0

    @property
    def digest(self) -> bytes:
        """The last act's digest."""
        return self.acts[-1].digest if self.acts else b""

    def act(self, number: int) -> Act | None:
        """An act by its number."""
        return self.acts[number - 1] if 1 <= number <= len(self.acts) else None

    def made_by(self, act: int) -> Sequence[Entry]:
        """The entries of an act."""
        return self._of_act.get(act, ())

    def boards(self) -> tuple[str, ...]:
        """Every board that was ever written of, in the order they came."""
        return tuple(self._of_board)

    def subjects(self, board: str, section: str) -> Sequence[Subject]:
        """Everything ever written of in a section, in the order it came."""
        return self._of_board.get(board, {}).get(section, ())

    def history(self, subject: Subject) -> Sequence[Entry]:
        """Every entry about a subject, whether it counts or not."""
        return self._of_subject.get(subject, ())

    def view(self, at: int | None = None) -> View:
        """What held after an act.

        Args:
            at: the act's number; the last one where None.
        """
        if at is None or at >= self.last:
            return View(self, self.last, frozenset(self._undone))
        return View(self, at, frozenset(undone(self.acts[:at])))


@dataclass(frozen=True)
class View:
    """What holds at one moment.

    Args:
        ledger: everything written.
        at: the last act that is looked at.
        undone: acts that have been taken back by then.
    """

    ledger: Ledger
    at: int
    undone: frozenset[int]

    def counts(self, act: Act) -> bool:
        """Whether an act's entries count."""
        return act.id <= self.at and act.id not in self.undone and not act.beside

    def head(self, subject: Subject) -> Entry | None:
        """The last entry about a subject that counts."""
        for one in reversed(self.ledger.history(subject)):
            if self.counts(self.ledger.acts[one.act - 1]):
                return one
        return None

    def standing(self, board: str, section: str) -> Iterator[Entry]:
        """The entries that hold in a section, without what was taken out, in order."""
        for subject in self.ledger.subjects(board, section):
            head = self.head(subject)
            if head is not None and head.body is not None:
                yield head

    def last_done(self) -> Act | None:
        """The last act that an undo would take back."""
        done = (one for one in reversed(self.ledger.acts) if self.counts(one))
        return next((one for one in done if one.kind not in _TURNS), None)

    def last_undone(self) -> Act | None:
        """The last undo that a redo would take back; None once something new was done."""
        for one in reversed(self.ledger.acts):
            if not self.counts(one):
                continue
            if one.kind == "undo":
                return one
            if one.kind != "redo":
                return None
        return None

    def built_upon(self, act: int) -> Act | None:
        """A later act that counts and rests on what an act wrote: on the same thing, or anything
        on a board that the act began."""
        for one in self.ledger.made_by(act):
            head = self.head(one.subject)
            if head is not None and head.act > act:
                return self.ledger.acts[head.act - 1]
        begun = {one.subject.board for one in self.ledger.made_by(act) if _begins(one)}
        later = (one for one in self.ledger.entries if begun and one.act > act)
        acts = (self.ledger.acts[one.act - 1] for one in later if one.subject.board in begun)
        return next((one for one in acts if self.counts(one)), None)


def _begins(entry: Entry) -> bool:
    return entry.subject.section == BOARD


def undone(acts: Sequence[Act]) -> set[int]:
    """Which acts have been taken back: from the last to the first, since an undo can be undone."""
    found: set[int] = set()
    for one in reversed(acts):
        if one.undoes is not None and one.id not in found:
            found.add(one.undoes)
    return found
