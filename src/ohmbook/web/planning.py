"""Plans that are being worked out, and those that were: each in a thread of its own, told how far
it is, ended when nobody wants it any more."""

from __future__ import annotations

import logging
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from ohmbook.errors import OhmbookError
from ohmbook.web.rendering import t

KEPT = 12
"""Plans held at a time."""

Made = dict[str, Any]
Progress = Callable[[int, int], None]


class _EndedError(Exception):
    """Nobody wants it any more."""


@dataclass
class Making:
    """A plan that is being made, or was.

    Args:
        key: what it is made of; the same key is made once.
        board: whose.
        share: how much of the work is done.
        made: the plan; None until then.
        told: why there is none; "" where there may be one.
        unwanted: set when it is to end.
    """

    key: str
    board: str
    share: float = 0.0
    made: Made | None = None
    told: str = ""
    unwanted: threading.Event = field(default_factory=threading.Event)

    @property
    def over(self) -> bool:
        """Whether nothing more becomes of it."""
        return self.made is not None or bool(self.told)


class Plans:
    """Every plan of a server, by its number."""

    def __init__(self) -> None:
        self._gate, self._alone = threading.Lock(), threading.Lock()
        self._held: OrderedDict[str, Making] = OrderedDict()

    def begin(self, key: str, board: str, work: Callable[[Progress], Made]) -> str:
        """Begin a plan; the one there is where it was begun already. An earlier one of the same
        board that is not done ends.

        Args:
            key: what it is made of.
            board: whose.
            work: makes it, and tells how far it is.

        Returns:
            Its number.
        """
        with self._gate:
            for number, one in self._held.items():
                if one.key == key and not one.told and not one.unwanted.is_set():
                    return number
                if one.board == board and not one.over:
                    one.unwanted.set()
            making = Making(key, board)
            number = self._keep(making)
        threading.Thread(target=self._make, args=(making, work), daemon=True).start()
        return number

    def put(self, board: str, made: Made) -> str:
        """A plan that a browser has kept, taken up again; its number."""
        with self._gate:
            return self._keep(Making("", board, 1.0, made))

    def _keep(self, making: Making) -> str:
        number = secrets.token_hex(6)
        self._held[number] = making
        while len(self._held) > KEPT:
            self._held.popitem(last=False)[1].unwanted.set()
        return number

    def get(self, number: str) -> Making | None:
        """A plan by its number."""
        with self._gate:
            return self._held.get(number)

    def end(self, number: str) -> None:
        """Nobody wants a plan any more."""
        with self._gate:
            found = self._held.pop(number, None)
        if found is not None:
            found.unwanted.set()

    def _make(self, making: Making, work: Callable[[Progress], Made]) -> None:
        """One at a time: several at once would each take as much longer."""
        with self._alone:
            _made(making, work)


def _made(making: Making, work: Callable[[Progress], Made]) -> None:
    def progress(done: int, of: int) -> None:
        if making.unwanted.is_set():
            raise _EndedError
        making.share = max(making.share, min(done / max(of, 1), 1.0))

    try:
        progress(0, 1)
        making.made = work(progress)
        making.share = 1.0
    except _EndedError:
        making.told = t("plan.ended")
    except OhmbookError as error:
        making.told = str(error)
    except Exception:
        making.told = t("base.unexpected")
        logging.getLogger(__name__).exception("a plan could not be worked out")
