"""A capture's pages and picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.text import Text

from ohmbook.job.capturing import Looked
from ohmbook.report.capture import capture_pages, impedance_page, ratio_page, sine_page
from ohmbook.report.layout import section


def pages(found: Looked, written: Sequence[Path] = ()) -> list[RenderableType]:
    """What is in it, then what it tells, then that as a reading."""
    made = capture_pages(found.capture, found.notes)
    if found.sines is not None:
        made.append(sine_page(found.capture, found.sines))
    if found.told is not None:
        made.append(impedance_page(found.told.f_hz, found.told.values, found.told.way))
    elif found.ratios is not None:
        made.append(ratio_page(found.ratios))
    if found.reading:
        made.append(section("For a sheet", found.reading))
    if written:
        made.append(Text(f"Written: {', '.join(map(str, written))}"))
    return made


def write(found: Looked, folder: Path | None) -> tuple[Path, ...]:
    """The picture of the capture, where a folder is given."""
    if folder is None:
        return ()
    from ohmbook.figures.capture import capture_figure
    from ohmbook.figures.saving import save

    return save(capture_figure(found.capture), folder, f"capture-{Path(found.capture.name).stem}")
