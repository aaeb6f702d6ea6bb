"""Which notebook the bench page opens: the one named, or the example's."""

from __future__ import annotations

from pathlib import Path

from ohmbook.errors import CallError
from ohmbook.job.demo import demo_text
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.opening import SUFFIX

EXAMPLE = Path("out/demo/example.ohmbook")
EXAMPLE_BOARD = "example"


def notebook_to_open(named: str | None) -> Path:
    """The notebook's path; begun where it is not there yet.

    Args:
        named: as the person named it; None for the example's, which is kept from one time to the
            next.

    Raises:
        CallError: it has no notebook's name, or its folder is not there.
        NotebookError: it cannot be begun there.
    """
    path = EXAMPLE if named is None else Path(named)
    if path.exists():
        return path
    if named is None:
        path.parent.mkdir(parents=True, exist_ok=True)
    elif path.suffix != SUFFIX:
        raise CallError(
            f'There is no notebook "{named}", and none is begun under a name like that; expected '
            f"one that ends in {SUFFIX}."
        )
    elif not path.parent.is_dir():
        raise CallError(f'There is no folder "{path.parent}" to begin {path.name} in.')
    with Notebook.new(path) as book:
        if named is None:
            book.take_in(EXAMPLE_BOARD, demo_text(), "the example's sheet")
    return path
