"""The notebook's commands, as a person gives them."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from ohmbook.cli import app
from ohmbook.notebook.notebook import Notebook
from tests.notebook.books import COIL, ohms

runner = CliRunner()
FURTHER = """
[[readings]]
kind = "resistance"
part = "L1"
value = "0.6 ohm"
"""


def run(*args: str, status: int = 0, typed: str | None = None) -> str:
    """What a command prints, after its exit status has been looked at."""
    done = runner.invoke(app, list(args), input=typed)
    assert done.exit_code == status, done.output
    return done.output


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    Path("coil.toml").write_text(COIL, encoding="utf-8")
    told = run("notebook", "import", "bench.ohmbook", "coil.toml")
    assert "Began bench.ohmbook and took coil.toml in as bench.ohmbook:coil (2 readings)" in told
    return "bench.ohmbook"


def test_out_comes_what_went_in(book: str) -> None:
    assert tomllib.loads(run("notebook", "export", book)) == tomllib.loads(COIL)
    assert "Wrote out.toml" in run("notebook", "export", book, "--to", "out.toml")
    assert tomllib.loads(Path("out.toml").read_text("utf-8")) == tomllib.loads(COIL)
    assert "is left alone" in run("notebook", "export", book, "--to", "out.toml", status=2)


def test_a_board_is_taken_wherever_a_sheet_is(book: str) -> None:
    from_sheet = json.loads(run("settle", "coil.toml", "--json"))
    from_book = json.loads(run("settle", f"{book}:coil", "--json"))
    assert from_book["estimates"] == from_sheet["estimates"]
    assert json.loads(run("next", book, "--json"))["suggestions"]
    run("notebook", "import", book, "coil.toml", "--board", "other")
    assert "coil" in run("compare", f"{book}:coil", f"{book}:other")


def test_write_strike_undo_and_look(book: str) -> None:
    assert "Number 2, write: 1 reading on coil." in run(
        "notebook", "write", book, "-", typed=FURTHER
    )
    assert "Number 3, strike: reading 3 of coil: slipped." in run(
        "notebook", "strike", book, "3", "--why", "slipped"
    )
    assert "struck: slipped" in run("notebook", "show", f"{book}:coil")
    assert "Number 4, undo" in run("notebook", "undo", book)
    assert "struck" not in run("notebook", "show", f"{book}:coil")
    assert "struck: slipped" in run("notebook", "show", f"{book}:coil@3")
    assert "Number 5, redo" in run("notebook", "redo", book)
    assert "Number 6, restore" in run("notebook", "restore", book, "3")
    Path("new.toml").write_text(FURTHER.replace("0.6", "0.7"), encoding="utf-8")
    assert "Number 7, revise" in run("notebook", "revise", book, "3", "new.toml")
    assert "revised" in run("notebook", "show", f"{book}:coil")
    assert "Number 8, take out: C1 of coil." in run("notebook", "take-out", book, "C1")
    told = run("notebook", "history", book)
    assert all(word in told for word in ("take in", "write", "strike", "undo", "redo", "revise"))
    assert "is whole: 8 numbers of history" in run("notebook", "check", book)


def test_what_two_wrote_at_once_is_chosen_between(book: str) -> None:
    with Notebook.open(book) as mine, Notebook.open(book) as theirs:
        kept = mine.reading("coil", "ohms")
        theirs.strike("coil", "ohms", "wrong range")
        mine.revise("coil", "ohms", ohms("0.9 ohm", name="ohms"), kept.entry.id)
    told = run("notebook", "show", book)
    assert "Kept beside what counts" in told
    assert "number 3" in told
    assert "counts from now on" in run("notebook", "choose", book, "3")
    assert 'value = "0.9 ohm"' in run("notebook", "export", book)
    assert "is not kept beside" in run("notebook", "choose", book, "3", status=2)


def test_values_as_csv(book: str) -> None:
    run("notebook", "import", book, "coil.toml", "--board", "again")
    rows = list(csv.DictReader(io.StringIO(run("notebook", "values", book))))
    assert {one["board"] for one in rows} == {"coil", "again"}
    (coil,) = [one for one in rows if (one["board"], one["quantity"]) == ("coil", "inductance")]
    assert coil["unit"] == "H"
    assert float(coil["low"]) < float(coil["value"]) < float(coil["high"])
    settled = json.loads(run("settle", "coil.toml", "--json"))["estimates"]["L1"]["inductance"]
    assert float(coil["value"]) == settled["value"]


def test_a_photo_is_kept_and_fetched_again(book: str) -> None:
    Path("coil.txt").write_text("a capture\n", encoding="utf-8")
    told = run("notebook", "attach", book, "coil.txt", "--to", "L1", "--note", "by hand")
    assert "Number 2, attach: coil.txt to L1" in told
    listed = run("notebook", "attachments", book)
    assert all(word in listed for word in ("coil.txt", "L1", "10 B", "by hand"))
    assert "Wrote again.txt (10 bytes" in run(
        "notebook", "fetch", book, "coil.txt", "--to", "again.txt"
    )
    assert Path("again.txt").read_bytes() == b"a capture\n"
    assert "is left alone" in run(
        "notebook", "fetch", book, "coil.txt", "--to", "again.txt", status=2
    )


def test_no_notebook_is_begun_for_what_cannot_be_taken_in(book: str) -> None:
    Path("bad.toml").write_text("x = [", encoding="utf-8")
    assert "this is not TOML" in run("notebook", "import", "new.ohmbook", "bad.toml", status=1)
    told = run("notebook", "import", "new.ohmbook", "coil.toml", "--board", "a:b", status=2)
    assert "cannot be a board's name" in told
    assert not Path("new.ohmbook").exists()


def test_labels_are_printed_and_found(book: str) -> None:
    assert "2 labels" in run("notebook", "labels", book, "--to", "labels")
    drawn = Path("labels/labels-coil-1.svg").read_text("utf-8")
    assert drawn.startswith("<?xml")
    assert Path("labels/labels-coil.pdf").read_bytes().startswith(b"%PDF")
    with Notebook.open(book) as kept:
        code = kept.label("coil", "L1")
    assert f"{code} is L1 of bench.ohmbook:coil." in run("notebook", "find", book, code.lower())
    assert "There is no label" in run("notebook", "find", book, "ZZZ", status=2)


def test_a_part_goes_into_the_drawer_with_its_value_and_back(book: str) -> None:
    told = run("notebook", "put-away", book, "L1", "--as-settled")
    assert "put away: L1 of coil to drawer" in told
    stated = tomllib.loads(run("notebook", "export", f"{book}:drawer"))["parts"]
    (part,) = stated.values()
    settled = json.loads(run("settle", "coil.toml", "--json"))["estimates"]["L1"]["inductance"]
    assert float(part["value"].split()[0]) == pytest.approx(settled["value"] * 1e3, rel=1e-4)
    assert part["value"].endswith("(k=2)")
    assert "do not tell the value of C1" in run(
        "notebook", "put-away", book, "C1", "--as-settled", status=2
    )
    run("notebook", "import", book, "coil.toml", "--board", "other")
    assert "to other" in run("notebook", "bring", f"{book}:other", next(iter(stated)), "--as", "L7")
    assert "L7" in run("notebook", "export", f"{book}:other")
    assert "bring: " in run("notebook", "history", book)
    shown = run("notebook", "show", f"{book}:other")
    assert "L7" in shown
    assert 'marked "0.82"' in shown


def test_a_part_that_stays_on_its_board_is_put_away_once(book: str) -> None:
    drawn = COIL.replace('marking = "0.82" }', 'marking = "0.82", between = ["in", "gnd"] }')
    probe = """
[[readings]]
kind = "resistance"
between = ["in", "gnd"]
value = "0.6 ohm"
"""
    Path("drawn.toml").write_text(drawn + probe, encoding="utf-8")
    run("notebook", "import", book, "drawn.toml", "--board", "drawn")
    assert "stays on drawn as well" in run("notebook", "put-away", f"{book}:drawn", "L1")
    told = run("notebook", "put-away", f"{book}:drawn", "L1", status=2)
    assert 'is in the drawer already, as "L1 (drawn)"; nothing was written' in told


def test_an_archive_and_back_and_a_copy(book: str) -> None:
    assert "Wrote a.zip" in run("notebook", "archive", book, "a.zip")
    assert "Wrote b.ohmbook" in run("notebook", "unpack", "a.zip", "b.ohmbook")
    run("notebook", "archive", "b.ohmbook", "b.zip")
    assert Path("a.zip").read_bytes() == Path("b.zip").read_bytes()
    assert "read it back" in run("notebook", "copy", book, "c.ohmbook")
    assert run("notebook", "export", "c.ohmbook") == run("notebook", "export", book)
    assert "already" in run("notebook", "unpack", "a.zip", "b.ohmbook", status=1)


@pytest.mark.parametrize(
    ("args", "status", "told"),
    [
        (("settle", "none.ohmbook"), 1, "there is no such notebook"),
        (("settle", "bench.ohmbook:left"), 2, 'There is no board "left" in bench.ohmbook; there'),
        (("notebook", "new", "bench.ohmbook"), 1, "something of that name is there already"),
        (("notebook", "import", "bench.ohmbook", "coil.toml"), 2, 'a board "coil" already'),
        (("notebook", "import", "bench.ohmbook", "none.toml"), 1, "there is no such file"),
        (("notebook", "strike", "bench.ohmbook", "9", "--why", "x"), 2, 'no reading "reading 9"'),
        (("notebook", "strike", "bench.ohmbook", "1", "--why", " "), 2, "Why is it struck?"),
        (("notebook", "restore", "bench.ohmbook", "1"), 2, "is not struck"),
        (("notebook", "redo", "bench.ohmbook"), 2, "nothing to redo"),
        (("notebook", "take-out", "bench.ohmbook", "L1"), 2, "reading 1 would no longer stand"),
        (("notebook", "take-out", "bench.ohmbook", "X"), 2, 'no part, source or instrument "X"'),
        (("notebook", "strike", "bench.ohmbook:coil@1", "1", "--why", "x"), 2, "what was cannot"),
        (("notebook", "check", "coil.toml"), 1, "this is no notebook"),
    ],
)
def test_faults_are_told(book: str, args: tuple[str, ...], status: int, told: str) -> None:
    before = Path(book).read_bytes()
    assert told in run(*args, status=status)
    assert Path(book).read_bytes() == before


def test_brackets_that_a_person_writes_are_shown_as_written(book: str) -> None:
    run("notebook", "strike", book, "1", "--why", "[/b] see [red]photo")
    assert "[/b] see [red]photo" in run("notebook", "show", f"{book}:coil")
    run("notebook", "write", book, "-", typed='title = "Coil [b]old[/x]"\n')
    assert "Coil [b]old[/x]" in run("notebook", "show", book)
    run("notebook", "attach", book, "coil.toml", "--note", "[/i] the sheet")
    assert "[/i] the sheet" in run("notebook", "attachments", book)


def test_why_a_number_cannot_be_undone_is_told(book: str) -> None:
    run("notebook", "strike", book, "1", "--why", "slipped")
    run("notebook", "undo", book)
    assert "is undone already" in run("notebook", "undo", book, "--number", "2", status=2)
    assert "undo what it names" in run("notebook", "undo", book, "--number", "3", status=2)
    assert "no number 99" in run("notebook", "undo", book, "--number", "99", status=2)
    run("notebook", "redo", book)
    assert "(redone)" in run("notebook", "history", book)


def test_a_struck_reading_that_is_revised_counts_again_and_that_is_told(book: str) -> None:
    run("notebook", "strike", book, "1", "--why", "slipped")
    told = run("notebook", "revise", book, "1", "-", typed=FURTHER)
    assert "struck before; it counts again" in told
    assert "L1, 0.6 ohm; revised" in run("notebook", "show", f"{book}:coil")


def test_what_is_to_be_typed_next_can_be_pasted(book: str) -> None:
    sheet = f"{COIL}\n# one leg lifted\n"
    Path("my coil.toml").write_text(sheet, encoding="utf-8")
    told = run("notebook", "import", "my book.ohmbook", "my coil.toml")
    assert "ohmbook settle 'my book.ohmbook:my coil'" in told
    assert "attach 'my book.ohmbook:my coil' 'my coil.toml'" in told
    assert "Remarks" not in run("notebook", "import", book, "coil.toml", "--board", "again")
