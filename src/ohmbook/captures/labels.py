"""The headings above the numbers: names and units, one of each for each column."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ohmbook.captures.metadata import bare
from ohmbook.captures.style import Style
from ohmbook.captures.unitwords import Heading, UnitWord, heading, measured, unit_word

_MARKER = re.compile(r"^(\W*(waveform|raw)?[ _]*(data|values|begin|start|end of header)\W*)$", re.I)
_KEY = re.compile(
    r"units?$|scale$|interval|length|\brate\b|probe|coupling|trigger|offset|position|firmware|model|"
    r"serial|bandwidth|attenuation",
    re.IGNORECASE,
)
"""First cells of lines that state something and are no headings."""
_TIME = re.compile(r"^(time|t|x\(?t\)?|zeit|temps|tiempo|seconds?|sec|s)\b[ _]*", re.IGNORECASE)
_FREQUENCY = re.compile(r"^(freq\w*|f|hz)\b", re.IGNORECASE)
_INDEX = re.compile(
    r"^(index|idx|no\.?|nr\.?|#|n|k|samples?( no\.?| number)?|points?|seq\w*|row|record)$",
    re.IGNORECASE,
)
_AXIS = re.compile(r"^(x[ _-]?(axis|values?)?)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of numbers: where it stands, its name, and its unit where one is stated."""

    cell: int
    name: str
    unit: UnitWord | None = None
    unit_text: str = ""

    @property
    def role(self) -> str:
        """ "time", "frequency", "index", "axis" (of what, is not said) or "channel"."""
        unit = None if self.unit is None else self.unit.unit
        if unit == "s":
            return "time"
        if unit == "Hz":
            return "frequency"
        if _INDEX.match(self.name) and unit is None:
            return "index"
        if _TIME.match(self.name) and unit is None:
            return "time"
        if _FREQUENCY.match(self.name) and unit is None:
            return "frequency"
        if _AXIS.match(self.name):
            return "axis"
        return "channel"

    @property
    def contradicts(self) -> bool:
        """Whether its name says time and its unit frequency, or the other way."""
        unit = None if self.unit is None else self.unit.unit
        return (bool(_TIME.match(self.name)) and unit == "Hz") or (
            bool(_FREQUENCY.match(self.name)) and unit == "s"
        )


@dataclass(frozen=True, slots=True)
class Labels:
    """The headings, and the rows they were found in: cells of the names, cells of the units."""

    columns: tuple[Column, ...]
    named: bool
    names: tuple[str, ...] = ()
    below: tuple[str, ...] = ()


def read_labels(head: Sequence[str], style: Style, cells: tuple[int, ...]) -> Labels:
    """The headings of the columns in these cells, from the lines just above the numbers."""
    names: list[str] | None = None
    units: list[str] | None = None
    rows: dict[str, tuple[str, ...]] = {}
    for line in reversed(head):
        if not bare(line):
            continue
        if _MARKER.match(bare(line).strip(",;\t ")):
            continue
        found = _aligned(line, style, cells)
        if found is None and bare(line) != line.strip():
            continue  # a remark below the headings
        if found is None or any(_measured(one) for one in found) or _KEY.search(found[0]):
            break
        if units is None and _are_units(found):
            units = found
            rows["below"] = tuple(style.split(bare(line)))
            continue
        names = found
        rows["names"] = tuple(style.split(bare(line)))
        break
    columns = _columns(cells, names, units)
    return Labels(columns, bool(names or units), rows.get("names", ()), rows.get("below", ()))


def _columns(
    cells: tuple[int, ...], names: list[str] | None, units: list[str] | None
) -> tuple[Column, ...]:
    found = []
    for k, cell in enumerate(cells):
        head = heading(names[k]) if names else Heading("", None)
        if head.unit is not None and not head.name and len(cells) > 1 and units is None:
            head = replace(head, name="")
        unit, text = head.unit, head.unit_text
        if units is not None and unit_word(units[k]) is not None:
            # a row of units below the names rules; a name may happen to look like one
            unit, text = unit_word(units[k]), units[k].strip("()[] ")
            head = Heading(head.name or (names[k] if names else ""), unit, text)
        elif units is not None and _INDEX.match(units[k]):
            head = Heading(units[k], None)  # "Sequence" where a unit would stand
        found.append(Column(cell, head.name, unit, text))
    return tuple(found)


def _are_units(cells: list[str]) -> bool:
    """Whether a row is one of units; a row number has none, and some write what it is instead."""
    found = [unit_word(one) is not None for one in cells]
    return any(found) and all(
        one or _INDEX.match(cell) is not None for one, cell in zip(found, cells, strict=True)
    )


def _measured(text: str) -> bool:
    read = measured(text)
    # "x-axis,1,2,3,4" numbers its channels
    return read is not None and not re.fullmatch(r"[1-9]", text.strip())


def _aligned(line: str, style: Style, cells: tuple[int, ...]) -> list[str] | None:
    """A line's cells above the numbers, or None where they do not stand one above each."""
    plain = bare(line)
    words = style.delimiter == " "  # then a heading of two words looks like two headings
    for split in (style.split(_glued(plain) if words else plain), *_other_splits(plain)):
        filled = [one for one in split if one]
        if words and len(filled) > len(cells) > max(cells):
            continue
        # above a single column anything has a cell; only a line of its own is its heading
        beside = len(cells) > 1 or any(one.lower() == "increment" for one in filled)
        if beside and len(filled) >= len(cells) and max(cells) < len(split):
            here = [split[k] for k in cells]
            if all(here):
                return here
        if len(filled) == len(cells) and (len(cells) > 1 or not re.search(r"[,;=:\t]", filled[0])):
            return filled
    return None


def _glued(line: str) -> str:
    """A heading and its unit in brackets as one word: "Phase (deg)"."""
    return re.sub(r"(?<=[^\s)\]])[ \t]+(?=[(\[][^()\[\]]*[)\]])", "", line)


def _other_splits(line: str) -> list[list[str]]:
    return [
        [one.strip().strip('"') for one in re.split(pattern, line) if one.strip()]
        for pattern in (r"\t+", r",", r";", r"\s{2,}", r"\s+")
    ]
