"""What takes a while to work out, so that a page need not wait for it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

from ohmbook.errors import OhmbookError
from ohmbook.job import Settled, next_readings
from ohmbook.job.wanted import next_document
from ohmbook.web.openbook import OpenBook

PATIENCE_S = 0.3
"""How long a page waits for values before it is shown without them, s."""

KEPT = 4
SUGGESTED = 3


@dataclass
class _Work:
    settled: Settled | None = None
    error: Exception | None = None


def settled_soon(book: OpenBook, board: str, wait_s: float = PATIENCE_S) -> Settled | None:
    """A board's values if they are there soon; None while they are still being worked out.

    Raises:
        OhmbookError: they cannot be worked out, and why.
    """
    work = _Work()

    def run() -> None:
        try:
            work.settled = book.settled(board)
        except Exception as error:  # told to whoever waits; nobody else is there to hear it
            work.error = error

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(wait_s)
    if work.error is not None:
        raise work.error
    return work.settled


def unsettled(book: OpenBook, board: str) -> tuple[Settled | None, str]:
    """The values, or why there are none: worked out, however long it takes."""
    try:
        return book.settled(board), ""
    except OhmbookError as error:
        return None, str(error)


class Advice:
    """Which readings would help most, kept for as long as the values are."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[int, str], tuple[Settled, dict[str, Any]]] = OrderedDict()
        self._gate = threading.Lock()

    def of(self, settled: Settled, part: str = "") -> dict[str, Any]:
        """The document of the next readings, for a part or for all; worked out once."""
        key = (id(settled), part)
        with self._gate:
            held = self._kept.get(key)
            if held is None or held[0] is not settled:
                want = (part,) if part else ()
                found = next_readings(settled, count=1 if part else SUGGESTED, want=want)
                held = settled, next_document(found, settled)
                self._kept[key] = held
                while len(self._kept) > 4 * KEPT:
                    self._kept.popitem(last=False)
            return held[1]
