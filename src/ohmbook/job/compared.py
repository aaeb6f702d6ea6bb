"""A comparison told and drawn."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ohmbook.documents.comparison import Comparison
from ohmbook.job.pages import Pages, written_line
from ohmbook.report.compare import compare_page


def pages(found: Comparison, written: Sequence[Path] = ()) -> Pages:
    """The comparison, and which figures were written.

    Args:
        found: by `compare`.
        written: the figures.
    """
    return [compare_page(found), *written_line(written)]


def write(found: Comparison, folder: Path | None) -> tuple[Path, ...]:
    """Draw the comparison where a folder is named.

    Args:
        found: by `compare`.
        folder: where, or None.
    """
    if folder is None:
        return ()
    from ohmbook.figures.compare import compare_figure
    from ohmbook.figures.saving import save

    return save(compare_figure(found), folder, "compare")
