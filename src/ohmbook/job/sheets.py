"""A sheet from wherever it is: a file, standard input, or a board of a notebook."""

from __future__ import annotations

from pathlib import Path

from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError, NotebookError
from ohmbook.notebook.address import Address, address, board_at
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.read import read_sheet


def sheet_at(text: str) -> Sheet:
    """The sheet that a text names.

    Args:
        text: a sheet's path, "-" for standard input, or a notebook's board:
            "speakers.ohmbook", "speakers.ohmbook:left", "speakers.ohmbook:left@12".

    Raises:
        SheetError: the sheet is at fault, and where.
        NotebookError: the notebook cannot be opened.
        CallError: there is no such board or moment.
    """
    there = None if text == "-" else address(text)
    if there is None:
        if text != "-" and not Path(text).exists():
            raise CallError(
                f'There is no sheet "{text}"; expected a file, or - for standard input.'
            )
        return read_sheet(text)
    with opened_for_reading(there) as book:
        board, at = board_at(book, there)
        return book.sheet(board, at)


def opened_for_reading(there: Address) -> Notebook:
    """The notebook, untouched where it can be: one of an older version is brought up first."""
    try:
        return Notebook.open(there.file, readonly=True)
    except NotebookError as error:
        if not error.older:
            raise
    return Notebook.open(there.file)
