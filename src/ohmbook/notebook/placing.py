"""A new file made whole beside its place, then put there: all of it or nothing, over nobody's."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ohmbook.errors import NotebookError
from ohmbook.notebook.beside import draft_of, put_in_place, refuse_taken


@contextmanager
def made_beside(path: Path, file: str) -> Iterator[Path]:
    """An empty file beside a place; what is written in it in the block is then put in the place.

    Args:
        path: the place; nothing may be there.
        file: what to call it.

    Raises:
        NotebookError: something is there already, or nothing can be written there; then nothing
            is left behind.
    """
    refuse_taken(path, file)
    try:
        with draft_of(path) as draft:
            yield draft
            put_in_place(draft, path)
    except FileExistsError:
        raise NotebookError(
            file, "something of that name has just been made by another program", "look at it"
        ) from None
    except OSError as error:
        raise NotebookError(
            file,
            f"it cannot be written there ({error.strerror or error}); nothing was left behind",
            "make room, or choose a folder of your own",
        ) from None
