"""Suggestions: the nearest known name, and lists in words; text made safe to print."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

_LISTED = 16


def quoted(names: Iterable[str]) -> str:
    """Names in quotes, with commas; the first sixteen where there are many."""
    known = list(dict.fromkeys(names))
    listed = ", ".join(f'"{name}"' for name in known[:_LISTED])
    return f"{listed} and {len(known) - _LISTED} more" if len(known) > _LISTED else listed


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that is most like `name`, whatever its capitals; None if none is."""
    folded = {one.casefold(): one for one in known}
    found = get_close_matches(name.casefold(), list(folded), 1, 0.6)
    return folded[found[0]] if found else None


def suggestion(name: str, known: Iterable[str], none: str = "there is none") -> str:
    """A clause that helps: the nearest known name, and the list of them.

    Args:
        name: what was written.
        known: what could have been written.
        none: the clause where nothing could.
    """
    names = list(known)
    if not names:
        return none
    near = nearest(name, names)
    if near is None or len(names) == 1:
        return _listed(names)
    return f'did you mean "{near}"? ({_listed(names)})'


def short_suggestion(name: str, known: Iterable[str]) -> str:
    """The nearest known name, or the list of them where none is near."""
    names = list(known)
    near = nearest(name, names)
    return f'did you mean "{near}"?' if near else _listed(names)


def _listed(names: list[str]) -> str:
    return f"expected one of {quoted(names)}" if len(names) > 1 else f"expected {quoted(names)}"


def printable(text: str) -> str:
    """A text from a sheet on one line, with nothing in it that a terminal could act on."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)
