"""A notebook's content as bytes to be taken along: an archive, a board's figures."""

from __future__ import annotations

import io
import threading
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory

from ohmbook.errors import OhmbookError
from ohmbook.job.crossing import behaviour
from ohmbook.job.pictures import write_figures
from ohmbook.job.settled import Settled
from ohmbook.notebook.archive import archive
from ohmbook.notebook.book import Book

_DRAWING = threading.Lock()
"""The drawing library is used by one thread at a time."""


def archive_bytes(book: Book) -> bytes:
    """The archive of a whole notebook; see `notebook.archive`."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "notebook.zip"
        archive(book, path)
        return path.read_bytes()


def figures_bytes(settled: Settled) -> bytes:
    """Every figure of a settled board, as a zip of SVG and PNG."""
    try:
        shown = behaviour(settled) if settled.sheet.sketch is not None else None
    except OhmbookError:
        shown = None  # the crossover is not whole yet: the other figures are there all the same
    made = io.BytesIO()
    with _DRAWING, TemporaryDirectory() as folder, zipfile.ZipFile(made, "w") as together:
        for path in write_figures(settled, shown, Path(folder)):
            together.write(path, path.name, zipfile.ZIP_DEFLATED)
    return made.getvalue()
