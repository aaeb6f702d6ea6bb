"""`start`: a commented sheet to fill in."""

from __future__ import annotations

from pathlib import Path

from ohmbook.errors import CallError
from ohmbook.sheet.template import template


def start_sheet(path: Path, kind: str) -> None:
    """Write the commented sheet.

    Args:
        path: where; nothing may stand there yet.
        kind: "two-way" (a board read in circuit) or "parts" (read one at a time).

    Raises:
        CallError: there is no such kind, something stands there, or it can't be written.
    """
    text = template(kind)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise CallError(f'"{path}" exists and is left alone; expected a new name.') from error
    except OSError as error:
        raise CallError(f'"{path}" cannot be written: {error.strerror}.') from error
