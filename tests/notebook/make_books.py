"""Makes the notebooks in `books/`: one of each released version, all with the same in them.

    python -m tests.notebook.make_books [folder]

They are made once and kept as they are: a book of a released version is never made anew.
"""

from __future__ import annotations

import sys
from pathlib import Path
from unittest import mock

from ohmbook.notebook import acting, opening
from ohmbook.notebook.migrations import MIGRATIONS
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.opening import begin

BOOKS = Path(__file__).parent / "books"
AT = "2026-11-25T17:00:00.000+00:00"
SHEET = """title = "Hall monitor, left"
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4.12 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
instruments.meter = { kind = "multimeter", resistance = "0.8 % + 2 digits" }
[parts]
L1 = { kind = "inductor", marking = "0.82" }
C1 = { kind = "capacitor", dielectric = "film", marking = "4.7" }
[[readings]]
kind = "source loading"
open = "4.12 Vpp"
loaded = "2.00 Vpp"
load = "47.2 ohm ± 0.5 %"
frequency = "1 kHz"
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
half_of = "4.12 Vpp"
[[readings]]
kind = "resistance"
part = "L1"
instrument = "meter"
value = "0.5 ohm"
leads = "0.2 ohm"
"""


def main(folder: Path = BOOKS) -> None:
    """Make the books that are not there yet."""
    for version in range(1, len(MIGRATIONS) + 1):
        path = folder / f"version-{version}.ohmbook"
        if not path.exists():
            make(path, version)
            print(f"made {path.name}")


def make(path: Path, version: int) -> None:
    """A notebook of some version: a board, a reading struck, one revised, an undo, a redo."""
    begin(path, path.name, MIGRATIONS[:version])
    with mock.patch.object(acting, "_now", return_value=AT), _of(path, version) as book:
        book.take_in("left", SHEET)
        ratio = {"kind": "amplitude ratio", "part": "C1", "open": "4.12 Vpp"}
        book.add("left", {**ratio, "name": "slipped", "frequency": "1 kHz", "across": "0.3 Vpp"})
        book.add("left", {**ratio, "frequency": "1 kHz", "across": "2.30 Vpp"})
        book.add("left", {**ratio, "frequency": "2 kHz", "across": "1.28 Vpp"})
        book.strike("left", "slipped", "the clip came off")
        book.revise("left", "5", {**ratio, "frequency": "1 kHz", "across": "2.31 Vpp"})
        book.strike("left", "6", "in a hurry")
        book.undo()
        book.undo()
        book.redo()


def _of(path: Path, version: int) -> Notebook:
    store, ledger = opening.opened(path, path.name, migrations=MIGRATIONS[:version])
    return Notebook(store, ledger, "Ada")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
