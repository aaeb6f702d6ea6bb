"""What every page is made of: headings, plain tables, bullets, and a layout for narrow screens."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

INDENT = 2


@dataclass(frozen=True, slots=True)
class Adaptive:
    """A layout for screens of at least `least` columns, and another for narrower ones."""

    wide: Callable[[], RenderableType]
    narrow: Callable[[], RenderableType]
    least: int

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield the layout that fits."""
        yield self.wide() if options.max_width >= self.least else self.narrow()


def heading(words: str) -> Text:
    """A section's heading."""
    return Text(words, style="bold")


def section(words: str, *bodies: RenderableType) -> RenderableType:
    """A heading with its bodies under it, indented, and a blank line after; text as it is."""
    inside = [
        Padding(Text(body) if isinstance(body, str) else body, (0, 0, 0, INDENT)) for body in bodies
    ]
    return Group(heading(words), *inside, Text())


def table(columns: Sequence[str], rows: Iterable[Sequence[str | Text]]) -> Table:
    """A table without lines; only its last column is folded where the screen is too narrow.

    Args:
        columns: their names; one that starts with ">" is set flush right.
        rows: a text for each column, shown as it is: people write brackets.
    """
    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for place, name in enumerate(columns, 1):
        right = name.startswith(">")
        made.add_column(
            name.removeprefix(">"),
            justify="right" if right else "left",
            no_wrap=place < len(columns),
        )
    for row in rows:
        made.add_row(*(Text(one) if isinstance(one, str) else one for one in row))
    return made


def bullets(lines: Iterable[RenderableType | str], mark: str = "-") -> Table:
    """Lines behind a mark, each folded under itself."""
    made = Table.grid(padding=(0, 1, 0, 0))
    made.add_column(no_wrap=True)
    made.add_column(overflow="fold")
    for line in lines:
        made.add_row(mark, Text(line) if isinstance(line, str) else line)
    return made


def joined(parts: Iterable[RenderableType]) -> RenderableType:
    """Renderables one under another."""
    return Group(*parts)
