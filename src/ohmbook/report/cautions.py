"""Cautions and the set-ups they belong to: what to mind stands before what to connect."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.finding import Finding
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.report.layout import bullets, joined, section


def cautions_block(cautions: Iterable[str]) -> RenderableType:
    """Each caution once, under one heading; nothing where there is none."""
    every = list(dict.fromkeys(cautions))
    if not every:
        return joined(())
    return section("Before you connect anything", bullets((_warned(one) for one in every), "!"))


def all_cautions(
    findings: Sequence[Finding], set_ups: Iterable[tuple[str, SetUp]]
) -> tuple[str, ...]:
    """Every caution of some findings and set-ups, each once, in order."""
    found = [one.message for one in findings if one.kind == "caution"]
    found += [caution for _, set_up in set_ups for caution in set_up.cautions]
    return tuple(dict.fromkeys(found))


def set_ups_list(set_ups: Iterable[tuple[str, SetUp]]) -> RenderableType:
    """How each reading was connected, alike ones together, in words."""
    by_way: dict[tuple[str, ...], list[str]] = {}
    for reading, set_up in set_ups:
        names = by_way.setdefault(_way(set_up), [])
        if reading not in names:
            names.append(reading)
    return section(
        "How it was connected",
        bullets("; ".join((way[0] + _for(names), *way[1:])) for way, names in by_way.items()),
    )


def connection_lines(set_up: SetUp) -> tuple[str, ...]:
    """Where the clips of each tool of a set-up go: "scope tip on out, ground on com"."""
    by_tool: dict[str, list[Clip]] = {}
    for clip in set_up.clips:
        by_tool.setdefault(clip.name, []).append(clip)
    return tuple(
        f"{name} {', '.join(f'{clip.lead} on {clip.node}' for clip in clips)}"
        for name, clips in by_tool.items()
    )


def _way(set_up: SetUp) -> tuple[str, ...]:
    return (set_up.title, *set_up.notes, *connection_lines(set_up))


def _for(names: Sequence[str]) -> str:
    if len(names) > 3:
        return f" ({names[0]} to {names[-1]})"
    return f" ({', '.join(names)})"


def _warned(caution: str) -> Text:
    return Text(caution, style="yellow")
