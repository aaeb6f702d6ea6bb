"""Every way to split a marking into fields, from its first character to its last."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from ohmbook.errors import MarkingError
from ohmbook.units.marking.fields import Before, Field, fields_at, unread_word
from ohmbook.units.spelling import tidy

LONGEST = 40
_MOST_UNREAD = 2  # words that nobody can read, such as a maker's type
_MOST_STEPS = 150  # twice what the longest markings need, and a bound on what nonsense may cost

_LOOKS_LIKE = str.maketrans({
    "\u00b7": ".", "\u2022": ".", "\u2219": ".",  # raised points, as older parts print them
    "\u2010": "-", "\u2011": "-", "\u2013": "-", "\u2014": "-",
    "\u00bc": "1/4", "\u00bd": "1/2",
})  # fmt: skip
_BETWEEN = re.compile(r"(?:[\s;:|()\[\]{}_*\"'!]|,(?![0-9])|\.(?![0-9]))*")
_ALSO_BETWEEN = re.compile(r"[-/,]")


def clean(text: str) -> str:
    """A marking in one spelling of look-alike characters.

    Raises:
        MarkingError: it is empty, too long, or holds characters that nobody can print on a part.
    """
    stripped = text.strip()
    if not stripped:
        raise MarkingError(text[:LONGEST] if text.isprintable() else "", "it is empty")
    if len(stripped) > LONGEST:
        why = f"it has {len(stripped)} characters, and at most {LONGEST} are read"
        raise MarkingError(f"{_printable(stripped[:LONGEST])}...", why)
    if any(unicodedata.category(letter)[0] == "C" for letter in stripped):
        raise MarkingError(_printable(stripped), "it holds a control character")
    return tidy(stripped.translate(_LOOKS_LIKE))


def splits(text: str) -> tuple[Before, ...]:
    """Every split into fields that has a value and leaves as few words unread as can be.

    Args:
        text: as `clean` returns it.
    """
    steps = iter(range(_MOST_STEPS))
    for unread in range(_MOST_UNREAD + 1):
        if found := tuple(_splits(text, unread, steps)):
            return found
    return ()


def _splits(text: str, unread: int, steps: Iterator[int]) -> Iterator[Before]:
    """The splits that leave at most so many words unread, while there are steps left."""
    waiting: list[tuple[int, Before]] = [(0, ())]
    while waiting and next(steps, None) is not None:
        place, before = waiting.pop()
        if _skip(text, place) < len(text):
            fields = _next_fields(text, place, before, unread)
            waiting += [(field.end, (*before, field)) for field in fields]
        elif any(field.name == "value" for field in before):
            yield before


def _next_fields(text: str, place: int, before: Before, unread: int) -> Iterator[Field]:
    start = _skip(text, place)
    yield from fields_at(text, start, before)
    if sum(field.name == "word" for field in before) < unread:
        yield from unread_word(text, start, before)
    if before and _ALSO_BETWEEN.match(text, start):
        start = _skip(text, start + 1)
        if start < len(text):
            yield from fields_at(text, start, before)


def _skip(text: str, place: int) -> int:
    match = _BETWEEN.match(text, place)
    return match.end() if match else place


def _printable(text: str) -> str:
    return text.encode("unicode_escape").decode("ascii") if not text.isprintable() else text
