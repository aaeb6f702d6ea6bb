"""Units and headings as instruments write them: "Time (s)", "in s", "CH1_Voltage(mV)", "Volt"."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

_PREFIX = {
    "": 1.0, "f": 1e-15, "p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "K": 1e3,
    "M": 1e6, "G": 1e9,
}  # fmt: skip
_SYMBOL = {
    "s": "s", "S": "s", "V": "V", "v": "V", "A": "A", "Hz": "Hz", "HZ": "Hz", "hz": "Hz",
    "ohm": "ohm", "Ohm": "ohm", "Ω": "ohm", "Vpp": "Vpp", "Vrms": "Vrms",
}  # fmt: skip
_WHOLE = {
    "second": ("s", 1.0), "seconds": ("s", 1.0), "sec": ("s", 1.0), "secs": ("s", 1.0),
    "millisecond": ("s", 1e-3), "milliseconds": ("s", 1e-3), "msec": ("s", 1e-3),
    "microsecond": ("s", 1e-6), "microseconds": ("s", 1e-6), "usec": ("s", 1e-6),
    "nanosecond": ("s", 1e-9), "nanoseconds": ("s", 1e-9), "nsec": ("s", 1e-9),
    "volt": ("V", 1.0), "volts": ("V", 1.0), "millivolt": ("V", 1e-3), "millivolts": ("V", 1e-3),
    "amp": ("A", 1.0), "amps": ("A", 1.0), "ampere": ("A", 1.0), "amperes": ("A", 1.0),
    "hertz": ("Hz", 1.0), "kilohertz": ("Hz", 1e3), "megahertz": ("Hz", 1e6),
    "db": ("dB", 1.0), "dbv": ("dB", 1.0), "dbm": ("dB", 1.0), "dbu": ("dB", 1.0),
    "dbvrms": ("dB", 1.0), "decibel": ("dB", 1.0), "decibels": ("dB", 1.0),
    "deg": ("deg", 1.0), "degs": ("deg", 1.0), "degree": ("deg", 1.0), "degrees": ("deg", 1.0),
    "°": ("deg", 1.0), "rad": ("deg", math.degrees(1.0)), "radian": ("deg", math.degrees(1.0)),
    "radians": ("deg", math.degrees(1.0)), "ohms": ("ohm", 1.0), "kohms": ("ohm", 1e3),
    "count": ("count", 1.0), "counts": ("count", 1.0), "lsb": ("count", 1.0),
    "code": ("count", 1.0), "codes": ("count", 1.0), "raw": ("count", 1.0),
    "full scale": ("full scale", 1.0),
}  # fmt: skip
_SIGNS = str.maketrans({"µ": "u", "μ": "u", "Ω": "Ω"})


@dataclass(frozen=True, slots=True)
class UnitWord:
    """A unit as written: its SI unit, and what a value is multiplied by to be in it."""

    unit: str
    factor: float


def unit_word(text: str) -> UnitWord | None:
    """What a unit word means, or None where it is none.

    Capitals count ("mV" is not "MV"), but for words written out and for the second, which
    several instruments write "S".
    """
    word = text.strip().strip("()[]").strip().translate(_SIGNS).rstrip(".")
    whole = _WHOLE.get(word.lower())
    if whole is not None:
        return UnitWord(*whole)
    for length in (4, 3, 2, 1):
        symbol = _SYMBOL.get(word[-length:]) if len(word) >= length else None
        if symbol is not None and word[:-length] in _PREFIX:
            return UnitWord(symbol, _PREFIX[word[:-length]])
    return None


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading taken apart: its name without the unit, and the unit, or None."""

    name: str
    unit: UnitWord | None
    unit_text: str = ""


_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^()\[\]]*)[)\]]\s*$")
_IN = re.compile(r"^(?:(?P<name>.*?)\s+)?in\s+(?P<unit>\S+)$", re.IGNORECASE)
_SLASH = re.compile(r"^(?P<name>.+?)\s*/\s*(?P<unit>[^/]+)$")
_TAIL = re.compile(r"^(?P<name>.+)_(?P<unit>[A-Za-zµμΩ]+)$")
_OF = re.compile(r"^[XYxy]\((?P<name>[^()]+)\)$")


def heading(text: str) -> Heading:
    """A heading's name and unit."""
    text = text[:80].strip().strip('"').strip()
    of = _OF.match(text)
    if of is not None and unit_word(of["name"]) is None:
        return Heading(of["name"].strip(), None)
    for form in (_BRACKETS, _IN, _SLASH, _TAIL):
        found = form.match(text)
        unit = None if found is None else unit_word(found["unit"])
        if found is not None and unit is not None:
            return Heading((found["name"] or "").strip(" _"), unit, found["unit"].strip())
    alone = unit_word(text)
    if alone is not None and len(text) > 1:
        return Heading("", alone, text)
    return Heading(text, None)


_NUMBER_UNIT = re.compile(
    r"^\s*(?P<number>[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*"
    r"[(\[]?(?P<unit>[A-Za-zµμΩ°/%]*)[)\]]?\s*$"
)


def measured(text: str) -> tuple[float, UnitWord | None, str] | None:
    """A number with a unit behind it as metadata has them ("0.08uS", "80000000(ps)").

    Returns:
        (number as written, its unit or None, the unit as written); None where it is no number.
    """
    found = _NUMBER_UNIT.match(text.strip().strip('"')) if len(text) < 60 else None
    if found is None:
        return None
    written = found["unit"]
    for tail in ("Sa/s", "S/s", "Sps", "sps", "SPS"):
        if written.endswith(tail) and written[: -len(tail)] in _PREFIX:
            rate = UnitWord("Hz", _PREFIX[written[: -len(tail)]])
            return float(found["number"].replace(",", ".")), rate, written
    return float(found["number"].replace(",", ".")), unit_word(written), written
