"""Date codes, which resemble values: week and year, year and week, month and year, a year.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_FOUR = re.compile(r"([0-9]{2})([0-9]{2})")
_PARTED = re.compile(r"([0-9]{1,2})[./-]([0-9]{2}|[0-9]{4})")
_WEEKS, _MONTHS = range(1, 54), range(1, 13)
_YEARS = range(1960, 2030)


def date_words(text: str) -> str | None:
    """What date a text would be, in words ("week 12 of 1987"), or None where it can be none.

    Args:
        text: one word, such as "8712", "1287", "12/87", "03.94" or "1987".
    """
    return next(_dates(text), None)


def _dates(text: str) -> Iterator[str]:
    if four := _FOUR.fullmatch(text):
        first, second = int(four[1]), int(four[2])
        if int(text) in _YEARS:
            yield f"the year {text}"
        if second in _WEEKS and _year(first):
            yield f"week {second} of {_year(first)}"
        if first in _WEEKS and _year(second):
            yield f"week {first} of {_year(second)}"
    if parted := _PARTED.fullmatch(text):
        month, year = int(parted[1]), _year(int(parted[2]))
        if month in _MONTHS and year and ("." not in text or len(parted[1]) == 2):
            yield f"month {month} of {year}"


def _year(number: int) -> int | None:
    years = (number, 1900 + number, 2000 + number)
    return next((year for year in years if year in _YEARS), None)
