"""What can be taken along: sheets, values, figures, attachments, the whole notebook."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from ohmbook.job.taking_along import archive_bytes, figures_bytes
from ohmbook.job.values import board_csv
from ohmbook.notebook.safenames import safe_name
from ohmbook.web.asked import Book

router = APIRouter()


@router.get("/b/{board}/take/sheet")
def sheet(board: str, book: Book) -> Response:
    """A board as a bench sheet."""
    with book.reading() as notebook:
        text = notebook.text(board)
    return _file(text.encode("utf-8"), f"{board}.toml", "text/plain; charset=utf-8")


@router.get("/b/{board}/take/values")
def values(board: str, book: Book) -> Response:
    """A board's values as CSV."""
    found = book.settled(board).estimates
    return _file(board_csv(board, found).encode("utf-8"), f"{board}.csv", "text/csv; charset=utf-8")


@router.get("/b/{board}/take/figures")
def figures(board: str, book: Book) -> Response:
    """A board's figures as SVG and PNG."""
    return _file(figures_bytes(book.settled(board)), f"{board}-figures.zip", "application/zip")


@router.get("/take/notebook")
def notebook(book: Book) -> Response:
    """The whole notebook as an archive of plain files."""
    with book.reading() as held:
        data = archive_bytes(held)
    return _file(data, f"{book.path.stem}.zip", "application/zip")


def _file(data: bytes, name: str, kind: str) -> Response:
    """Bytes to be kept under a name, never shown by the browser itself."""
    told = f"attachment; filename*=UTF-8''{quote(safe_name(name), safe='')}"
    return Response(data, media_type=kind, headers={"content-disposition": told})
