"""The commands of the notebook: parse, call the library door, show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ohmbook.cli.guard import Guarded
from ohmbook.cli.screen import progress, say_done, show, show_text

Book = Annotated[str, typer.Argument(metavar="BOOK", help="A notebook, such as speakers.ohmbook.")]
Board = Annotated[
    str,
    typer.Argument(
        metavar="BOARD",
        help="A notebook's board: speakers.ohmbook:left, or the notebook if it has only one.",
    ),
]
Moment = Annotated[
    str,
    typer.Argument(
        metavar="BOARD", help="A board, and where wanted a moment: speakers.ohmbook:left@12."
    ),
]
Reading = Annotated[str, typer.Argument(metavar="READING", help="A reading's name, or its number.")]
Piece = Annotated[
    str,
    typer.Argument(metavar="TEXT", help="A file with a piece of a sheet; - is standard input."),
]

app = typer.Typer(
    cls=Guarded,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="One file that keeps every reading, and everything that was ever written.",
    epilog=(
        "Wherever a command takes a sheet it takes a board as well: ohmbook settle "
        "speakers.ohmbook:left, and speakers.ohmbook:left@12 or @2026-11-25 as it stood then."
    ),
)


@app.command("new")
def new(book: Book) -> None:
    """Begin a notebook."""
    from ohmbook.job import keeping

    say_done(keeping.new(book))


@app.command("import")
def take_in(
    book: Book,
    sheet: Annotated[str, typer.Argument(metavar="SHEET", help="A bench sheet.")],
    board: Annotated[
        str | None, typer.Option("--board", metavar="NAME", help="What to call the board.")
    ] = None,
) -> None:
    """Take a sheet in, as a board of its own."""
    from ohmbook.job import keeping

    say_done(keeping.take_in(book, sheet, board))


@app.command("export")
def export(
    board: Moment,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="Write it there; else print it.")
    ] = None,
) -> None:
    """A board as a sheet: taken in again, it gives the same."""
    from ohmbook.job import keeping

    if to is None:
        show_text(keeping.text_of(board))
    else:
        say_done(keeping.write_sheet_file(board, to))


@app.command("show")
def show_book(board: Moment) -> None:
    """The boards of a notebook, or the readings of a board."""
    from ohmbook.job import keeping

    show(keeping.show(board))


@app.command("write")
def write(board: Board, text: Piece) -> None:
    """Write further readings, or parts, sources and instruments anew.

    What stood under the same name stays in the history.
    """
    from ohmbook.job import keeping

    say_done(keeping.write(board, text))


@app.command("revise")
def revise(board: Board, reading: Reading, text: Piece) -> None:
    """Put another text in a reading's place; the one before stays in the history."""
    from ohmbook.job import keeping

    say_done(keeping.revise(board, reading, text))


@app.command("strike")
def strike(
    board: Board,
    reading: Reading,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is not to count.")],
) -> None:
    """Strike a reading: it stays, and no longer counts."""
    from ohmbook.job import keeping

    say_done(keeping.strike(board, reading, why))


@app.command("restore")
def restore(board: Board, reading: Reading) -> None:
    """Let a struck reading count again."""
    from ohmbook.job import keeping

    say_done(keeping.restore(board, reading))


@app.command("take-out")
def take_out(
    board: Board,
    name: Annotated[str, typer.Argument(metavar="NAME", help="A part, a source or an instrument.")],
) -> None:
    """Take a part, a source or an instrument out of a board."""
    from ohmbook.job import keeping

    say_done(keeping.take_out(board, name))


@app.command("undo")
def undo(
    book: Book,
    number: Annotated[
        int | None,
        typer.Option("--number", metavar="N", help="Which of the history; else the last one."),
    ] = None,
) -> None:
    """Take back what was done last; that too is written down."""
    from ohmbook.job import keeping

    say_done(keeping.undo(book, number))


@app.command("redo")
def redo(book: Book) -> None:
    """Do again what the last undo took back."""
    from ohmbook.job import keeping

    say_done(keeping.redo(book))


@app.command("choose")
def choose(
    book: Book,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Of the history.")],
    *,
    leave: Annotated[bool, typer.Option("--leave", help="Leave it beside for good.")] = False,
) -> None:
    """Let what two people wrote at once count after all, or leave it."""
    from ohmbook.job import keeping

    say_done(keeping.choose(book, number, leave=leave))


@app.command("history")
def history(board: Board) -> None:
    """What was done, when and by whom."""
    from ohmbook.job import keeping

    show(keeping.history(board))


@app.command("values")
def values(board: Moment) -> None:
    """Every value of every board, as CSV."""
    from ohmbook.job.values import values_csv

    with progress("Settling", 1) as bar:
        written = values_csv(board, bar)
    show_text(written)


@app.command("attach")
def attach(
    board: Board,
    file: Annotated[str, typer.Argument(metavar="FILE", help="A photo, a capture, a data sheet.")],
    to: Annotated[
        str | None,
        typer.Option("--to", metavar="NAME", help="The part or reading it belongs to."),
    ] = None,
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="What it shows.")] = "",
) -> None:
    """Keep a file with a board: its bytes as they are, up to 25 MB."""
    from ohmbook.job import around

    say_done(around.attach(board, file, to, note))


@app.command("attachments")
def attachments(board: Moment) -> None:
    """What is attached to a board."""
    from ohmbook.job import around

    show(around.attachments(board))


@app.command("fetch")
def fetch(
    board: Moment,
    name: Annotated[str, typer.Argument(metavar="NAME", help="The attachment's name.")],
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="Where; else under its name here.")
    ] = None,
) -> None:
    """Write an attachment into a file again."""
    from ohmbook.job import around

    say_done(around.fetch(board, name, to))


@app.command("labels")
def labels(
    board: Moment,
    to: Annotated[
        Path, typer.Option("--to", metavar="DIR", help="Where PDF and SVG are written.")
    ] = Path("out/labels"),
    skip: Annotated[
        int, typer.Option("--skip", metavar="N", min=0, help="Places of the page used already.")
    ] = 0,
) -> None:
    """A page of labels to stick on the parts: code, value and interval."""
    from ohmbook.job import around

    with progress("Settling and drawing", 2) as bar:
        said = around.labels(board, to, skip, bar)
    say_done(said)


@app.command("find")
def find(
    book: Book, code: Annotated[str, typer.Argument(metavar="CODE", help="A label's code.")]
) -> None:
    """Which part a label is on, and where it is now."""
    from ohmbook.job import around

    say_done(around.find(book, code))


@app.command("put-away")
def put_away(
    board: Board,
    part: Annotated[str, typer.Argument(metavar="PART", help="Its name on the board.")],
    *,
    as_settled: Annotated[
        bool, typer.Option("--as-settled", help="State the value that the board settles to.")
    ] = False,
) -> None:
    """Put a part into the drawer of spare parts, with its own readings."""
    from ohmbook.job import around

    say_done(around.put_away(board, part, as_settled=as_settled))


@app.command("bring")
def bring(
    board: Board,
    part: Annotated[str, typer.Argument(metavar="PART", help="Its name in the drawer.")],
    as_name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="Its name on the board.")
    ] = None,
) -> None:
    """Take a part out of the drawer onto a board."""
    from ohmbook.job import around

    say_done(around.bring(board, part, as_name))


@app.command("archive")
def archive(
    book: Book, file: Annotated[Path, typer.Argument(metavar="ZIP", help="The zip to write.")]
) -> None:
    """All of it as one zip of plain text and attachments, to be read without ohmbook."""
    from ohmbook.job import around

    say_done(around.archive_to(book, file))


@app.command("unpack")
def unpack(
    file: Annotated[Path, typer.Argument(metavar="ZIP", help="An archive.")],
    book: Annotated[Path, typer.Argument(metavar="NEW", help="The notebook to make.")],
) -> None:
    """Make a notebook of an archive, with all of its history."""
    from ohmbook.job import around

    say_done(around.unpack_to(file, book))


@app.command("copy")
def copy(
    book: Book, new: Annotated[Path, typer.Argument(metavar="NEW", help="The copy to make.")]
) -> None:
    """A copy that has been read back and found whole."""
    from ohmbook.job import around

    say_done(around.copy_to(book, new))


@app.command("rescue")
def rescue(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A damaged notebook.")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The notebook to make.")],
) -> None:
    """What can still be read of a damaged notebook, in a new one."""
    from ohmbook.job import around

    say_done(around.rescue_to(file, new))


@app.command("check")
def check(book: Book) -> None:
    """Look through the whole file: is everything as it was written?"""
    from ohmbook.job import keeping

    say_done(keeping.check(book))
