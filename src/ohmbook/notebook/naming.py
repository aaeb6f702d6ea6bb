"""The readings of a board by their names, kept up to date as entries are added."""

from __future__ import annotations

from dataclasses import dataclass, field

from ohmbook.notebook.boards import Kept, kept
from ohmbook.notebook.ink import BOARD, READINGS, Subject
from ohmbook.notebook.ledger import View


@dataclass
class Names:
    """Which reading has which name; made anew only where something was taken back.

    Args:
        board: of which board.
    """

    board: str
    _seen: int = 0
    _undone: frozenset[int] = frozenset()
    _numbers: dict[Subject, int] = field(default_factory=dict)
    _of: dict[Subject, Kept] = field(default_factory=dict)
    _named: dict[str, Kept] = field(default_factory=dict)

    def at(self, view: View) -> dict[str, Kept]:
        """The readings by their names; not to be changed."""
        entries = view.ledger.entries
        if view.undone != self._undone or len(entries) < self._seen:
            self._seen, self._undone = 0, view.undone
            self._numbers, self._of, self._named = {}, {}, {}
        for one in entries[self._seen :]:
            if one.subject[:2] == (self.board, READINGS):
                self._take(view, one.subject)
            elif one.subject[:2] == (self.board, BOARD) and view.head(one.subject) is one:
                self._begin_anew(view)
        self._seen = len(entries)
        return self._named

    def number(self, view: View, subject: Subject) -> int:
        """Which reading a subject is, from 1; the next one where it is new."""
        self.at(view)
        return self._numbers.get(subject, len(self._numbers) + 1)

    def _begin_anew(self, view: View) -> None:
        """The board is begun here: what came before counts only in a rescued notebook."""
        before = [one for one in self._numbers if view.head(one) is not None]
        self._numbers, self._of, self._named = {}, {}, {}
        for one in before:
            self._take(view, one)

    def _take(self, view: View, subject: Subject) -> None:
        number = self._numbers.setdefault(subject, len(self._numbers) + 1)
        before = self._of.pop(subject, None)
        if before is not None and self._named.get(before.name) is before:
            del self._named[before.name]
        found = kept(view, subject, number)
        if found is not None:
            self._of[subject] = self._named[found.name] = found
