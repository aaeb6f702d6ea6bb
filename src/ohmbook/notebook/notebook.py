"""The notebook: opened, written in, looked at as it stood at any moment.

Whatever is written stays. A reading is struck or revised, never changed; undo and redo are entries
of their own. Everything one call writes is one transaction, all of it or nothing.
"""

from __future__ import annotations

import datetime
import getpass
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any

from ohmbook.errors import CallError
from ohmbook.notebook import boards as standing
from ohmbook.notebook.bodies import from_body, to_body
from ohmbook.notebook.book import Book
from ohmbook.notebook.change import Change, Saved
from ohmbook.notebook.checking import Checker, check_board_name
from ohmbook.notebook.ink import BOARD, NAMED, READINGS, WHOLE, Act, Entry, Subject, digest_of
from ohmbook.notebook.ledger import Ledger, View, undone
from ohmbook.notebook.opening import begin, opened, read_ledger
from ohmbook.notebook.store import WAIT_S, Store, insert
from ohmbook.sheet.read import check_alone, read_sheet
from ohmbook.sheet.syntax import parse

Decide = Callable[[View], tuple[str, Sequence[Change], int | None]]
_TURN = {"undo": "undone", "redo": "redone"}


class Notebook(Book):
    """An open notebook. Use it in a `with`, or `close` it."""

    def __init__(self, store: Store, ledger: Ledger, who: str) -> None:
        super().__init__(store, ledger)
        self.who = who
        self._checker = Checker(store.file)

    @classmethod
    def new(cls, path: str | os.PathLike[str], who: str | None = None) -> Notebook:
        """Begin a notebook.

        Raises:
            NotebookError: something of that name is there, or nothing can be written there.
        """
        begin(Path(path), os.fspath(path))
        return cls.open(path, who=who)

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        *,
        readonly: bool = False,
        who: str | None = None,
        wait_s: float = WAIT_S,
    ) -> Notebook:
        """Open a notebook; every entry is checked.

        Args:
            path: where it is.
            readonly: leave the file as it is.
            who: the writer, for the history; the name of whoever is logged in where None.
            wait_s: how long another program's writing is waited for, s.

        Raises:
            NotebookError: it cannot be opened.
            DamagedError: something else stands in it than was written.
        """
        store, ledger = opened(Path(path), os.fspath(path), readonly=readonly, wait_s=wait_s)
        return cls(store, ledger, who or _logged_in())

    def __enter__(self) -> Notebook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # writing

    def take_in(self, board: str, text: str, file: str = "sheet") -> Saved:
        """Begin a board with everything a sheet says.

        Raises:
            SheetError: the sheet is at fault, and where.
            CallError: there is a board of that name.
        """
        read_sheet(text=text, file=file)
        raw, _ = parse(file, text.removeprefix("\ufeff"))

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            check_board_name(view, board)
            return f"took in {file} as {board}", _changes_of(board, raw), None

        return self._act("take in", decide, checked=True)

    def begin_board(self, board: str) -> Saved:
        """Begin an empty board.

        Raises:
            CallError: there is a board of that name, or it cannot be one.
        """

        def decide(view: View) -> tuple[str, Sequence[Change], int | None]:
            check_board_name(view, board)
            return f"began {board}", _changes_of(board, {}), None

        return self._act("begin", decide)

    def put(self, board: str, text: str, file: str = "sheet") -> Saved:
        """Write a piece of a sheet: readings are added, anything else takes the place of what
        stood under its name.

        Raises:
            SheetError: it is at fault, and where.
            CallError: there is no such board, or nothing in the text.
        """
        self._known(board)
        raw, _ = parse(file, text.removeprefix("\ufeff"))
        check_alone(raw, file=file)
        changes = _changes_of(board, raw)[1:]
        if not changes:
            raise CallError(f"{file}: nothing to write; expected a [[readings]] or a part.")
        return self.write("write", f"{_listed(changes)} on {board}", changes)

    def take_out(self, board: str, section: str, name: str, base: int | None = None) -> Saved:
        """Take a part, a source or an instrument out of a board; its history stays.

        Raises:
            CallError: it is not there, or readings refer to it.
        """
        subject = Subject(self._known(board), section, name)
        if body_of(self.view(), subject) is None:
            raise CallError(f'There is no "{name}" among the {section} of {board}.')
        return self.write("take out", f"{name} of {board}", [Change(subject, None, base)])

    def add(self, board: str, *raws: dict[str, Any]) -> Saved:
        """Write further readings, as a sheet has them."""
        self._known(board)
        changes = [Change(Subject(board, READINGS, ""), raw) for raw in raws]
        return self.write("write", f"{_count(len(raws), 'reading')} on {board}", changes)

    def revise(self, board: str, name: str, raw: dict[str, Any], base: int | None = None) -> Saved:
        """Put another text in a reading's place; the one before stays, and is pointed to.

        Args:
            board: which.
            name: the reading's.
            raw: its plain values from now on.
            base: the entry that the writer saw there, so that nothing is overwritten unseen.
        """
        kept = self.reading(board, name)
        change = Change(kept.entry.subject, raw, kept.entry.id if base is None else base)
        return self.write("revise", f"{kept.name} of {board}", [change])

    def strike(self, board: str, name: str, why: str, base: int | None = None) -> Saved:
        """Strike a reading: it stays, and no longer counts.

        Raises:
            CallError: no reason is given, or it is struck already.
        """
        kept = self.reading(board, name)
        if not why.strip():
            raise CallError('Why is it struck? Expected a few words, such as "probe slipped".')
        if kept.struck is not None:
            raise CallError(f"{kept.name} of {board} is struck already ({kept.struck}).")
        change = Change(kept.entry.subject, {**kept.raw, "struck": why}, base or kept.entry.id)
        return self.write("strike", f"{kept.name} of {board}: {why}", [change])

    def restore(self, board: str, name: str, base: int | None = None) -> Saved:
        """Let a struck reading count again."""
        kept = self.reading(board, name)
        if kept.struck is None:
            raise CallError(f"{kept.name} of {board} is not struck.")
        raw = {key: value for key, value in kept.raw.items() if key != "struck"}
        change = Change(kept.entry.subject, raw, base or kept.entry.id)
        return self.write("restore", f"{kept.name} of {board}", [change])

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
            if last is None or not view.counts(last) or last.kind in _TURN:
                raise CallError("There is nothing to undo.")
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
        changes = [
            Change(one.subject, None if one.body is None else from_body(one.body)) for one in made
        ]
        words = f"number {act} " + ("counts from now on" if keep else "stays beside for good")
        return self._act("choose", lambda _: (words, changes if keep else (), act))

    def _act(self, kind: str, decide: Decide, *, checked: bool = False) -> Saved:
        """One act: look at what stands there, check, and write, with nobody else writing."""
        with self._store.writing() as db:
            read_ledger(self._store, self._ledger)
            view = self._ledger.view()
            words, changes, undoes = decide(view)
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
            insert(db, act, made)
        self._ledger.add(act, made)
        told = _told(act, outdated, self._store.file) if outdated else ""
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
    number = len(ledger.entries) + 1 + place
    board, section, key = change.subject
    if section == READINGS and not key:
        key = str(number)
    base = _head(ledger, change.subject) if change.base is None else change.base
    body = None if change.value is None else to_body(change.value)
    return Entry(number, ledger.last + 1, Subject(board, section, key), base, body)


def _head(ledger: Ledger, subject: Subject) -> int:
    found = ledger.view().head(subject)
    return 0 if found is None else found.id


def _changes_of(board: str, raw: dict[str, Any]) -> list[Change]:
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


def _listed(changes: Sequence[Change]) -> str:
    """What is written, for the history: "L1, C2 and 3 readings"."""
    count = sum(one.subject.section == READINGS for one in changes)
    names = [
        one.subject.key or one.subject.section for one in changes if one.subject.section != READINGS
    ]
    shown = names if len(names) <= 4 else [*names[:3], f"{len(names) - 3} more"]
    said = [*shown, _count(count, "reading")] if count else shown
    return " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)


def _told(act: Act, outdated: Sequence[Change], file: str) -> str:
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


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'s' * (number != 1)}"


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")


def _logged_in() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "someone"
