"""Acts: what a call writes, all of it or nothing, and how an act is taken back."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import replace

from ohmbook.errors import CallError
from ohmbook.notebook import boards as standing
from ohmbook.notebook.bodies import from_body, to_body
from ohmbook.notebook.book import Book
from ohmbook.notebook.change import Change, Saved
from ohmbook.notebook.checking import Checker
from ohmbook.notebook.ink import BOARD, READINGS, Act, Entry, Subject, digest_of
from ohmbook.notebook.ledger import Ledger, View, undone
from ohmbook.notebook.opening import read_ledger
from ohmbook.notebook.store import Store, insert
from ohmbook.notebook.telling import told_beside

Decide = Callable[[View], tuple[str, Sequence[Change], int | None]]
"""What stands there, to: what is done in words, what is written, which act it takes back."""

Also = Callable[[sqlite3.Connection], None]
"""What else is written in the same transaction."""

_TURN = {"undo": "undone", "redo": "redone"}


class Acting(Book):
    """A notebook that can be written in: acts, undo and redo."""

    def __init__(self, store: Store, ledger: Ledger, who: str) -> None:
        super().__init__(store, ledger)
        self.who = who
        self._checker = Checker(store.file)

    def write(self, kind: str, words: str, changes: Sequence[Change]) -> Saved:
        """Write changes: all of them or none.

        Args:
            kind: what is done; see `ink.ActKind`.
            words: the same for the history.
            changes: what is to be written.

        Returns:
            What became of it. Where any change rests on an outdated state, all of them are kept
            beside what holds, and that is told.
        """
        return self._act(kind, lambda _: (words, changes, None))

    def undo(self, act: int | None = None) -> Saved:
        """Take back an act: an entry of its own, and nothing is lost.

        Args:
            act: which; the last one that counts where None.

        Raises:
            CallError: there is nothing to take back, or something later rests on it.
        """

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            last = view.last_done() if act is None else view.ledger.act(act)
            if last is None:
                raise CallError(
                    "There is nothing to undo."
                    if act is None
                    else f"The notebook has no number {act} in its history."
                )
            if not view.counts(last) or last.kind in _TURN:
                raise CallError(_why_not(view, last))
            later = view.built_upon(last.id)
            if later is not None:
                raise CallError(
                    f"Number {last.id} ({last.words}) has been built upon by number {later.id} "
                    f"({later.words}); undo that first."
                )
            return f"{last.kind}: {last.words}", (), last.id

        return self._act("undo", decide)

    def redo(self) -> Saved:
        """Do again what the last undo took back.

        Raises:
            CallError: there is nothing to do again.
        """

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            last = view.last_undone()
            if last is None:
                raise CallError("There is nothing to redo.")
            return last.words, (), last.id

        return self._act("redo", decide)

    def choose(self, act: int, *, keep: bool = True) -> Saved:
        """Settle what was kept beside: let it count after all, or leave it as it is for good.

        Args:
            act: one of `beside`.
            keep: whether it is to count from now on.

        Raises:
            CallError: there is no such act.
        """
        if act not in {one.id for one in self.beside()}:
            raise CallError(f"Number {act} of the history is not kept beside anything.")
        made = self.made_by(act)
        if keep and not all(_is_there(self.view(), one.subject) for one in made):
            raise CallError(
                f"What number {act} was written on is no longer there, so it cannot count; leave "
                "it beside for good, or undo what took that away."
            )
        changes = [
            Change(one.subject, None if one.body is None else from_body(one.body)) for one in made
        ]
        words = f"number {act} " + ("counts from now on" if keep else "stays beside for good")
        return self._act("choose", lambda _: (words, changes if keep else (), act))

    def _act(
        self, kind: str, decide: Decide, *, checked: bool = False, also: Also | None = None
    ) -> Saved:
        """One act: look at what stands there, check, and write, with nobody else writing."""
        with self._store.writing() as db:
            read_ledger(self._store, self._ledger)
            view = self._ledger.view()
            words, changes, undoes = decide(view)
            changes = changes if checked else self._checker.told_apart(view, changes)
            made = [_entry(self._ledger, one, k) for k, one in enumerate(changes)]
            outdated = [
                one
                for one in changes
                if one.base is not None and one.base != _head(self._ledger, one.subject)
            ]
            if not outdated and not checked:
                self._checker.check(view, changes)
            act = Act(self._ledger.last + 1, _now(), self.who, kind, words, undoes, bool(outdated))
            act = replace(act, digest=digest_of(self._ledger.digest, act, made))
            if undoes is not None and not changes:
                self._check_turn(view, act)
            if also is not None:
                also(db)
            insert(db, act, made)
        self._ledger.add(act, made)
        told = told_beside(act, outdated, self._store.file) if outdated else ""
        return Saved(act.id, tuple(one.id for one in made), bool(outdated), told)

    def _check_turn(self, view: View, act: Act) -> None:
        """Whether every reading still stands once an act is taken back, or done again."""
        after = View(self._ledger, act.id, frozenset(undone([*self._ledger.acts, act])))
        turned = [one for k in after.undone ^ view.undone for one in self.made_by(k)]
        if _only_readings(view, after, turned):
            return
        touched = {one.subject.board for one in turned}
        for board in touched & set(standing.boards(view)) & set(standing.boards(after)):
            self._checker.check_left(view, after, board)


def _why_not(view: View, act: Act) -> str:
    """Why an act cannot be taken back."""
    said = f"Number {act.id} ({act.kind}: {act.words})"
    if act.kind in _TURN:
        return f"{said} only took back or did again; undo what it names, or redo."
    if act.id in view.undone:
        return f"{said} is undone already."
    return f"{said} does not count, so there is nothing to undo in it."


def _is_there(view: View, subject: Subject) -> bool:
    """Whether a board is there, and the same one still where a reading was written on it."""
    if subject.board not in standing.boards(view):
        return subject.section == BOARD
    return subject.section != READINGS or subject in standing.reading_subjects(view, subject.board)


def _only_readings(view: View, after: View, turned: Sequence[Entry]) -> bool:
    """Whether nothing but readings is turned, and none that another one refers to."""
    if any(one.subject.section != READINGS for one in turned):
        return False
    subjects = {one.subject for one in turned}
    for board in {one.board for one in subjects}:
        names = {
            one.name
            for each in (view, after)
            for one in standing.readings(each, board)
            if one.entry.subject in subjects
        }
        bodies = [one.body or "" for one in after.standing(board, READINGS)]
        if any(to_body(f"@{name}") in body for name in names for body in bodies):
            return False
    return True


def _entry(ledger: Ledger, change: Change, place: int) -> Entry:
    """The entry that a change becomes; a new reading is known by its own entry's number."""
    number = (ledger.entries[-1].id if ledger.entries else 0) + 1 + place
    board, section, key = change.subject
    if section == READINGS and not key:
        key = str(number)
    base = _head(ledger, change.subject) if change.base is None else change.base
    body = None if change.value is None else to_body(change.value)
    return Entry(number, ledger.last + 1, Subject(board, section, key), base, body)


def _head(ledger: Ledger, subject: Subject) -> int:
    found = ledger.view().head(subject)
    return 0 if found is None else found.id


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
