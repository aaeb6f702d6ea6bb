"""The readings that would help most, and a table to print and fill in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.report.layout import bullets, joined, section
from ohmbook.report.words import percent

Suggestion = Mapping[str, Any]

BLANK = "________"


def next_page(suggestions: Sequence[Suggestion]) -> RenderableType:
    """The suggestions, the best first, each as a form to fill in at the bench.

    Args:
        suggestions: as the contract's document has them: `reading`, `expected`, `improves`, `why`.
    """
    if not suggestions:
        return Text("No further reading of the kinds at hand would change anything much.")
    return joined(
        section(f"{number}. {one['why']}", bullets(_improved(one)), _form(one))
        for number, one in enumerate(suggestions, 1)
    )


def _improved(suggestion: Suggestion) -> list[str]:
    return [
        f"{name}'s {quantity}: {_size(change['now'])} now, {_size(change['after'])} after"
        for name, quantities in suggestion["improves"].items()
        for quantity, change in quantities.items()
    ]


def _size(change: float) -> str:
    return f"±{percent(change)}"


def _form(suggestion: Suggestion) -> RenderableType:
    lines = ["[[readings]]"]
    lines += [f"{key} = {_toml(value)}" for key, value in suggestion["reading"].items()]
    lines += [
        f"# {key}: {BLANK}  (expected: {value})"
        for key, value in _flat(suggestion["expected"]).items()
    ]
    return Text("\n".join(lines), style="cyan")


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
