"""The built-in board, read like any other sheet."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from ohmbook.documents.reading import Sheet
from ohmbook.sheet.read import read_sheet

NAME = "board.toml"
FURTHER_NAME, SPARE_NAME = "board-read-on.toml", "spare.toml"
SLIP_NAME = "board-with-a-slip.toml"
SLIP = ("2.6                 724", "26                  724")
"""A frequency of the table as it is, and with its decimal point forgotten."""


def demo_sheet() -> Sheet:
    """The sheet of the built-in board, a made-up one: simulated readings of a stated truth."""
    return read_sheet(text=_text(), file=f"the demo's {NAME}")


def further_sheet() -> Sheet:
    """The same sheet with the readings that the demo's plan asked for."""
    return read_sheet(text=_further(), file=f"the demo's {FURTHER_NAME}")


def spare_sheet() -> Sheet:
    """A coil out of the drawer, read alone, one of its readings written with a slip."""
    return read_sheet(text=_text(SPARE_NAME), file=f"the demo's {SPARE_NAME}")


def demo_text() -> str:
    """The text of the built-in board's sheet."""
    return _text()


def write_demo_sheets(folder: Path) -> tuple[Path, Path, Path]:
    """Put copies of the three sheets into a folder, to play with.

    Args:
        folder: it must exist.
    """
    texts = {NAME: _text(), FURTHER_NAME: _further(), SPARE_NAME: _text(SPARE_NAME)}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder / NAME, folder / FURTHER_NAME, folder / SPARE_NAME


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


def _further() -> str:
    return f"{_text()}\n{_text('further.toml')}"


def _text(name: str = NAME) -> str:
    return files("ohmbook.demo").joinpath(name).read_text(encoding="utf-8")
