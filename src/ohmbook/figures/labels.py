"""A page of labels to cut out and stick on parts: code, name, value and interval. A4, 5 by 13."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ohmbook.errors import OhmbookError
from ohmbook.figures.style import FAINT, INK, LEAST_PT, SOFT, new_figure, styled

if TYPE_CHECKING:
    from matplotlib.figure import Figure

COLUMNS, ROWS = 5, 13
PER_PAGE = COLUMNS * ROWS
_MM = 1.0 / 25.4
_WIDE_MM, _HIGH_MM = 210.0, 297.0  # A4, ISO 216
_SIDE_MM, _TOP_MM, _PAD_MM, _MARK_MM, _CROSS_MM = 8.0, 10.5, 2.2, 3.5, 1.2
_CELL_MM = ((_WIDE_MM - 2 * _SIDE_MM) / COLUMNS, (_HIGH_MM - 2 * _TOP_MM) / ROWS)
_GAP_MM = 2.0
_CODE_PT, _NAME_PT, _VALUE_PT, _SMALL_PT, _SMALLEST_PT = 15.0, 9.5, 10.5, 7.5, 5.5


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label; each text is made to fit, by size first, then cut with an ellipsis.

    Args:
        code: to find the part by, such as "7KQ2".
        name: the part's, such as "L1".
        value: such as "0.812 mH"; "" where it is not known.
        interval: such as "0.792 to 0.832 mH"; "" where there is none.
        board: where it belongs.
    """

    code: str
    name: str
    value: str = ""
    interval: str = ""
    board: str = ""


def label_pages(labels: Sequence[Label], skip: int = 0) -> tuple[Figure, ...]:
    """Draw labels on pages of A4, row by row.

    Args:
        labels: in the order wanted.
        skip: how many places of the first page are used up already.

    Returns:
        One figure a page, at its true size; none where there are no labels.
    """
    places: list[Label | None] = [*([None] * (skip % PER_PAGE)), *labels] if labels else []
    lots = [places[k : k + PER_PAGE] for k in range(0, len(places), PER_PAGE)]
    with styled():
        return tuple(_page(lot, (k, len(lots))) for k, lot in enumerate(lots, 1))


def save_labels(pages: Sequence[Figure], folder: Path | str, name: str) -> tuple[Path, ...]:
    """Write NAME.pdf with every page, and NAME-1.svg and so on; the same bytes each time.

    Args:
        pages: of `label_pages`.
        folder: made where it isn't there.
        name: what to call the files.

    Returns:
        The paths, the PDF first.

    Raises:
        OhmbookError: the folder cannot be written to.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    pdf = Path(folder) / f"{name}.pdf"
    svgs = [pdf.with_name(f"{name}-{k}.svg") for k in range(1, len(pages) + 1)]
    undated: dict[str, Any] = {"CreationDate": None, "Producer": None, "Creator": None}
    try:
        pdf.parent.mkdir(parents=True, exist_ok=True)
        with styled():
            with PdfPages(pdf, metadata=undated) as book:
                for page in pages:
                    book.savefig(page)
            for page, svg in zip(pages, svgs, strict=True):
                page.savefig(svg, format="svg", metadata={"Date": None, "Creator": None})
    except OSError as error:
        raise OhmbookError(
            f'The labels cannot be written to "{folder}": {error.strerror or error}.'
        ) from error
    return pdf, *svgs


def _page(labels: Sequence[Label | None], number: tuple[int, int]) -> Figure:
    page = new_figure(_WIDE_MM * _MM, _HIGH_MM * _MM)
    _cut_marks(page)
    for k, label in enumerate(labels):
        if label is not None:
            row, column = divmod(k, COLUMNS)
            _draw(page, label, _SIDE_MM + column * _CELL_MM[0], _TOP_MM + row * _CELL_MM[1])
    told = f"Print at 100 %, not fitted to the page. Page {number[0]} of {number[1]}."
    foot = _Room(_SIDE_MM + _PAD_MM, _HIGH_MM - 4.5, _WIDE_MM - 2 * (_SIDE_MM + _PAD_MM))
    _text(page, foot, told, size=LEAST_PT, color=SOFT)
    return page


def _draw(page: Figure, label: Label, x: float, y: float) -> None:
    """One label in the cell whose upper left corner is there, millimetres."""
    left, wide = x + _PAD_MM, _CELL_MM[0] - 2 * _PAD_MM
    right = left + wide
    code = _text(
        page, _Room(left, y + 7.0, wide), label.code, size=_CODE_PT, weight="bold",
        family="DejaVu Sans Mono",
    )  # fmt: skip
    rest = max(wide - code - _GAP_MM, 5.0)
    _text(page, _Room(right, y + 7.0, rest), label.name, size=_NAME_PT, weight="bold", ha="right")
    value, faint = label.value or "not known yet", not label.value
    _text(
        page, _Room(left, y + 12.2, wide), value, size=_SMALL_PT if faint else _VALUE_PT,
        color=SOFT if faint else INK,
    )  # fmt: skip
    _text(page, _Room(left, y + 15.7, wide), label.interval, size=_SMALL_PT)
    _text(page, _Room(left, y + 19.0, wide), label.board, size=LEAST_PT, color=SOFT)


@dataclass(frozen=True, slots=True)
class _Room:
    """Where a text's baseline begins (or ends, where it is set to the right), and how long it may
    be; millimetres from the page's upper left corner."""

    x: float
    y: float
    wide: float


def _text(page: Figure, room: _Room, text: str, *, size: float, **look: Any) -> float:
    """Write one line: smaller where it is too long, and in the end cut; its length, mm."""
    text = " ".join(text.split())
    if not text:
        return 0.0
    written = page.text(
        room.x / _WIDE_MM, 1.0 - room.y / _HIGH_MM, text, va="baseline", fontsize=size, **look
    )
    most = room.wide * _MM * page.dpi
    wanted = written.get_window_extent().width
    if wanted > most:
        written.set_fontsize(max(_SMALLEST_PT, 0.97 * size * most / wanted))
    while written.get_window_extent().width > most and len(text) > 1:
        text = text[:-1]
        written.set_text(f"{text}\N{HORIZONTAL ELLIPSIS}")
    return float(written.get_window_extent().width / (_MM * page.dpi))


def _cut_marks(page: Figure) -> None:
    """Where to cut: marks in the margins, and small crosses between the labels."""
    xs = [_SIDE_MM + k * _CELL_MM[0] for k in range(COLUMNS + 1)]
    ys = [_TOP_MM + k * _CELL_MM[1] for k in range(ROWS + 1)]
    for x in xs:
        _stroke(page, (x, _TOP_MM - 1.0 - _MARK_MM), (x, _TOP_MM - 1.0), SOFT)
        foot = _HIGH_MM - _TOP_MM + 1.0
        _stroke(page, (x, foot), (x, foot + _MARK_MM), SOFT)
    for y in ys:
        _stroke(page, (_SIDE_MM - 1.0 - _MARK_MM, y), (_SIDE_MM - 1.0, y), SOFT)
        edge = _WIDE_MM - _SIDE_MM + 1.0
        _stroke(page, (edge, y), (edge + _MARK_MM, y), SOFT)
    for x in xs:
        for y in ys:
            _stroke(page, (x - _CROSS_MM, y), (x + _CROSS_MM, y), FAINT)
            _stroke(page, (x, y - _CROSS_MM), (x, y + _CROSS_MM), FAINT)


def _stroke(
    page: Figure, start: tuple[float, float], end: tuple[float, float], colour: str
) -> None:
    from matplotlib.lines import Line2D

    xs = [one[0] / _WIDE_MM for one in (start, end)]
    ys = [1.0 - one[1] / _HIGH_MM for one in (start, end)]
    page.add_artist(Line2D(xs, ys, color=colour, linewidth=0.5, solid_capstyle="butt"))
