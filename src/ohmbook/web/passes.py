"""Who of the bench's network is let in: a pass shown on this machine, good for one device once.

The pass is short, since it is typed on a phone; so wrong ones are waited for, longer each time, and
after a few the pass is void. Nothing of this is kept over the end of the server.
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

LETTERS = "23456789ABCDEFGHJKMNPQRTUVWXY"
"""Without those that are taken for one another: 0 and O, 1, I and L, S and 5, Z and 2."""

LENGTH = 8
PASS_S = 900.0
"""How long a pass is good for, s."""

GUEST_S = 43_200.0
"""How long a device stays in, s."""

TRIES = 10
"""Wrong passes after which the shown one is void."""

FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 30.0
"""How long nobody is heard after a wrong pass, s: doubled with each further one."""


class WrongPassError(Exception):
    """Not let in; `wait_s` is how long nobody is heard, `void` whether a new pass is needed."""

    def __init__(self, wait_s: float, void: bool) -> None:
        super().__init__("wrong pass")
        self.wait_s, self.void = wait_s, void


@dataclass(frozen=True, slots=True)
class Guest:
    """A device that is in.

    Args:
        number: of this server's devices.
        address: whence it came.
        device: as its browser calls itself.
        since_s, until_s: by the clock of `Passes`, s.
    """

    number: int
    address: str
    device: str
    since_s: float
    until_s: float


class Passes:
    """The pass, and who is in. Safe to use from several threads.

    Args:
        clock: seconds of any origin, only ever rising.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._gate = clock, threading.Lock()
        self._pass, self._good_until_s = "", 0.0
        self._wrong, self._heard_from_s = 0, 0.0
        self._guests: dict[bytes, Guest] = {}
        self._count = 0

    def fresh(self) -> str:
        """A new pass; an earlier one is void. Waits that wrong passes have caused stay."""
        with self._gate:
            self._pass = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
            self._good_until_s = self._clock() + PASS_S
            self._wrong = 0
            return self._pass

    def shown(self) -> str | None:
        """The pass that is good now; None where it is spent, void or too old."""
        with self._gate:
            return self._pass if self._pass and self._clock() < self._good_until_s else None

    def enter(self, typed: str, address: str, device: str) -> str:
        """Let a device in, once.

        Args:
            typed: the pass, as a person types it.
            address: whence they ask.
            device: what their browser calls itself.

        Returns:
            What the device shows from now on.

        Raises:
            WrongPassError: it is wrong, or it is too early after a wrong one.
        """
        with self._gate:
            now = self._clock()
            if now < self._heard_from_s:
                raise WrongPassError(self._heard_from_s - now, not self._pass)
            good = self._pass and now < self._good_until_s
            same = hmac.compare_digest(_gist(typed), _gist(self._pass))
            if not (good and same):
                raise self._wrong_one(now)
            self._pass, self._wrong, self._count = "", 0, self._count + 1
            token = secrets.token_urlsafe(32)
            self._guests[_digest(token)] = Guest(self._count, address, device, now, now + GUEST_S)
            return token

    def _wrong_one(self, now: float) -> WrongPassError:
        wait_s = min(FIRST_WAIT_S * 2.0**self._wrong, LONGEST_WAIT_S)
        self._wrong += 1
        self._heard_from_s = now + wait_s
        if self._wrong >= TRIES:
            self._pass = ""
        return WrongPassError(wait_s, not self._pass)

    def known(self, token: str) -> bool:
        """Whether whoever shows this is in."""
        with self._gate:
            found = self._guests.get(_digest(token))
            return found is not None and self._clock() < found.until_s

    def guests(self) -> tuple[tuple[Guest, float], ...]:
        """Who is in, and for how long already, s."""
        with self._gate:
            now = self._clock()
            return tuple(
                (one, now - one.since_s) for one in self._guests.values() if now < one.until_s
            )

    def end(self, number: int) -> bool:
        """Let a device in no longer; whether it was in."""
        with self._gate:
            found = [key for key, one in self._guests.items() if one.number == number]
            for key in found:
                del self._guests[key]
            return bool(found)


def _gist(typed: str) -> bytes:
    """A pass without what a keyboard puts in: small letters, blanks, dashes."""
    kept = "".join(one for one in typed.upper() if one in LETTERS)
    return kept.encode()


def _digest(token: str) -> bytes:
    return sha256(token.encode("utf-8", "surrogatepass")).digest()
