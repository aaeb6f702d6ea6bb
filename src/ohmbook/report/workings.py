"""A reading worked out by hand, step by step."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import Implied, Step, Working
from ohmbook.report.layout import joined, section, table
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_interval


def workings_list(workings: Iterable[Working]) -> RenderableType:
    """Each working: its steps with the numbers put in, its source, what the full model adds."""
    return joined(section(f"{one.title} ({one.reading})", _body(one)) for one in workings)


def implied_table(implied: Sequence[Implied], unit: Unit) -> RenderableType:
    """What each reading alone says of a value, beside what all of them say.

    Args:
        implied: in order; the settled value is marked.
        unit: the SI unit of all of them.
    """
    return table(
        ("reading", "says"),
        [
            [
                Text(one.label, style="bold" if one.settled else ""),
                Text(show_interval(one.value, one.low, one.high, unit, one.standard_uncertainty)),
            ]
            for one in implied
        ],
    )


def _body(working: Working) -> RenderableType:
    lines = [_step(number, step) for number, step in enumerate(working.steps, 1)]
    lines.append(Text(f"Source: {working.source}", style="dim"))
    if working.remark:
        lines.append(Text(working.remark))
    return joined(lines)


def _step(number: int, step: Step) -> Text:
    told = Text(f"{number}. {step.words}")
    if step.formula:
        told.append(f"\n   {step.formula}")
    if step.result:
        told.append(f"\n   = {step.result}", style="bold")
    return told
