"""Colour bands given as words: "brown black red gold", read from either end.

References: IEC 60062 (digits, multipliers, tolerances; pink from memory), IEC 60757 (two-letter
abbreviations, from memory). A grey tolerance band is 0.01 % in the 2016 edition (from memory) and
0.05 % on older charts, so both are told. Axial coils in µH: makers' practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from ohmbook.units.marking.meaning import PartKindName
from ohmbook.units.marking.tolerance import in_words
from ohmbook.units.marking.values import Value, label
from ohmbook.units.marking.weights import (
    BANDS_BACKWARDS,
    COIL_BANDS,
    RARE_TOLERANCE_BAND,
    TOLERANCE_BANDS,
    Factor,
)
from ohmbook.units.number import Written

_DIGITS: Mapping[str, int] = {
    "black": 0, "brown": 1, "red": 2, "orange": 3, "yellow": 4,
    "green": 5, "blue": 6, "violet": 7, "grey": 8, "white": 9,
}  # fmt: skip
_POWERS: Mapping[str, int] = {**_DIGITS, "gold": -1, "silver": -2, "pink": -3}
_TOLERANCES: Mapping[str, tuple[float, ...]] = {
    "silver": (0.10,), "gold": (0.05,), "brown": (0.01,), "red": (0.02,), "orange": (0.0005,),
    "yellow": (0.0002,), "green": (0.005,), "blue": (0.0025,), "violet": (0.001,),
    "grey": (0.0001, 0.0005), "none": (0.20,),
}  # fmt: skip
_TEMPERATURE: Mapping[str, int] = {
    "black": 250, "brown": 100, "red": 50, "orange": 15, "yellow": 25,
    "green": 20, "blue": 10, "violet": 5, "grey": 1,
}  # fmt: skip
_ALIKE: Mapping[str, str] = {
    "gray": "grey", "purple": "violet",
    "bk": "black", "bn": "brown", "rd": "red", "og": "orange", "ye": "yellow", "gn": "green",
    "bu": "blue", "vt": "violet", "gy": "grey", "wh": "white", "pk": "pink", "gd": "gold",
    "sr": "silver",
}  # fmt: skip
_GREY = Factor(0.5, "a grey tolerance band is 0.01 % in newer charts and 0.05 % in older ones")
_KINDS: tuple[tuple[PartKindName, int, Factor], ...] = (
    ("resistor", 0, Factor(1.0)),
    ("inductor", -6, COIL_BANDS),
)
_FEW_FIGURES = 2
_MOST_WITH_FEW = 4  # from five bands on there are three figures

_COLOUR = "|".join(sorted({*_POWERS, *_ALIKE, "none"}, key=len, reverse=True))
_NEXT = rf"[\s,/-]+(?:{_COLOUR})(?!\w)"
_BANDS = re.compile(rf"(?:{_COLOUR})(?:{_NEXT}){{2,5}}(?!{_NEXT})", re.IGNORECASE)
_COLOUR_BEFORE = re.compile(rf"(?:{_COLOUR})[\s,/-]*$", re.IGNORECASE)


def read_bands(text: str, start: int) -> Iterator[tuple[int, tuple[Value, ...]]]:
    """Three to six colour words at a place in a text: where they end, and what they may mean.

    More of them are not read: nobody can say which belong together.
    """
    match = _BANDS.match(text, start)
    if match is None or _COLOUR_BEFORE.search(text[:start]):
        return
    words = [_ALIKE.get(word, word) for word in re.split(r"[\s,/-]+", match[0].lower())]
    yield match.end(), (*_one_way(words, ()), *_one_way(words[::-1], (BANDS_BACKWARDS,)))


def _one_way(words: list[str], factors: tuple[Factor, ...]) -> Iterator[Value]:
    """What the bands mean from the first word on; nothing where that way is not legal."""
    figures = _FEW_FIGURES if len(words) <= _MOST_WITH_FEW else _FEW_FIGURES + 1
    shown, (multiplier, *rest) = words[:figures], words[figures:]
    tolerance = rest[0] if rest else "none"
    temperature = rest[1] if len(rest) > 1 else ""
    digits = "".join(str(_DIGITS.get(word, "?")) for word in shown)
    legal = multiplier in _POWERS and tolerance in _TOLERANCES and digits[0] != "0"
    if "?" in digits or not legal or (temperature and temperature not in _TEMPERATURE):
        return
    named = "no tolerance band," if tolerance == "none" else tolerance
    last = f", {_TEMPERATURE[temperature]} ppm/K" if temperature else ""
    usual = Factor(TOLERANCE_BANDS.get(tolerance, RARE_TOLERANCE_BAND))
    for kind, base, factor in _KINDS if len(words) <= _MOST_WITH_FEW else _KINDS[:1]:
        for fraction in _TOLERANCES[tolerance]:
            power = _POWERS[multiplier]
            how = (
                f"colour bands: {digits} x 10^{power} {label(kind, base)}, "
                f"{named} {in_words(fraction)}{last}"
            )
            grey = (_GREY,) if tolerance == "grey" else ()
            every = (factor, usual, *grey, *factors)
            number = Written(digits, power + base)
            yield Value(kind, number, "bands", how, every, figures, fraction)
