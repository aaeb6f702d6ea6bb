"""Crossovers laid out to be played with, kept while somebody does.

A curve that is dragged asks many times a second: it names what it was given by a token, so that
the notebook need not be looked at each time, and what is moved is what is shown.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict

from ohmbook.job import Settled
from ohmbook.job.whatif import WhatIf, what_if

KEPT = 6


class Shelf:
    """The last few crossovers, by token."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, tuple[Settled, WhatIf]] = OrderedDict()

    def of(self, settled: Settled) -> tuple[str, WhatIf]:
        """A settled board laid out, and its token; the same ones while the answer is the same.

        Raises:
            OhmbookError: its crossover cannot be worked out.
        """
        with self._lock:
            for token, (held, found) in self._kept.items():
                if held is settled:
                    return token, found
        made, token = what_if(settled), secrets.token_hex(8)
        with self._lock:
            self._kept[token] = settled, made
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return token, made

    def get(self, token: str) -> WhatIf | None:
        """What a token stands for; None where it is kept no longer."""
        with self._lock:
            found = self._kept.get(token)
            if found is not None:
                self._kept.move_to_end(token)
        return None if found is None else found[1]
