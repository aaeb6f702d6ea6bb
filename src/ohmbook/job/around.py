"""What goes with a notebook: photos and captures, labels, spare parts, copies and archives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from rich.console import RenderableType

from ohmbook.documents.estimate import Estimate
from ohmbook.errors import CallError, OhmbookError
from ohmbook.job.keeping import board_of, done, opened
from ohmbook.job.settled import settle
from ohmbook.notebook.address import notebook_address
from ohmbook.notebook.archive import archive
from ohmbook.notebook.attachments import MOST_BYTES, To
from ohmbook.notebook.copies import copy
from ohmbook.notebook.notebook import Notebook, logged_in
from ohmbook.notebook.rescue import rescue
from ohmbook.notebook.unpack import unpack
from ohmbook.report.notebook import AttachmentLine, attachments_page
from ohmbook.units.show import show_plain, split_interval

if TYPE_CHECKING:
    from ohmbook.figures.labels import Label

Progress = Callable[[int, int], None]


def attach(text: str, file: str, to: str | None, note: str) -> str:
    """Keep a file with a board, a part or a reading."""
    path = Path(file)
    data = _bytes(path)
    with board_of(text) as (book, board, _):
        return done(
            book, book.attach(board, path.name, data, to=_owner(book, board, to), note=note)
        )


def attachments(text: str) -> list[RenderableType]:
    """What is attached to a board."""
    with board_of(text, readonly=True) as (book, board, at):
        lines = [
            AttachmentLine(one.name, one.type, one.size, book.owner_name(one), one.note)
            for one in book.attachments(board, at)
        ]
    return [attachments_page(text, lines)]


def fetch(text: str, name: str, to: Path | None) -> str:
    """Write an attachment's original bytes into a file that is not there yet."""
    with board_of(text, readonly=True) as (book, board, at):
        found = book.attachment(board, name, at)
        data = book.bytes_of(found)
    path = to or Path(found.name)
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError as error:
        raise CallError(f'"{path}" exists and is left alone; expected a new name.') from error
    return f"Wrote {path} ({len(data)} bytes, as they were attached)."


def labels(text: str, folder: Path, skip: int, progress: Progress | None) -> str:
    """Labels for a board's parts, to print and stick on, each with its value and interval."""
    with board_of(text, readonly=True) as (book, board, at):
        codes, estimates = book.labels(board, at), _estimates(book, board, at)
    if not codes:
        raise CallError(f"There are no parts on {board} to make labels for.")
    if progress is not None:
        progress(1, 2)
    from ohmbook.figures.labels import label_pages, save_labels  # drawing libraries, slow to load

    made = [_label(code, name, board, estimates.get(name)) for name, code in codes.items()]
    paths = save_labels(label_pages(made, skip), folder, f"labels-{board}")
    return f"Wrote {', '.join(map(str, paths))}: {len(made)} labels, to print at full size."


def find(text: str, code: str) -> str:
    """The part that a label is on."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        found = book.part_of(code)
    said = f"{found.code} is {found.part} of {there.file}:{found.board}"
    if found.moved_to is not None:
        board, part = found.moved_to
        return f"{said}, which has become {part} of {there.file}:{board}."
    return f"{said}." if found.there else f"{said}, which has been taken out."


def put_away(text: str, part: str, *, as_settled: bool) -> str:
    """Put a part into the drawer of spare parts."""
    with board_of(text) as (book, board, _):
        stated = _stated(book, board, part) if as_settled else {}
        return done(book, book.put_away(board, part, **stated))


def bring(text: str, part: str, as_name: str | None) -> str:
    """Take a part out of the drawer onto a board."""
    with board_of(text) as (book, board, _):
        return done(book, book.take_from_drawer(part, board, as_name or part))


def archive_to(text: str, path: Path) -> str:
    """Write the archive of a whole notebook."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        made = archive(book, path)
    return (
        f"Wrote {path}: {made.files} files, all of {there.file}, to be read without ohmbook too. "
        f"Back again: ohmbook notebook unpack {quote(str(path))} NEW"
    )


def unpack_to(source: Path, path: Path) -> str:
    """Make a notebook of an archive."""
    unpack(source, path)
    return f"Wrote {path}, with all of its history. Next: ohmbook notebook show {quote(str(path))}"


def copy_to(text: str, path: Path) -> str:
    """A verified copy of a notebook."""
    there = notebook_address(text)
    with opened(there, readonly=True) as book:
        copy(book.store, path)
    return (
        f"Wrote {path}, and read it back: every entry and every attachment is as in {there.file}."
    )


def rescue_to(damaged: Path, new: Path) -> str:
    """What can still be read of a damaged notebook, in a new one."""
    found = rescue(damaged, new, logged_in())
    return (
        f"Wrote {found.new}: {found.told} {damaged} was left as it is. Next: "
        f"ohmbook notebook history {quote(str(found.new))}"
    )


def _bytes(path: Path) -> bytes:
    if path.is_dir():
        raise CallError(f'"{path}" is a folder; expected a file.')
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def _owner(book: Notebook, board: str, to: str | None) -> To:
    if to is None:
        return None
    if to in book.plain(board).get("parts", {}):
        return ("parts", to)
    return ("readings", book.reading(board, to).name)


def _estimates(book: Notebook, board: str, at: int | None) -> dict[str, Estimate]:
    """The main value of each part as far as the board can be settled."""
    try:
        settled = settle(book.sheet(board, at))
    except OhmbookError:
        return {}
    first: dict[str, Estimate] = {}
    for one in settled.estimates:
        first.setdefault(one.name, one)
    return first


def _label(code: str, name: str, board: str, found: Estimate | None) -> Label:
    from ohmbook.figures.labels import Label

    if found is None or not found.determined:
        return Label(code, name, board=board)
    shown = split_interval(
        found.value, found.low, found.high, found.unit, found.standard_uncertainty
    )
    value = f"{shown.value} {shown.unit}"
    return Label(code, name, value, f"{shown.low} to {shown.high} {shown.unit}", board)


def _stated(book: Notebook, board: str, part: str) -> dict[str, str]:
    """A part's settled value and series resistance, as a sheet states them."""
    found = [one for one in settle(book.sheet(board)).estimates if one.name == part]
    known = [one for one in found if one.determined]
    if not known or known[0] is not found[0]:
        raise CallError(
            f"The readings do not tell the value of {part}; put it away without --as-settled."
        )
    names: Sequence[str] = ("value", "resistance")
    return {name: _expanded(one) for name, one in zip(names, known, strict=False)}


def _expanded(one: Estimate) -> str:
    """ "0.8123 mH ± 0.021 mH (k=2)": the expanded uncertainty (JCGM 100, 7.2.3)."""
    wide = show_plain(2.0 * one.standard_uncertainty, one.unit, 2)
    return f"{show_plain(one.value, one.unit, 5)} ± {wide} (k=2)"
