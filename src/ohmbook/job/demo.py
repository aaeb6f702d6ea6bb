"""The built-in board, read like any other sheet."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from ohmbook.documents.reading import Sheet
from ohmbook.sheet.read import read_sheet

NAME = "board.toml"
SLIP_NAME = "board-with-a-slip.toml"
SLIP = ("2.6                 724", "26                  724")
"""A frequency of the table as it is, and with its decimal point forgotten."""


def demo_sheet() -> Sheet:
    """The sheet of the built-in board, a made-up one: simulated readings of a stated truth."""
    return read_sheet(text=_text(), file=f"the demo's {NAME}")


def write_demo_sheet(folder: Path) -> Path:
    """Put a copy of the sheet into a folder, to play with.

    Args:
        folder: it must exist.
    """
    path = folder / NAME
    path.write_text(_text(), encoding="utf-8")
    return path


def write_slip_sheet(folder: Path) -> Path:
    """Put the same board there with one frequency mistyped.

    Args:
        folder: it must exist.
    """
    right, wrong = SLIP
    text = _text()
    assert right in text
    path = folder / SLIP_NAME
    path.write_text(text.replace(right, wrong), encoding="utf-8")
    return path


def _text() -> str:
    return files("ohmbook.demo").joinpath(NAME).read_text(encoding="utf-8")
