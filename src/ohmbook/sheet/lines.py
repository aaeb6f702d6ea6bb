"""On which line each key of a sheet stands (the standard parser does not tell).

The scanner follows TOML 1.0 (toml.io, v1.0.0) closely enough to find every key, array element and
row of a long text. It never refuses: what it does not understand it steps over, so it can also say
where a broken sheet repeats a key or leaves a text open.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field

Key = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_REST = re.compile(r"[^\n]*")
_PLAIN = re.compile(r"[^,\]}#\n]*")
_WORD = re.compile(r'[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_SHORT = re.compile(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_LONG = re.compile(
    r'"""(?P<escaped>(?:[^"\\]|\\[\s\S]|"{1,2}(?!"))*)"{3,5}'
    r"|'''(?P<bare>(?:[^']|'{1,2}(?!'))*)'{3,5}"
)
# What begins a row of a long text, and what only looks so: a joined line goes on in the same row.
_STEP = re.compile(r"\\[ \t\r]*\n[ \t\r\n]*|(?P<escape>\\n)|\\[\s\S]|(?P<newline>\n)")
_NEWLINE = re.compile(r"(?P<escape>(?!))|(?P<newline>\n)")


@dataclass(frozen=True, slots=True)
class Repeat:
    """A key that stands twice, with the lines of both."""

    key: Key
    first: int
    again: int


@dataclass(slots=True)
class Lines:
    """The line, from 1, of every key; `repeats` and `left_open` are for broken sheets.

    Args:
        keys: key path to line. Elements of arrays stand under their index, from 0.
        rows: key path of a long text to the lines of its rows.
        repeats: keys that stand twice.
        left_open: the line of a long text whose closing quotes are missing, or None.
    """

    keys: dict[Key, int] = field(default_factory=dict)
    rows: dict[Key, tuple[int, ...]] = field(default_factory=dict)
    repeats: list[Repeat] = field(default_factory=list)
    left_open: int | None = None

    def of(self, key: Key) -> int | None:
        """The line of a key, or of the nearest table that would hold it."""
        for length in range(len(key), 0, -1):
            if key[:length] in self.keys:
                return self.keys[key[:length]]
        return None

    def of_row(self, key: Key, row: int) -> int | None:
        """The line of a row, from 0, of the text at `key`."""
        rows = self.rows.get(key, ())
        return rows[row] if 0 <= row < len(rows) else self.of(key)


def find_lines(text: str) -> Lines:
    """Find the line of every key.

    Args:
        text: a sheet, without its byte order mark.

    Returns:
        Where every key stands.
    """
    return _Scanner(text).scan()


class _Scanner:
    """One pass over one text; `here` is the position in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.here = 0
        self.starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self.lines = Lines()
        self.declared: dict[Key, int] = {}
        self.counts: dict[Key, int] = {}

    def scan(self) -> Lines:
        table: Key = ()
        self._skip(_BLANK)
        while self.here < len(self.text):
            if self.text.startswith("[", self.here):
                table = self._header(table)
            else:
                self._pair(table)
            self._skip(_REST)
            self._skip(_BLANK)
        return self.lines

    def _line(self) -> int:
        return bisect_right(self.starts, self.here)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.here)
        self.here = found.end() if found else self.here

    def _take(self, mark: str) -> bool:
        taken = self.text.startswith(mark, self.here)
        self.here += len(mark) * taken
        return taken

    def _note(self, key: Key, line: int) -> None:
        for length in range(1, len(key) + 1):
            self.lines.keys.setdefault(key[:length], line)

    def _declare(self, key: Key, line: int) -> None:
        self._note(key, line)
        if key in self.declared:
            self.lines.repeats.append(Repeat(key, self.declared[key], line))
        self.declared.setdefault(key, line)

    def _header(self, table: Key) -> Key:
        line, doubled = self._line(), self.text.startswith("[[", self.here)
        self.here += 1 + doubled
        words = self._words()
        if not words:
            return table
        key = (*self._resolved(words[:-1]), words[-1])
        if not doubled:
            key = self._resolved(words)
            self._declare(key, line)
            return key
        count = self.counts.get(key, 0)
        self.counts[key] = count + 1
        self._note((*key, count), line)
        return (*key, count)

    def _resolved(self, words: tuple[str, ...]) -> Key:
        key: Key = ()
        for word in words:
            key = (*key, word)
            if key in self.counts:
                key = (*key, self.counts[key] - 1)
        return key

    def _words(self) -> tuple[str, ...]:
        words: list[str] = []
        while True:
            self._skip(_SPACE)
            found = _WORD.match(self.text, self.here)
            if found is None:
                return ()
            words.append(_unquoted(found[0]))
            self.here = found.end()
            self._skip(_SPACE)
            if not self._take("."):
                return tuple(words)

    def _pair(self, table: Key) -> bool:
        line = self._line()
        words = self._words()
        if not words or not self._take("="):
            return False
        key = (*table, *words)
        self._declare(key, line)
        self._skip(_SPACE)
        self._value(key)
        return True

    def _value(self, key: Key) -> None:
        if self.text.startswith(('"""', "'''"), self.here):
            self._long(key)
        elif self.text.startswith(('"', "'"), self.here):
            self._skip(_SHORT)
        elif self._take("["):
            self._array(key)
        elif self._take("{"):
            self._inline(key)
        else:
            self._skip(_PLAIN)

    def _array(self, key: Key) -> None:
        index = 0
        self._skip(_BLANK)
        while self.here < len(self.text) and not self._take("]"):
            before = self.here
            self._note((*key, index), self._line())
            self._value((*key, index))
            self._skip(_BLANK)
            self._take(",")
            self._skip(_BLANK)
            index += 1
            if self.here == before:
                return

    def _inline(self, key: Key) -> None:
        self._skip(_BLANK)
        while self.here < len(self.text) and not self._take("}"):
            if not self._pair(key):
                return
            self._skip(_BLANK)
            self._take(",")
            self._skip(_BLANK)

    def _long(self, key: Key) -> None:
        found = _LONG.match(self.text, self.here)
        if found is None:
            self.lines.left_open = self._line()
            self.here = len(self.text)
            return
        escaped = found["escaped"] is not None
        self.here += 3
        self._take("\r")
        self._take("\n")
        self.lines.rows[key] = self._rows(found.end(), escaped)
        self.here = found.end()

    def _rows(self, end: int, escaped: bool) -> tuple[int, ...]:
        rows = [self._line()]
        for step in (_STEP if escaped else _NEWLINE).finditer(self.text, self.here, end):
            if step["newline"] or step["escape"]:
                begins = step.end() if step["newline"] else step.start()
                rows.append(bisect_right(self.starts, begins))
        return tuple(rows)


def _unquoted(word: str) -> str:
    if word[0] not in "\"'":
        return word
    try:
        return str(tomllib.loads(f"key = {word}")["key"])
    except ValueError:
        return word[1:-1]
