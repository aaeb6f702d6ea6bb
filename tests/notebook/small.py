"""A small notebook that the tests of the file begin with."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from benchmarks.killed import SHEET

from ohmbook.errors import OhmbookError
from ohmbook.notebook.ink import Act, Entry
from ohmbook.notebook.migrations import MIGRATIONS
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.opening import opened

READING = {
    "kind": "amplitude ratio",
    "part": "L1",
    "frequency": "5.6 kHz",
    "half_of": "4.12 Vpp",
}
BOOKS = Path(__file__).parent / "books"
PATIENCE_S = 30.0

Ink = tuple[list[Act], list[Entry]]


def noted(note: str) -> dict[str, Any]:
    """A reading with a note."""
    return {**READING, "note": note}


def book_of(version: int, folder: Path) -> Path:
    """The kept notebook of a released version, in a folder of its own."""
    path = folder / f"version-{version}.ohmbook"
    path.write_bytes((BOOKS / path.name).read_bytes())
    return path


def make_book(path: Path, further: int = 8) -> Ink:
    """A closed notebook: a board, further readings, one struck, one revised, an undo."""
    with Notebook.new(path, "Ada") as book:
        book.take_in("left", SHEET)
        for k in range(further):
            book.add("left", noted(f"further reading {k}"))
        book.strike("left", "2", "probe slipped")
        book.revise("left", "3", noted("looked again"))
        book.undo()
        return ink_of(book)


def ink_of(book: Notebook) -> Ink:
    """Everything written in an open notebook."""
    ledger = book.view().ledger
    return list(ledger.acts), list(ledger.entries)


def ink_at(path: Path) -> Ink:
    """Everything written in a notebook's file."""
    with Notebook.open(path, readonly=True) as book:
        return ink_of(book)


def ink_of_version(path: Path, version: int) -> Ink:
    """Everything written in a notebook of some version, which it stays."""
    store, ledger = opened(path, path.name, migrations=MIGRATIONS[:version])
    assert store.version() == version
    store.close()
    return ledger.acts, ledger.entries


def beside(path: Path) -> list[str]:
    """The names in a notebook's folder, without its own."""
    return sorted(one.name for one in path.parent.iterdir() if one != path)


def apart(deed: Callable[..., object], *args: object) -> tuple[int | None, list[Any]]:
    """Do something in another process.

    Args:
        deed: takes a `Connection`, and then `args`.

    Returns:
        Its exit code (-9: killed), and what it sent.
    """
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["ohmbook.job.settled", "ohmbook.notebook.notebook"])
    here, there = context.Pipe()
    process = context.Process(target=_do, args=(deed, there, *args))
    process.start()
    there.close()
    sent = []
    try:
        while here.poll(PATIENCE_S):
            sent.append(here.recv())
    except EOFError:
        pass
    process.join(PATIENCE_S)
    return process.exitcode, sent


def _do(deed: Callable[..., object], pipe: Connection, *args: object) -> None:
    try:
        deed(pipe, *args)
    except OhmbookError as error:
        pipe.send(str(error))
