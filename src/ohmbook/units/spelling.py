"""How units are spelled: every spelling that is read, and the characters that look alike.

A prefix is never guessed: m is milli, M is mega, also where the rest is spelled sloppily.
References: SI Brochure (BIPM, 9th ed. 2019), table 7 (prefixes); IEC 60062 (letters that stand in
for the decimal point of resistances and capacitances; for coils that is common practice only).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from ohmbook.units.quantity import Convention, Unit

POWERS: Mapping[str, int] = MappingProxyType(
    {"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "K": 3, "M": 6, "G": 9}
)
_POINT_LETTERS: Mapping[str, int] = MappingProxyType(
    {**POWERS, "R": 0, "r": 0, "H": 0, "F": 0}  # the unit's own letter is a bare point
)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity, as people write it.

    Args:
        name: what it is, for sentences.
        article: "a" or "an".
        example: what would be read.
        symbols: spellings of the unit, the usual one first.
        prefixes: prefix letters that are read before it.
        letters: letters that may stand for the decimal point (IEC 60062).
        never: what it cannot be: "negative", "zero" (then not negative either), or "".
    """

    name: str
    article: str
    example: str
    symbols: tuple[str, ...]
    prefixes: str = ""
    letters: str = ""
    never: str = ""

    @property
    def expected(self) -> str:
        """What a message says that it expected."""
        return f"{self.article} {self.name} such as {self.example}"


_OHM = ("ohm", "ohms", "Ohm", "Ohms", "OHM", "OHMS")
_DEG = ("deg", "degree", "degrees")

KINDS: Mapping[Unit, Kind] = MappingProxyType(
    {
        "ohm": Kind("resistance", "a", '"4.7 ohm", "4.7 kohm" or "4k7"', _OHM, "umkKMG", "RrkKMG",
                    "negative"),
        "H": Kind("inductance", "an", '"0.82 mH" or "470 µH"', ("H",), "num", "numH", "negative"),
        "F": Kind("capacitance", "a", '"8.2 µF" or "2u2"', ("F",), "pnum", "pnumF", "negative"),
        "Hz": Kind("frequency", "a", '"3.3 kHz" or "600 Hz"', ("Hz", "hz", "HZ"), "mkKMG", "kKM",
                   "zero"),
        "V": Kind("voltage", "a", '"4.12 Vpp", "510 mVpp" or "1.08 Vrms"', ("V",), "umk"),
        "A": Kind("current", "a", '"0.5 A" or "20 mA"', ("A",), "um"),
        "W": Kind("power", "a", '"8 W"', ("W",), "mk", never="negative"),
        "s": Kind("time", "a", '"1.5 ms"', ("s",), "num", never="negative"),
        "deg": Kind("angle", "an", '"-22 deg"', _DEG),
        "1": Kind("number or share", "a", '"0.02" or "2 %"', ()),
    }
)  # fmt: skip


class Spelled(NamedTuple):
    """What a unit word means: a power of ten and, for volts, the convention."""

    power: int
    convention: Convention | None = None


_CONVENTIONS: tuple[tuple[str, Convention | None], ...] = (
    ("", None), ("pp", "pp"), ("p", "p"), ("rms", "rms"),
)  # fmt: skip
_SHARES: Mapping[str, Spelled] = MappingProxyType({"%": Spelled(-2), "ppm": Spelled(-6)})
# Typed without care for case, m could be either: "mhz" is refused, "mHz" and "MHz" are not.
_CARELESS = frozenset({"mhz", "mHZ"})

_SAME_CHARACTERS = {
    "\u2126": "ohm", "\u03a9": "ohm",  # ohm sign, capital omega
    "\u00b5": "u", "\u03bc": "u",  # micro sign, small mu
    "\u00b0": "deg", "\u00ba": "deg", "\u02da": "deg",  # degree sign and its two look-alikes
    "\u2212": "-",  # minus sign
}  # fmt: skip
_TRANSLATION = str.maketrans(_SAME_CHARACTERS)


def tidy(text: str) -> str:
    """One spelling for characters that look alike, single spaces, and `±` for `+-` and `+/-`."""
    plain = " ".join(text.translate(_TRANSLATION).split())
    return plain.replace("+/-", "±").replace("+-", "±")


def point_letters(unit: Unit) -> dict[str, int]:
    """Letters that may stand for the decimal point, with their powers of ten (IEC 60062)."""
    return {letter: _POINT_LETTERS[letter] for letter in KINDS[unit].letters}


@cache
def spellings(unit: Unit) -> Mapping[str, Spelled]:
    """Every spelling that is read as this unit."""
    kind = KINDS[unit]
    endings = _CONVENTIONS if unit == "V" else _CONVENTIONS[:1]
    found = {
        f"{prefix}{symbol}{ending}": Spelled(POWERS[prefix], convention)
        for symbol in kind.symbols
        for prefix in ("", *kind.prefixes)
        for ending, convention in endings
    }
    kept = {word: meaning for word, meaning in found.items() if word not in _CARELESS}
    return MappingProxyType({**kept, **_SHARES} if unit == "1" else kept)


def usual_spellings(unit: Unit) -> tuple[str, ...]:
    """The spellings to recommend: the usual symbol with each of its prefixes."""
    kind = KINDS[unit]
    sloppy = kind.symbols[1:]
    return tuple(
        word
        for word in spellings(unit)
        if not word.startswith("K") and not word.endswith(sloppy or ("\n",))
    )
