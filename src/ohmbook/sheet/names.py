"""Checks of names: that they can be told apart, typed and printed.

Each check takes the draft of a sheet and yields problems; none changes anything.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.reference import Key
from ohmbook.sheet.fill import nodes_of


def part_names(sheet: Sheet) -> Iterator[Problem]:
    """Names of parts, sources and instruments can be told apart, typed and printed."""
    for group in ("parts", "sources", "instruments"):
        for name in getattr(sheet, group):
            if why := _bad_name(name):
                yield Problem((group, name), f'"{name}" cannot be a name: {why}')
            elif group == "parts" and "." in name:
                yield Problem(
                    (group, name),
                    f"\"{name}\" cannot be a part's name: a dot tells a part's end (C1.1)",
                )


def one_name_space(sheet: Sheet) -> Iterator[Problem]:
    """No source is called like a part."""
    for name in sheet.sources:
        if name in sheet.parts:
            yield Problem(
                ("sources", name),
                f'"{name}" is a part as well as a source; expected two names, since results are '
                "told by name",
            )


def node_names(sheet: Sheet) -> Iterator[Problem]:
    """Names of nodes can be typed and printed."""
    for part, pair in nodes_of(sheet).items():
        for node in pair:
            if why := _bad_name(node):
                yield Problem(("parts", part, "between"), f'"{node}" cannot be a node: {why}')


def reading_names(sheet: Sheet) -> Iterator[Problem]:
    """No two readings have one name."""
    first: dict[str, int] = {}
    for index, reading in enumerate(sheet.readings):
        key: Key = ("readings", index, "name")
        if why := _bad_name(reading.name):
            yield Problem(key, f'"{reading.name}" cannot be a name: {why}')
        if reading.name in first:
            yield Problem(
                key,
                f'"{reading.name}" is the name of reading {first[reading.name] + 1} as well; '
                "expected a name of its own, or none",
            )
        first.setdefault(reading.name, index)


def _bad_name(name: str) -> str | None:
    if not name.strip():
        return "it is empty"
    if name != name.strip():
        return "it begins or ends with a space"
    if not name.isprintable():
        return "it holds characters that cannot be printed"
    return "it begins with @, which refers to a reading" if name.startswith("@") else None
