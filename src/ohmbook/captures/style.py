"""How a text parts its columns and marks its decimals, or what has to be asked about that."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ohmbook.captures.capture import Assumed, Question
from ohmbook.errors import CaptureError

_POINT = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(?:\d+(?:,\d+)?|,\d+)(?:[eE][+-]?\d+)?")
LONGEST_NUMBER = 40
"""Characters; anything longer is no reading, and patterns need not be tried on it."""
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "space": " "}
DECIMALS = {"point": ".", "comma": ","}
_NAMES = {sign: name for name, sign in DELIMITERS.items()}
_ORDER = ((";", ","), (";", "."), ("\t", ","), ("\t", "."), (",", "."), (" ", ","), (" ", "."))


@dataclass(frozen=True, slots=True)
class Style:
    """Delimiter and decimal mark of a text."""

    delimiter: str
    decimal: str

    @property
    def name(self) -> str:
        """The delimiter in words."""
        return _NAMES[self.delimiter]

    def split(self, line: str) -> list[str]:
        """A line's cells, without the spaces and quotes around them."""
        if self.delimiter == " ":
            return line.replace('"', " ").split()
        return [cell.strip().strip("\"'").strip() for cell in line.split(self.delimiter)]

    def is_number(self, cell: str) -> bool:
        """Whether a cell is a plain number."""
        pattern = _POINT if self.decimal == "." else _COMMA
        return len(cell) <= LONGEST_NUMBER and pattern.fullmatch(cell) is not None

    def number(self, cell: str) -> float:
        """A cell's number; `is_number` has said that it is one."""
        return float(cell.replace(",", ".") if self.decimal == "," else cell)


@dataclass(frozen=True, slots=True)
class _Fit:
    """How well a style fits: lines that are all numbers, and how many cells most of them have."""

    style: Style
    lines: int
    cells: int
    marked: bool


def sniff(
    name: str, lines: Sequence[str], answers: Mapping[str, str]
) -> tuple[Style, tuple[Assumed, ...], tuple[Question, ...]]:
    """The style of a text, by the lines of it that are all numbers.

    Args:
        name: the file's, for messages.
        lines: a sample: the head, and some from further down.
        answers: may hold "delimiter" and "decimal".

    Returns:
        The style; what was assumed; the question, where a comma may be either.

    Raises:
        CaptureError: there are no numbers in it.
    """
    stated = _answered(name, answers)
    fits = [_fit(Style(*one), lines) for one in _ORDER if _allowed(one, stated)]
    if stated[1] == "," and not any(fit.lines for fit in fits):
        # commas part columns as well: the cells are joined two by two later
        both = _fit(Style(",", "."), lines)
        fits = [replace(both, style=Style(",", ","))]
    best = max(fits, key=lambda fit: (fit.lines, fit.cells > 1, fit.marked), default=None)
    if best is None or best.lines == 0:
        raise CaptureError(
            name,
            "no rows of numbers were found in it",
            "expected columns of numbers, such as time and volts, below their headings",
        )
    style = best.style
    why = "as answered" if stated[0] else "the rows of numbers part there"
    assumed = (
        Assumed("delimiter", style.name, why),
        Assumed(
            "decimal mark",
            "comma" if style.decimal == "," else "point",
            "as answered" if stated[1] else "as the numbers are written",
        ),
    )
    if stated[0] or stated[1] or not _doubtful(best, lines):
        return style, assumed, ()
    row = next(line for line in lines if _numbers(style, line))
    return style, assumed, (_comma_question(row),)


def _comma_question(row: str) -> Question:
    return Question(
        "decimal",
        f'in a row such as "{row.strip()[:60]}" a comma may part columns or mark decimals: '
        "which is it?",
        ("point", "comma"),
        'decimal = "comma" where 1,5 is one and a half; "point" where commas part columns',
    )


def _answered(name: str, answers: Mapping[str, str]) -> tuple[str, str]:
    found = []
    for key, known in (("delimiter", DELIMITERS), ("decimal", DECIMALS)):
        given = answers.get(key, "")
        if given and given not in known and given not in known.values():
            raise CaptureError(name, f'{key} = "{given}" is not known', f"expected {list(known)}")
        found.append(known.get(given, given))
    return found[0], found[1]


def _allowed(one: tuple[str, str], stated: tuple[str, str]) -> bool:
    return all(not said or said == here for said, here in zip(stated, one, strict=True))


def _numbers(style: Style, line: str) -> int:
    """How many numbers a line holds where it holds nothing else, else 0."""
    cells = [cell for cell in style.split(line) if cell]
    return len(cells) if cells and all(map(style.is_number, cells)) else 0


def _fit(style: Style, lines: Sequence[str]) -> _Fit:
    counts = Counter(_numbers(style, line) for line in lines)
    counts.pop(0, None)
    cells = counts.most_common(1)[0][0] if counts else 0
    total = sum(counts.values())
    marked = style.decimal == "." or any("," in line for line in lines if _numbers(style, line))
    if style.delimiter in ";\t" and not any(
        style.delimiter in line for line in lines if _numbers(style, line)
    ):
        total = 0
    if style.decimal == "," and not marked:
        total = 0
    return _Fit(style, total, cells, marked and style.decimal == ",")


def _doubtful(fit: _Fit, lines: Sequence[str]) -> bool:
    """Whether commas that seem to part columns may mark decimals instead, or the other way."""
    rows = [line for line in lines if _numbers(fit.style, line)]
    if fit.style == Style(" ", ",") and fit.cells == 1:
        return True
    if fit.style.decimal == ",":
        return _thousands(rows, fit.style)
    if fit.style.delimiter != "," or fit.cells < 2:
        return False
    if any("." in row for row in rows):
        return False
    return not _headed(fit, lines)


def _thousands(rows: Sequence[str], style: Style) -> bool:
    """Whether every comma stands before three digits, as it would in 12,500."""
    cells = [cell for row in rows for cell in style.split(row) if "," in cell]
    grouped = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+")
    return all(grouped.fullmatch(cell) for cell in cells)


def _headed(fit: _Fit, lines: Sequence[str]) -> bool:
    """Whether headings above the first row have as many cells as the rows: commas then part."""
    widths = Counter(len(fit.style.split(line)) for line in lines if _numbers(fit.style, line))
    if len(widths) > 1 and widths.most_common(1)[0][1] < 0.9 * sum(widths.values()):
        return False
    width = widths.most_common(1)[0][0]
    above: list[str] = []
    for line in lines:
        if _numbers(fit.style, line):
            break
        if line.strip():
            above.append(line)
    return any(len(fit.style.split(line)) == width for line in above[-2:])
