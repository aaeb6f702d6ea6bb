"""Labels fit where they are cut, whatever stands on them."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from ohmbook.errors import OhmbookError
from ohmbook.figures.labels import COLUMNS, PER_PAGE, ROWS, Label, label_pages, save_labels

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PLAIN = Label("7KQ2", "L1", "0.812 mH", "0.792 to 0.832 mH", "left")
LONG = Label(
    "7KQ2X2",
    "tweeter of the other board (left) (2)",
    "0.812 345 678 901 mH, more or less",
    "0.812 345 678 900 mH to 0.812 345 678 902 mH, at 5.6 kHz",
    "Überlange Bezeichnung einer Weiche,\nzweizeilig $x^2$ {} \\",
)
BARE = Label("7KQ2", "R1")
MM = 25.4


def boxes(page: Figure) -> list[tuple[str, float, float, float, float]]:
    """Each text with its left, top, right and bottom, millimetres from the upper left corner."""
    found = []
    for text in page.texts:
        extent = text.get_window_extent()
        x0, x1 = (x / page.dpi * MM for x in (extent.x0, extent.x1))
        y0, y1 = (297.0 - y / page.dpi * MM for y in (extent.y1, extent.y0))
        found.append((text.get_text(), x0, y0, x1, y1))
    return found


@pytest.mark.parametrize("label", [PLAIN, LONG, BARE])
def test_every_text_stays_in_its_cell_and_apart_from_others(label: Label) -> None:
    (page,) = label_pages([label] * PER_PAGE)
    wide, high = (210.0 - 16.0) / COLUMNS, (297.0 - 21.0) / ROWS
    cells: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}
    for _, x0, y0, x1, y1 in _on_labels(page):
        column, row = int((x0 - 8.0) // wide), int((y0 - 10.5) // high)
        assert 8.0 + column * wide + 1.5 < x0
        assert x1 < 8.0 + (column + 1) * wide - 1.5
        assert 10.5 + row * high + 1.0 < y0
        assert y1 < 10.5 + (row + 1) * high - 1.0
        cells.setdefault((column, row), []).append((x0, y0, x1, y1))
    assert len(cells) == PER_PAGE
    for one, other in combinations(cells[2, 5], 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, f"{one} lies over {other}"


def _on_labels(page: Figure) -> list[tuple[str, float, float, float, float]]:
    return [one for one in boxes(page) if not one[0].startswith("Print at")]


def test_what_stands_on_a_label() -> None:
    (page,) = label_pages([PLAIN, BARE])
    texts = [one.get_text() for one in page.texts]
    assert texts == [
        "7KQ2", "L1", "0.812 mH", "0.792 to 0.832 mH", "left", "7KQ2", "R1", "not known yet",
        "Print at 100 %, not fitted to the page. Page 1 of 1.",
    ]  # fmt: skip


def test_a_code_is_never_cut_or_small() -> None:
    (page,) = label_pages([LONG])
    code = next(one for one in page.texts if one.get_text() == LONG.code)
    assert code.get_fontsize() == 15.0
    assert min(float(one.get_fontsize()) for one in page.texts) >= 5.5


@pytest.mark.parametrize(("count", "skip", "pages"), [(0, 0, 0), (0, 3, 0), (65, 0, 1), (66, 0, 2)])
def test_as_many_pages_as_are_needed(count: int, skip: int, pages: int) -> None:
    assert len(label_pages([BARE] * count, skip)) == pages


def test_places_that_are_used_up_stay_empty() -> None:
    first, second = label_pages([PLAIN] * 5, 63)
    assert len(_on_labels(first)) == 2 * 5
    assert len(_on_labels(second)) == 3 * 5
    assert min(x0 for _, x0, *_ in _on_labels(first)) > 8.0 + 3 * (210.0 - 16.0) / COLUMNS


def test_saved_at_its_true_size_and_the_same_each_time(tmp_path: Path) -> None:
    """A4 is 210 mm by 297 mm (ISO 216), in PDF's points of 1/72 inch (ISO 32000-1, 8.3.2.3)."""
    first = save_labels(label_pages([PLAIN, LONG], 64), tmp_path / "a", "labels")
    again = save_labels(label_pages([PLAIN, LONG], 64), tmp_path / "b", "labels")
    assert [one.name for one in first] == ["labels.pdf", "labels-1.svg", "labels-2.svg"]
    assert [one.read_bytes() for one in first] == [one.read_bytes() for one in again]
    sizes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", first[0].read_bytes())
    assert len(sizes) == 2
    for wide, high in sizes:
        assert float(wide) == pytest.approx(210.0 / MM * 72.0, abs=0.01)
        assert float(high) == pytest.approx(297.0 / MM * 72.0, abs=0.01)


def test_a_folder_that_cannot_be_written_to_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OhmbookError, match="The labels cannot be written to"):
        save_labels(label_pages([PLAIN]), tmp_path / "file", "labels")
