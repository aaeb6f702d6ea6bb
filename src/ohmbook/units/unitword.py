"""Reading a unit word, and saying of one that is not read which was probably meant."""

from __future__ import annotations

import re

from ohmbook.units.number import Refused
from ohmbook.units.quantity import Unit
from ohmbook.units.spelling import KINDS, POWERS, Spelled, spellings, usual_spellings

_SEPARATE_CONVENTION = re.compile(r"([umk]?V) (pp|p|rms)")
# Common practice on old capacitors, no source: "MFD" and its kin for µF, "mmF" for pF.
_OLD_FARADS = {"uF": re.compile(r"[uUmM][fF][dD]?"), "pF": re.compile(r"([uUmM])\1[fF][dD]?")}
_WRITTEN_OUT = re.compile(
    r"(pico|nano|micro|milli|kilo|mega)? ?"
    r"(ohm|henr(?:y|ies)|farad|hertz|volt|ampere|amp|watt|second)s?",
    re.IGNORECASE,
)
_LETTERS = {
    "pico": "p", "nano": "n", "micro": "u", "milli": "m", "kilo": "k", "mega": "M",
    "henry": "H", "henries": "H", "farad": "F", "hertz": "Hz", "volt": "V", "ampere": "A",
    "amp": "A", "watt": "W", "second": "s", "ohm": "ohm",
}  # fmt: skip


def read_unit(word: str, unit: Unit) -> Spelled:
    """What a unit word such as "kohm", "mVpp" or "deg" means.

    Args:
        word: tidied, without the number.
        unit: the unit that is expected.

    Raises:
        Refused: it is not a spelling of that unit; says which was probably meant.
    """
    joined = _SEPARATE_CONVENTION.sub(r"\1\2", word)
    if joined not in spellings(unit):
        raise Refused(_complaint(word, unit))
    return spellings(unit)[joined]


def _complaint(word: str, unit: Unit) -> str:
    kind = KINDS[unit]
    if unit == "1":
        return f'"{word}" cannot stand behind a plain number'
    for modern, old in _OLD_FARADS.items():
        if unit == "F" and old.fullmatch(word):
            return (
                f'"{word}" is how old parts print {modern}: write "{modern}" if that is meant, '
                'or give what is printed as the part\'s "marking"'
            )
    if word in POWERS and f"{word}{kind.symbols[0]}" in spellings(unit):
        whole = f"{word.replace('K', 'k')}{kind.symbols[0]}"
        return f'the unit is missing behind "{word}" (is "{whole}" meant?)'
    return _wrong_unit(word, unit)


def _wrong_unit(word: str, unit: Unit) -> str:
    name = KINDS[unit].name
    if word in spellings("1"):
        return f'"{word}" is a share, not a unit of {name}'
    for other in KINDS:
        if word in spellings(other):
            return f'"{word}" is a unit of {KINDS[other].name}, not of {name}'
    return f'"{word}" is no unit of {name}{_meant(word, unit)}'


def _meant(word: str, unit: Unit) -> str:
    """A clause with the spellings that come nearest, or nothing."""
    near = _nearest(word, unit)
    if not near:
        return ""
    return " (is " + " or ".join(f'"{spelling}"' for spelling in near) + " meant?)"


def _nearest(word: str, unit: Unit) -> list[str]:
    import difflib  # only where something is wrong already

    known = usual_spellings(unit)
    written_out = _WRITTEN_OUT.fullmatch(word)
    if written_out:
        prefix, name = ((part or "").lower() for part in written_out.groups())
        symbol = _LETTERS.get(prefix, "") + _LETTERS[name]
        return [symbol] if symbol in known else []
    bare = word.replace(" ", "").lower()
    same = [spelling for spelling in known if spelling.lower() == bare]
    return same or difflib.get_close_matches(word, known, n=1, cutoff=0.55)
