"""A board's figures, to be taken away in one file."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path

from ohmbook.errors import CircuitError
from ohmbook.job.crossing import behaviour
from ohmbook.job.pictures import write_figures
from ohmbook.job.settled import Settled
from ohmbook.notebook.safenames import free_names, safe_name


def figures_zip(settled: Settled) -> bytes:
    """Every figure of a settled board as SVG, in a zip.

    Args:
        settled: what was settled; its behaviour is drawn where it has a whole crossover.
    """
    shown = None
    if settled.sheet.sketch is not None:
        try:
            shown = behaviour(settled)
        except CircuitError:
            shown = None
    stream = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(stream, "w") as made:
        drawn = [one for one in write_figures(settled, shown, Path(folder)) if one.suffix == ".svg"]
        names = free_names(safe_name(one.name) for one in drawn)
        for path, name in zip(drawn, names, strict=True):
            made.writestr(zipfile.ZipInfo(name), path.read_bytes())
    return stream.getvalue()
