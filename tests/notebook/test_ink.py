"""What is written stays: strikes, revisions, undo, and any moment seen again."""

from __future__ import annotations

import sqlite3
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import ohmbook
from ohmbook.errors import CallError, SheetError
from ohmbook.notebook.notebook import Notebook
from tests.notebook.books import COIL, WAITING, ohms


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook.new(tmp_path / "bench.ohmbook", who="tester") as made:
        made.take_in("coil", COIL)
        yield made


def states(book: Notebook) -> list[str]:
    """The board's text after every act so far."""
    return [book.text("coil", act.id) for act in book.history()]


def test_a_sheet_taken_in_comes_out_the_same(book: Notebook) -> None:
    assert tomllib.loads(book.text("coil")) == tomllib.loads(COIL)
    assert book.sheet("coil") == ohmbook.read_sheet(text=COIL)


def test_readings_that_wait_are_kept_too(book: Notebook) -> None:
    book.take_in("waiting", WAITING)
    assert tomllib.loads(book.text("waiting")) == tomllib.loads(WAITING)
    assert book.sheet("waiting").waiting == ("reading 3",)


def test_a_struck_reading_stays_and_no_longer_counts(book: Notebook) -> None:
    before = ohmbook.settle(book.sheet("coil")).estimate("L1", "resistance")
    book.strike("coil", "ohms", "leads not held")
    after = ohmbook.settle(book.sheet("coil")).estimate("L1", "resistance")
    kept = book.reading("coil", "ohms")
    assert kept.struck == "leads not held"
    assert kept.raw["value"] == "0.5 ohm"
    assert after.standard_uncertainty > 2 * before.standard_uncertainty
    book.restore("coil", "ohms")
    again = ohmbook.settle(book.sheet("coil")).estimate("L1", "resistance")
    assert again.value == before.value


def test_a_revision_points_to_what_stood_there(book: Notebook) -> None:
    first = book.reading("coil", "ohms")
    book.revise("coil", "ohms", {**first.raw, "value": "0.7 ohm"})
    then = book.reading("coil", "ohms")
    assert (then.entry.base, then.number) == (first.entry.id, first.number)
    history = book.view().ledger.history(first.entry.subject)
    assert [one.id for one in history] == [first.entry.id, then.entry.id]


def test_every_moment_can_be_seen_and_settled_again(book: Notebook) -> None:
    settled = [ohmbook.settle(book.sheet("coil")).estimate("L1", "resistance").value]
    for value in ("0.6 ohm", "0.7 ohm"):
        book.revise("coil", "ohms", ohms(value, name="ohms", leads="0.2 ohm"))
        settled.append(ohmbook.settle(book.sheet("coil")).estimate("L1", "resistance").value)
    again = [
        ohmbook.settle(book.sheet("coil", one.id)).estimate("L1", "resistance").value
        for one in book.history()
    ]
    assert again == settled
    assert len(set(settled)) == 3


def test_undo_and_redo_are_entries_of_their_own(book: Notebook) -> None:
    for value in ("0.6 ohm", "0.7 ohm", "0.8 ohm"):
        book.add("coil", ohms(value))
    was = states(book)
    book.undo()
    book.undo()
    assert book.text("coil") == was[1]
    book.redo()
    assert book.text("coil") == was[2]
    book.redo()
    assert book.text("coil") == was[3]
    assert states(book)[:4] == was
    assert [one.kind for one in book.history()][4:] == ["undo", "undo", "redo", "redo"]


def test_nothing_is_redone_after_something_new(book: Notebook) -> None:
    book.add("coil", ohms())
    book.undo()
    book.add("coil", ohms("0.9 ohm"))
    with pytest.raises(CallError, match="nothing to redo"):
        book.redo()


def test_what_others_rest_on_is_not_taken_back(book: Notebook) -> None:
    book.add("coil", ohms(name="mine"))
    act = book.history()[-1].id
    book.strike("coil", "mine", "a trial")
    with pytest.raises(CallError, match=r"built upon by number 3 .*undo that first"):
        book.undo(act)


def test_a_part_that_readings_need_stays(book: Notebook) -> None:
    with pytest.raises(CallError, match=r'reading 1 would no longer stand \(unknown part "L1"'):
        book.take_out("coil", "parts", "L1")
    book.take_out("coil", "parts", "C1")
    assert "C1" not in book.plain("coil")["parts"]
    assert "C1" in book.plain("coil", 1)["parts"]


def test_undo_that_would_leave_a_reading_without_its_part_is_refused(book: Notebook) -> None:
    book.put("coil", 'parts = { L2 = { kind = "inductor" } }')
    act = book.history()[-1].id
    book.add("coil", ohms(part="L2"))
    with pytest.raises(CallError, match="reading 3 would no longer stand"):
        book.undo(act)


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        (ohms(part="L9"), r'reading 3.*, part: unknown part "L9"'),
        (ohms("0.5 mH"), r'reading 3, value: "0.5 mH"'),
        ({"kind": "resistence"}, r'reading 3, kind: unknown kind "resistence"'),
        ({"part": "L1"}, "reading 3, kind: this is missing"),
    ],
)
def test_an_unsound_reading_is_refused_and_nothing_written(
    book: Notebook, reading: dict[str, str], told: str
) -> None:
    with pytest.raises(SheetError, match=told):
        book.add("coil", reading)
    assert len(book.history()) == 1


def test_a_name_is_given_once(book: Notebook) -> None:
    with pytest.raises(CallError, match='a reading "ohms" already'):
        book.add("coil", ohms(name="ohms"))


def test_names_of_readings_stay_when_one_before_is_taken_back(book: Notebook) -> None:
    book.add("coil", ohms("0.6 ohm"))
    taken_back = book.history()[-1].id
    book.add("coil", ohms("0.7 ohm"))
    book.undo(taken_back)
    assert [one.name for one in book.readings("coil")] == ["reading 1", "ohms", "reading 4"]
    assert book.sheet("coil").readings[2].name == "reading 4"


def test_two_writers_on_one_reading_keep_both(book: Notebook, tmp_path: Path) -> None:
    mine = book.reading("coil", "ohms")
    with Notebook.open(tmp_path / "bench.ohmbook", who="phone") as other:
        theirs = other.reading("coil", "ohms")
        other.revise("coil", "ohms", {**theirs.raw, "value": "0.6 ohm"}, theirs.entry.id)
    saved = book.revise("coil", "ohms", {**mine.raw, "value": "0.7 ohm"}, mine.entry.id)
    assert saved.beside
    assert "Both are kept" in saved.told
    assert book.reading("coil", "ohms").raw["value"] == "0.6 ohm"
    (kept,) = book.beside()
    book.choose(kept.id)
    assert book.reading("coil", "ohms").raw["value"] == "0.7 ohm"
    assert book.beside() == ()
    book.undo()
    assert book.reading("coil", "ohms").raw["value"] == "0.6 ohm"
    assert book.beside() == (kept,)


def test_two_writers_of_further_readings_are_not_in_each_others_way(
    book: Notebook, tmp_path: Path
) -> None:
    with Notebook.open(tmp_path / "bench.ohmbook", who="phone") as other:
        for k in range(5):
            book.add("coil", ohms(f"0.{k + 1} ohm"))
            assert not other.add("coil", ohms(f"1.{k + 1} ohm")).beside
    book.refresh()
    assert len(book.readings("coil")) == 12
    assert {one.who for one in book.history()} == {"tester", "phone"}


@pytest.mark.parametrize("table", ["act", "entry", "migration"])
@pytest.mark.parametrize("deed", ["DELETE FROM {}", "UPDATE {} SET rowid = 99"])
def test_the_file_itself_refuses_to_forget(book: Notebook, table: str, deed: str) -> None:
    book.close()
    db = sqlite3.connect(book.store.path)
    with pytest.raises(sqlite3.IntegrityError, match="what is written in a notebook stays"):
        db.execute(deed.format(table))
    db.close()


def test_a_half_drawn_board_is_kept_and_told_when_it_is_settled(book: Notebook) -> None:
    book.put("coil", '[parts]\nL2 = { kind = "inductor", between = ["in", "w"] }\n')
    with pytest.raises(SheetError, match=r'coil, part L2, between: node "in" has only L2'):
        book.sheet("coil")


def test_boards_have_names_of_their_own(book: Notebook) -> None:
    with pytest.raises(CallError, match='a board "coil" already'):
        book.take_in("coil", COIL)
    for name in ("", " left", "a:b", "a/b", "a@b", ".", ".."):
        with pytest.raises(CallError, match="cannot be a board's name"):
            book.begin_board(name)
    book.begin_board("Hall, right")
    assert book.boards() == ("coil", "Hall, right")
    assert book.boards(1) == ("coil",)
