"""The fields of a marking: the value and what may stand beside it, each with its place.

Working voltages and their two-character codes (2A is 100 V) are from memory; the rest is common
practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from ohmbook.units.marking.bands import read_bands
from ohmbook.units.marking.dates import date_words
from ohmbook.units.marking.digits import NUMBER, read_bare
from ohmbook.units.marking.letters import looks_like_letter_code, read_lettered
from ohmbook.units.marking.meaning import PartKindName, Tolerance
from ohmbook.units.marking.tolerance import LETTERS, read_percent
from ohmbook.units.marking.values import Value
from ohmbook.units.marking.weights import (
    BARE_FORMS,
    BARE_VOLTS,
    BARE_VOLTS_AFTER_TOLERANCE,
    BARE_VOLTS_IN_LETTER_CODE,
    SMALL_LETTER,
    UNREAD_UNIT,
    UNREAD_WORD,
    UNREAD_WORD_WITH_DIGITS,
)

FieldName = Literal[
    "value", "letter", "percent", "volts", "watts", "bipolar", "hint", "date", "word"
]
Current = Literal["DC", "AC"]


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a marking.

    Args:
        name: which.
        start: where it begins in the text.
        end: where it ends.
        text: what stands there.
        weight: how readily it is this field rather than another.
        amount: volts or watts.
        values: of a value: the ways to read it.
        tolerance: of a percent field.
        kind: of a hint ("coil 0.82").
        current: of a voltage that says it.
    """

    name: FieldName
    start: int
    end: int
    text: str
    weight: float = 1.0
    amount: float | None = None
    values: tuple[Value, ...] = ()
    tolerance: Tolerance | None = None
    kind: PartKindName | None = None
    current: Current | None = None


Before = tuple[Field, ...]

_NUMBER = re.compile(NUMBER)
_VOLTS = re.compile(
    r"(?:(DC|AC)\s?)?([0-9]{1,4}(?:[.,][0-9])?)\s?(?:W\.?V\.?|VW|V)\s?(DC|AC|~|=)?"
    r"(?:(?![A-Z])|(?=[NB]P\b))",
    re.IGNORECASE,
)
_BARE_VOLTS = re.compile(r"([0-9]{1,4}(?:\.3)?)\s?(~|=|DC|AC)?(?![0-9A-Za-z.,%])")
_VOLTS_CODE = re.compile(r"([0-3][A-W])(?=[0-9]{3}(?![0-9]))")
_CODED_VOLTS: Mapping[str, float] = {
    "0J": 6.3, "1A": 10, "1C": 16, "1E": 25, "1V": 35, "1H": 50, "1J": 63, "1K": 80,
    "2A": 100, "2B": 125, "2C": 160, "2D": 200, "2E": 250, "2F": 315, "2V": 350, "2G": 400,
    "2W": 450, "2H": 500, "2J": 630, "2K": 800, "3A": 1000, "3B": 1250, "3C": 1600, "3D": 2000,
}  # fmt: skip
_USUAL_VOLTS = frozenset(
    {6.3, 10, 16, 25, 35, 40, 50, 63, 70, 75, 80, 100, 125, 150, 160, 200, 250, 300, 350, 400, 450,
     500, 600, 630, 800, 1000, 1250, 1600, 2000}
)  # fmt: skip
_CURRENTS: Mapping[str, Current] = {"DC": "DC", "=": "DC", "AC": "AC", "~": "AC"}
_WATTS = re.compile(
    r"(?:([0-9]{1,2})/([0-9]{1,2})|([0-9]{1,3}(?:[.,][0-9]{1,2})?))\s?W(?:ATTS?)?"
    r"(?:(?![A-Z])|(?=[REKM][0-9]))",
    re.IGNORECASE,
)
_BIPOLAR = re.compile(
    r"(?:[NB]\.?P\.?|bi-?polar|non-?polar(?:i[sz]ed)?|unpolari[sz]ed)(?![A-Z0-9])", re.IGNORECASE
)
_HINT = re.compile(
    r"(?:(inductor|coil|choke|capacitor|cap|resistor|electrolytic|[MF]K[CPST]|K[PS]|MP)"
    r"(?![A-Z0-9])\s?[:=]?|([LCR])\s?[:=])",
    re.IGNORECASE,
)
_HINTED: Mapping[str, PartKindName] = {
    "inductor": "inductor", "coil": "inductor", "choke": "inductor", "l": "inductor",
    "capacitor": "capacitor", "cap": "capacitor", "c": "capacitor",
    "resistor": "resistor", "r": "resistor",
}  # fmt: skip
_WORD = re.compile(r"\S+")
_SMALL_LETTERS = "jk"


def fields_at(text: str, start: int, before: Before) -> Iterator[Field]:
    """Every field that may begin at a place, given those before it; each name at most once."""
    for name, read in _READERS.items():
        if not _has(before, name):
            yield from read(text, start, before)


def unread_word(text: str, start: int, before: Before) -> Iterator[Field]:
    """The whole word that begins at a place, as one that is not read."""
    word = _WORD.match(text, start)
    if word and _begins_word(text, start):
        weight = _unread_weight(word[0], before)
        yield Field("word", start, word.end(), word[0], weight)


def _unread_weight(word: str, before: Before) -> float:
    if any(letter.isdigit() for letter in word):
        return UNREAD_WORD_WITH_DIGITS
    bare = bool(before) and any(one.form in BARE_FORMS for one in before[-1].values)
    return UNREAD_UNIT if bare else UNREAD_WORD


def _value(text: str, start: int, _: Before) -> Iterator[Field]:
    found = [*read_bands(text, start), *read_lettered(text, start)]
    if bare := _NUMBER.match(text, start):
        found.append((bare.end(), read_bare(bare[0])))
    for end, values in found:
        if values:
            yield Field("value", start, end, text[start:end], values=values)


def _letter(text: str, start: int, before: Before) -> Iterator[Field]:
    """A tolerance letter: behind the value, or later as a word of its own."""
    letter, following = text[start], text[start + 1 : start + 2]
    behind_value = bool(before) and before[-1].name == "value"
    glued = bool(before) and before[-1].end == start
    alone = not glued and not following.isalnum()
    known = letter.upper() in LETTERS and (letter.isupper() or letter in _SMALL_LETTERS)
    goes_on = following.isalpha() and not _BIPOLAR.match(text, start + 1)
    if not known or goes_on or not _has(before, "value") or not (behind_value or alone):
        return
    weight = 1.0 if letter.isupper() else SMALL_LETTER
    yield Field("letter", start, start + 1, letter, weight)


def _percent(text: str, start: int, _: Before) -> Iterator[Field]:
    if found := read_percent(text, start):
        yield Field("percent", start, found[0], text[start : found[0]], tolerance=found[1])


def _volts(text: str, start: int, before: Before) -> Iterator[Field]:
    if spelled := _VOLTS.match(text, start):
        current = _CURRENTS.get((spelled[1] or spelled[3] or "").upper())
        yield from _amount("volts", spelled, spelled[2], current=current)
    code = _VOLTS_CODE.match(text, start)
    if code and code[1] in _CODED_VOLTS and not _has(before, "value"):
        yield Field("volts", start, code.end(), code[1], amount=_CODED_VOLTS[code[1]])
    bare = _BARE_VOLTS.match(text, start)
    if bare and _has(before, "value") and float(bare[1]) in _USUAL_VOLTS:
        current = _CURRENTS.get(bare[2] or "")
        weight = _bare_volts_weight(text, bare.end(), before)
        yield from _amount("volts", bare, bare[1], weight, current)


def _bare_volts_weight(text: str, end: int, before: Before) -> float:
    value = next(field for field in before if field.name == "value")
    if looks_like_letter_code(text[value.start : end]):
        return BARE_VOLTS_IN_LETTER_CODE
    return BARE_VOLTS_AFTER_TOLERANCE if before[-1].name == "letter" else BARE_VOLTS


def _watts(text: str, start: int, _: Before) -> Iterator[Field]:
    if found := _WATTS.match(text, start):
        over, under, plain = found.groups()
        number = plain or f"{int(over) / (int(under) or 1)}"
        yield from _amount("watts", found, number)


def _bipolar(text: str, start: int, _: Before) -> Iterator[Field]:
    if found := _BIPOLAR.match(text, start):
        yield Field("bipolar", start, found.end(), found[0])


def _hint(text: str, start: int, _: Before) -> Iterator[Field]:
    if found := _HINT.match(text, start):
        kind = _HINTED.get((found[1] or found[2]).lower(), "capacitor")
        yield Field("hint", start, found.end(), found[0].strip(), kind=kind)


def _date(text: str, start: int, _: Before) -> Iterator[Field]:
    word = _WORD.match(text, start)
    if word and _begins_word(text, start) and date_words(word[0]):
        yield Field("date", start, word.end(), word[0])


def _begins_word(text: str, start: int) -> bool:
    return start == 0 or text[start - 1] == " "


def _has(before: Before, name: FieldName) -> bool:
    return any(field.name == name for field in before)


def _amount(
    name: FieldName,
    found: re.Match[str],
    number: str,
    weight: float = 1.0,
    current: Current | None = None,
) -> Iterator[Field]:
    amount = float(number.replace(",", "."))
    if amount > 0:
        span = (found.start(), found.end())
        yield Field(name, *span, found[0].strip(), weight, amount, current=current)


_READERS: Mapping[FieldName, Callable[[str, int, Before], Iterator[Field]]] = {
    "value": _value,
    "letter": _letter,
    "percent": _percent,
    "volts": _volts,
    "watts": _watts,
    "bipolar": _bipolar,
    "hint": _hint,
    "date": _date,
}
