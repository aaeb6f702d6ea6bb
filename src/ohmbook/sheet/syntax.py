"""TOML to plain values, and TOML's faults in our own words."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from ohmbook.errors import SheetError
from ohmbook.sheet.lines import Key, Lines, find_lines
from ohmbook.sheet.load import NOTHING
from ohmbook.sheet.near import printable

_PLACE = re.compile(r"\(at line (\d+), column (\d+)\)")
_QUOTES = 'a quantity or a text stands in double quotes, such as value = "0.82 mH"'
_BRACES = (
    'a "{" is not closed on its line; expected "}" on the same line, with commas between the keys '
    "and none after the last"
)
_SHOWN = 60

# The beginning of the parser's message, and what to say instead. First match wins.
_WORDS: tuple[tuple[str, str], ...] = (
    ("Illegal character '\\n'", "quotes are opened here and not closed on the same line"),
    ("Illegal character '\\r'", "quotes are opened here and not closed on the same line"),
    ("Illegal character", "an invisible control character stands here; type the line again"),
    ("Found invalid character", "a character that cannot stand here; type the line again"),
    ("Expected \"'", "quotes are opened here and not closed on the same line"),
    ("Unterminated string", "quotes are opened and never closed"),
    ("Expected newline or end", f"more stands here than one value; {_QUOTES}"),
    ("Invalid value", f"no value that can be read stands here; {_QUOTES}"),
    ("Unclosed array", 'a "[" is not closed; expected "]", with commas between the values'),
    ("Unclosed inline table", _BRACES),
    ("Expected '='", 'expected a key, "=" and a value; a key with spaces or accents needs quotes'),
    ("Expected ']", "the brackets of a heading are not closed, as in [parts] or [[readings]]"),
    (
        "Invalid initial character",
        'expected a key, such as value = "0.82 mH"; a key with accents or signs needs quotes',
    ),
    (
        "Invalid statement",
        'expected a key, such as value = "0.82 mH", or a heading such as [parts]',
    ),
    ("Unescaped", "a backslash in double quotes means something else; use single quotes"),
    ("Invalid hex", "a backslash in double quotes means something else; use single quotes"),
    ("Escaped character", "a backslash in double quotes means something else; use single quotes"),
    ("Invalid date", "there is no such date or time"),
)
_REPEATED = ("Cannot overwrite", "Cannot declare", "Cannot mutate", "Cannot redefine", "Duplicate")


def parse(file: str, text: str) -> tuple[dict[str, Any], Lines]:
    """Parse a sheet's text.

    Args:
        file: the name for messages.
        text: the text, without byte order mark.

    Returns:
        Plain values, and where each key stands.

    Raises:
        SheetError: the text is empty or not TOML, with line and column.
    """
    try:
        raw = tomllib.loads(text)
        lines = find_lines(text)
    except tomllib.TOMLDecodeError as error:
        raise _told(file, text, str(error)) from None
    except RecursionError:
        raise SheetError(file, None, "brackets within brackets, too deep to be a sheet") from None
    except ValueError:
        raise SheetError(file, None, "a number in it is too long to be read") from None
    if not raw:
        raise SheetError(file, None, NOTHING)
    return raw, lines


def _told(file: str, text: str, message: str) -> SheetError:
    lines = _lines_of_broken(text)
    if message.startswith(_REPEATED):
        return _repeated(file, text, message, lines)
    if lines.left_open is not None:
        words = 'a long text is opened here and never closed; expected """ at its end'
        return SheetError(file, lines.left_open, f"this is not TOML: {words}")
    line, column = _place(text, message)
    quoted = _quoted(text, line)
    words = next((ours for theirs, ours in _WORDS if message.startswith(theirs)), _QUOTES)
    if message.startswith("Invalid initial") and "{" in quoted:
        words = _BRACES
    if message.startswith("Unclosed") and _at(text, line, column).isalnum():
        words = f"more stands here than one value; {_QUOTES}"
    return SheetError(file, line, f"this is not TOML: {words}{quoted}", f"column {column}")


def _lines_of_broken(text: str) -> Lines:
    try:
        return find_lines(text)
    except RecursionError:
        return Lines()


def _place(text: str, message: str) -> tuple[int, int]:
    found = _PLACE.search(message)
    if found:
        return int(found[1]), int(found[2])
    ended = text.rstrip()  # "at end of document": the last line with anything on it
    line = ended.count("\n") + 1
    return line, len(ended) - ended.rfind("\n")


def _at(text: str, line: int, column: int) -> str:
    return text.split("\n")[line - 1][column - 1 : column]


def _quoted(text: str, line: int) -> str:
    shown = text.split("\n")[line - 1].strip() if line <= text.count("\n") + 1 else ""
    if not shown:
        return ""
    return f" (the line reads: {printable(shown[:_SHOWN])}{'...' if len(shown) > _SHOWN else ''})"


def _repeated(file: str, text: str, message: str, lines: Lines) -> SheetError:
    if lines.repeats:
        found = lines.repeats[0]
        words = f"{_thing(found.key)} stands twice, first on line {found.first}"
        return SheetError(file, found.again, printable(f"{words}; each name can stand once"))
    line, column = _place(text, message)
    words = "something with this name stands further up already; each name can stand once"
    return SheetError(file, line, f"{words}{_quoted(text, line)}", f"column {column}")


def _thing(key: Key) -> str:
    nouns = {"parts": "part", "sources": "source", "instruments": "instrument"}
    if len(key) == 2 and key[0] in nouns:
        return f'{nouns[str(key[0])]} "{key[1]}"'
    return f'"{key[-1]}"'
