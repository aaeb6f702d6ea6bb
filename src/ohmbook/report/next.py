"""The readings that would help most, and a table to print and fill in."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.table import NOT_YET
from ohmbook.report.layout import bullets, joined, section

Suggestion = Mapping[str, Any]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
BLANK = "________"
READ_NEXT = {
    "tolerance": "Nothing more need be read. If you want more all the same, the most useful first",
    "preferred value": "To reach what was asked all the same, the most useful first",
}
"""What stands over the readings where it is good enough, by what it is."""
IN_A_PLAN = {
    "tolerance": "What follows is only if you want more.",
    "preferred value": "What follows is to reach what was asked all the same.",
}
NOTHING = (
    "No further reading with the sources and instruments on the sheet would change anything much. "
    "Where something is still wanted, state another there, such as a generator, a scope or a meter."
)


def next_page(
    suggestions: Sequence[Suggestion], good_enough: Mapping[str, Any] | None = None
) -> RenderableType:
    """A table to print and fill in: what to do, what it should show, what it is good for.

    Args:
        suggestions: as the contract's document has them, the best first: `words`, `expected`,
            `why`.
        good_enough: as the document has it: where it is reached nothing has to be read.
    """
    if not suggestions:
        return Text(NOTHING)
    lines = (_told(number, one) for number, one in enumerate(suggestions, 1))
    by = None if good_enough is None else good_enough["by"]
    return section(READ_NEXT.get(str(by), "What to read next, the most useful first"), *lines)


def next_forms(suggestions: Sequence[Suggestion]) -> RenderableType:
    """The same readings as a sheet has them, to be completed and added to it.

    Args:
        suggestions: as the contract's document has them: `reading`.
    """
    if not suggestions:
        return joined(())
    forms = (_form(one) for one in suggestions)
    return section("For the sheet, once they are read", *forms)


def enough_page(good_enough: Mapping[str, Any] | None) -> RenderableType:
    """Whether to stop.

    Args:
        good_enough: as the document has it; None where nothing is wanted.
    """
    return joined(()) if good_enough is None else section("Good enough?", good_enough["words"])


def first_page(words: str | None) -> RenderableType:
    """What to put right first.

    Args:
        words: as the document has them; None where there is nothing.
    """
    return joined(()) if words is None else section("First of all", f"{words}.")


def plan_text(
    plan: Mapping[str, Any],
    first: str | None = None,
    good_enough: Mapping[str, Any] | None = None,
) -> str:
    """A whole plan as text for the end of a sheet: what is to be said stands in remarks.

    Args:
        plan: as the contract's document has it: `readings`, `numbers`, `foreseen`, `cautions`,
            `first_go`.
        first: what to put right first, if anything.
        good_enough: as the document has it: where it is reached nothing has to be read.
    """
    said = [] if first is None else _remark(f"{first}.")
    if first is None and good_enough is not None and good_enough["reached"]:
        said += _remark(f"{good_enough['words']} {IN_A_PLAN[good_enough['by']]}")
    if not plan["readings"]:
        return "\n".join([*said, *_remark(NOTHING), ""])
    lines = [*said, *_heading(plan), ""]
    for one in plan["readings"]:
        lines += ["[[readings]]", *_blanks(one["reading"], one["expected"]), ""]
    return "\n".join(lines)


def _heading(plan: Mapping[str, Any]) -> list[str]:
    said = [
        f"A plan of {plan['numbers']} numbers. Write what you read in place of each ?, put it at "
        "the end of the sheet (or into a notebook: ohmbook notebook write BOARD FILE), and settle "
        "that; what is left as ? does not count."
    ]
    said += [f"Mind: {one}" for one in plan["cautions"]]
    short = [one for one in plan["foreseen"] if not one["reached"]]
    within = f"{100 * plan['within']:.2g} %"
    names = ", ".join(f"{one['name']} ({_half(one['after'])})" for one in short)
    said.append(
        f"With it, perhaps not yet within {within}: {names}. For these plan again once this is "
        "read."
        if short
        else f"With it, everything that is wanted should be known within {within}."
    )
    if plan["first_go"]:
        rest = plan["numbers"] - plan["first_go"]
        said.append(
            "Surer with as many numbers, in two goes: ask for --plan "
            f"{plan['first_go']} instead, put those in, then --plan {rest} from there."
        )
    return [line for text in said for line in _remark(text)]


def _remark(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, 78)]


def _half(within: float) -> str:
    return f"within {100 * within:.2g} %" if within < 1.0 else "hardly at all"


def _blanks(reading: Mapping[str, Any], expected: Mapping[str, str]) -> Iterator[str]:
    for key, value in reading.items():
        if key == "table":
            yield f"table = '''{value}'''"
        elif key in expected:
            yield f"{key} = {_toml(value)}  # expected {expected[key]}"
        else:
            yield f"{key} = {_toml(value)}"


def _told(number: int, suggestion: Suggestion) -> RenderableType:
    told = Text(suggestion["words"])
    for key, value in _flat(suggestion["expected"]).items():
        told.append(f"\n{key}: {BLANK} (should show about {value})", style="bold")
    told.append(f"\n{suggestion['why']}", style="dim")
    return bullets([told], f"{number}.")


def _form(suggestion: Suggestion) -> RenderableType:
    reading = _to_fill_in(suggestion)
    lines = ["[[readings]]"]
    lines += [f"{_key(key)} = {_toml(value)}" for key, value in reading.items()]
    return Text("\n".join([*lines, ""]), style="cyan")


def _to_fill_in(suggestion: Suggestion) -> dict[str, Any]:
    """The reading with a ? wherever something is to be read, so that it is not counted before."""
    reading = dict(suggestion["reading"])
    places = {key for value in reading.values() if isinstance(value, Mapping) for key in value}
    for key, value in reading.items():
        if isinstance(value, Mapping):
            reading[key] = {inner: one or NOT_YET for inner, one in value.items()}
        elif value == "":
            reading[key] = NOT_YET
    for key, value in suggestion["expected"].items():
        if isinstance(value, str) and key not in places:
            reading.setdefault(key, NOT_YET)
    return reading


def _flat(expected: Any, key: str = "result") -> dict[str, Any]:
    if not isinstance(expected, Mapping):
        return {key: expected}
    flat: dict[str, Any] = {}
    for inner, value in expected.items():
        flat |= _flat(value, str(inner))
    return flat


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_toml(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)
