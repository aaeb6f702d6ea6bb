"""The readings that would help most, and a table to print and fill in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.report.layout import bullets, joined, section

Suggestion = Mapping[str, Any]

BLANK = "________"


def next_page(suggestions: Sequence[Suggestion]) -> RenderableType:
    """A table to print and fill in: what to do, what it should show, what it is good for.

    Args:
        suggestions: as the contract's document has them, the best first: `words`, `expected`,
            `why`.
    """
    if not suggestions:
        return Text("No further reading of the kinds at hand would change anything much.")
    lines = (_told(number, one) for number, one in enumerate(suggestions, 1))
    return section("What to read next, the most useful first", *lines)


def next_forms(suggestions: Sequence[Suggestion]) -> RenderableType:
    """The same readings as a sheet has them, to be completed and added to it.

    Args:
        suggestions: as the contract's document has them: `reading`.
    """
    if not suggestions:
        return joined(())
    forms = (_form(one) for one in suggestions)
    return section("For the sheet, once they are read", *forms)


def _told(number: int, suggestion: Suggestion) -> RenderableType:
    told = Text(suggestion["words"])
    for key, value in _flat(suggestion["expected"]).items():
        told.append(f"\n{key}: {BLANK} (should show about {value})", style="bold")
    told.append(f"\n{suggestion['why']}", style="dim")
    return bullets([told], f"{number}.")


def _form(suggestion: Suggestion) -> RenderableType:
    lines = ["[[readings]]"]
    lines += [f"{key} = {_toml(value)}" for key, value in suggestion["reading"].items()]
    return Text("\n".join([*lines, ""]), style="cyan")


def _flat(expected: Any, key: str = "result") -> dict[str, Any]:
    if not isinstance(expected, Mapping):
        return {key: expected}
    flat: dict[str, Any] = {}
    for inner, value in expected.items():
        flat |= _flat(value, str(inner))
    return flat


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"'
