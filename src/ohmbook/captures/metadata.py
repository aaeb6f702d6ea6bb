"""What a file says about itself: keys and values above the numbers, or beside them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from ohmbook.captures.style import Style
from ohmbook.captures.unitwords import UnitWord, measured, unit_word

_COMMENT = re.compile(r'^\s*[*#;!%"]+\s?')
_KEY_VALUE = re.compile(r"^(?P<key>[^=:]{1,60}?)\s*(?:=|:)\s*(?P<value>.*)$")

_INTERVAL = re.compile(
    r"sampl\w*[ _]*(interval|period|time|step)|increment|x ?incr|^dt$|xinc|"
    r"time (interval|step|resolution|increment)|horizontal (interval|resolution)|delta ?t|"
    r"time per (sample|point)",
    re.IGNORECASE,
)
_RATE = re.compile(
    r"sampl\w*[ _]*(rate|freq\w*|clock)|^fs$|samples? ?(/|per) ?s|acquisition rate", re.IGNORECASE
)
_LENGTH = re.compile(
    r"record[ _]*length|memory[ _]*length|^size$|number of (points|samples)|^points$|"
    r"data[ _]*(points|length|size)|^samples$",
    re.IGNORECASE,
)
_HORIZONTAL = re.compile(
    r"(horizontal|time|x[ _-]?(axis)?)[ _]*units?$|^hunit|^xunit", re.IGNORECASE
)
_VERTICAL = re.compile(
    r"(vertical|volt(age)?|y[ _-]?(axis)?)[ _]*units?$|^vunit|^yunit", re.IGNORECASE
)
_PROBE = re.compile(r"probe|attenuation", re.IGNORECASE)
_BASE = re.compile(
    r"time ?base|horizontal[ _]*scale|time ?/ ?div|s(ec)? ?/ ?div|h(oriz)?[ _]*scale", re.IGNORECASE
)
_SPECTRUM = re.compile(r"\bfft\b|spectrum", re.IGNORECASE)
_LONGEST_BARE_S = 1.0
_SLOWEST_BARE_HZ = 1000.0
"""A stated "10" without a unit is no interval of ten seconds and no rate of ten hertz, on a
bench; common practice, no source."""
_LOOSE = {
    "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3, "u": 1e-6, "n": 1e-9,
    "samples/s": 1.0, "samples/sec": 1.0, "points/s": 1.0, "pts/s": 1.0, "sa/s": 1.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stated:
    """Keys and their values, as written, in the order of the file."""

    pairs: tuple[tuple[str, tuple[str, ...]], ...]

    def first(self, pattern: re.Pattern[str]) -> tuple[str, tuple[str, ...]] | None:
        """The first key that a pattern finds, with its values."""
        return next((one for one in self.pairs if pattern.search(one[0])), None)

    def plain(self) -> dict[str, str]:
        """As a plain mapping, for people to read."""
        found: dict[str, str] = {}
        for key, values in self.pairs[:200]:
            found.setdefault(key[:80], ", ".join(values)[:200])
        return found

    def interval_s(self) -> float | None:
        """The stated time from sample to sample, from an interval or a rate."""
        interval = self._quantity(_INTERVAL, "s", below=_LONGEST_BARE_S)
        if interval:
            return interval
        rate = self._quantity(_RATE, "Hz", above=_SLOWEST_BARE_HZ)
        return 1.0 / rate if rate else None

    def length(self) -> int | None:
        """The stated number of rows."""
        found = self._quantity(_LENGTH, "")
        return int(found) if found else None

    def base_s(self) -> float | None:
        """The stated time per division."""
        return self._quantity(_BASE, "s")

    def horizontal(self) -> UnitWord | None:
        """The stated unit of the axis."""
        return self._unit(_HORIZONTAL, 0)

    def vertical(self, channel: int) -> UnitWord | None:
        """The stated unit of a channel, from 0; one that is stated once holds for all."""
        return self._unit(_VERTICAL, channel)

    def probes(self) -> tuple[float, ...]:
        """The stated probe ratios, those that are not 1."""
        found = []
        for key, values in self.pairs:
            if _PROBE.search(key):
                found += [ratio for ratio in map(_ratio, values) if ratio not in (None, 0.0, 1.0)]
        return tuple(one for one in dict.fromkeys(found) if one is not None)

    def probes_each(self, channels: int) -> tuple[float, ...]:
        """The stated probe ratio of each channel; () where not one is stated for each."""
        found: list[float] = []
        for key, values in self.pairs:
            if _PROBE.search(key):
                found += [ratio or 1.0 for ratio in map(_ratio, values) if ratio is not None]
        return tuple(found) if len(found) == channels > 1 else ()

    def spectrum(self) -> bool:
        """Whether anything speaks of a spectrum."""
        return any(
            _SPECTRUM.search(word) and "off" not in map(str.lower, values)
            for key, values in self.pairs
            for word in (key, *values)
        )

    def _unit(self, pattern: re.Pattern[str], number: int) -> UnitWord | None:
        found = self.first(pattern)
        if found is None or not found[1]:
            return None
        values = found[1]
        return unit_word(values[number] if number < len(values) else values[0])

    def _quantity(
        self, pattern: re.Pattern[str], unit: str, above: float = 0.0, below: float = math.inf
    ) -> float | None:
        """The first such value; a number without any unit counts only within bounds."""
        for key, values in self.pairs:
            value = _value(values, unit) if pattern.search(key) else None
            if value:
                bracket = re.search(r"[(\[]([^()\[\]]+)[)\]]\s*$", key)
                word = unit_word(bracket[1]) if bracket else None
                bare = measured(values[0])
                if word is not None and word.unit == unit and bare is not None and not bare[2]:
                    value *= word.factor
                elif _unitless(values) and not above <= value < below:
                    continue
                return value
        return None


def _value(values: Sequence[str], unit: str) -> float | None:
    """The first value as a number, in an SI unit that stands with it or in the next cell."""
    read = measured(values[0]) if values else None
    if read is None:
        return None
    number, word, written = read
    if word is None and not written and len(values) > 1:
        word = unit_word(values[1])
    if word is None and written and unit in ("s", "Hz"):
        # "100 k" is a hundred thousand; of a word that is not known nothing is taken
        return number * _LOOSE[written] if written in _LOOSE else None
    if word is not None and word.unit != unit:
        # "80us" under a rate, or "1 MHz" under an interval, says the other of the two
        other = {"s": "Hz", "Hz": "s"}.get(unit)
        return 1.0 / (number * word.factor) if word.unit == other and number else None
    return number * (1.0 if word is None else word.factor)


def _unitless(values: Sequence[str]) -> bool:
    read = measured(values[0])
    return read is not None and not read[2] and (len(values) < 2 or unit_word(values[1]) is None)


def _ratio(text: str) -> float | None:
    """A probe's ratio as written: "10", "10X", "X10", "1:10", "10:1"."""
    parts = [float(one) for one in re.findall(r"\d+\.?\d*(?:[eE][+-]?\d+)?", text)]
    if not parts or len(parts) > 2 or re.search(r"[a-wyzA-WYZ]{2,}", text):
        return None
    ratio = max(parts) if len(parts) == 2 else parts[0]
    return 1.0 / ratio if 0.0 < ratio < 1.0 else ratio


def bare(line: str) -> str:
    """A line without the sign of a remark in front."""
    return _COMMENT.sub("", line).strip()


def read_stated(head: Iterable[str], style: Style) -> Stated:
    """Keys and values of the lines above the numbers."""
    return Stated(tuple(pair for line in head for pair in _pairs(bare(line), style.split)))


def _pairs(line: str, split: Callable[[str], list[str]]) -> list[tuple[str, tuple[str, ...]]]:
    if not line:
        return []
    cells = [cell for cell in split(line) if cell] if "," in line or ";" in line else [line]
    if len(cells) < 2 and "," in line:
        cells = [cell.strip() for cell in line.split(",") if cell.strip()]
    if not cells:
        return []
    joined = _KEY_VALUE.match(cells[0])
    if joined is not None and (joined["value"].strip() or len(cells) == 1):
        own = [(joined["key"].strip(), (joined["value"].strip(),))]
        others = [_KEY_VALUE.match(cell) for cell in cells[1:]]
        return own + [
            (one["key"].strip(), (one["value"].strip(),)) for one in others if one is not None
        ]
    if len(cells) < 2:
        parts = [part.strip() for part in re.split(r"\t+| {2,}", line) if part.strip()]
        cells = parts if len(parts) > 1 else cells
    if len(cells) < 2:
        return [(cells[0], ())] if cells else []
    key = cells[0].rstrip(" :=")
    if _VERTICAL.search(key):  # a blank stands for a channel whose unit is not stated
        after = split(line.rstrip(",;\t "))
        return [(key, tuple(after[after.index(cells[0]) + 1 :] or cells[1:]))]
    return [(key, tuple(cells[1:]))]


def beside(rows: Iterable[Sequence[str]], first: int, end: int) -> Stated:
    """Keys and values in the columns from `first` up to `end`, beside the numbers."""
    pairs = []
    for row in rows:
        cells = [cell for cell in row[first:end] if cell]
        if cells:
            pairs.append((cells[0].rstrip(" :="), tuple(cells[1:])))
    return Stated(tuple(pairs))
