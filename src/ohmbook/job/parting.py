"""Where every doubt comes from: the values' and the behaviour's, told, drawn and as a document."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.text import Text

from ohmbook.documents.estimate import CommonDoubt, Estimate, Spread, shares_document
from ohmbook.errors import CircuitError
from ohmbook.job.crossing import behaviour as work_behaviour
from ohmbook.job.mind import mind
from ohmbook.job.pages import Pages, minded, written_line
from ohmbook.job.settled import Settled
from ohmbook.job.strips import share_figures
from ohmbook.report.budget import (
    Budget,
    cancelling,
    common_lines,
    part_lines,
    shares_table,
    spread_words,
)
from ohmbook.report.layout import bullets, section
from ohmbook.report.words import is_main

NOTHING = "So there is no doubt to split. What to read first: ohmbook next"


@dataclass(frozen=True)
class Parted:
    """Every doubt, split.

    Args:
        settled: whose values.
        spreads: of the behaviour's features; none where the sheet has no whole crossover.
        common: causes that limit several values at once.
    """

    settled: Settled
    spreads: tuple[Spread, ...]
    common: tuple[CommonDoubt, ...]

    def document(self) -> dict[str, Any]:
        """As a JSON object."""
        values: dict[str, dict[str, Any]] = {}
        for one in self.settled.estimates:
            told = self.settled.budget(one.name, one.quantity)
            values.setdefault(one.name, {})[one.quantity] = shares_document(told)
        return {
            "estimates": values,
            "features": [one.document() for one in self.spreads],
            "common_doubts": [one.document() for one in self.common],
        }


def part(settled: Settled, levels_hz: Sequence[float] = ()) -> Parted:
    """Split every doubt of a settled sheet.

    Args:
        settled: what was settled.
        levels_hz: where the outputs' levels are wanted among the behaviour's features, Hz.
    """
    try:
        spreads = work_behaviour(settled, draws=0, levels_hz=levels_hz).spread
    except CircuitError:
        if levels_hz:
            raise
        spreads = ()
    return Parted(settled, spreads, settled.common_doubts())


def pages(found: Parted, written: Sequence[Path] = ()) -> Pages:
    """Everything that was split.

    Args:
        found: by `part`.
        written: figures that were written.
    """
    grave = mind(found.settled)
    told = [section("Mind", minded(grave))] if grave else []
    if budgets := _budgets(found):
        told.append(section("Where the doubt in each value comes from", shares_table(budgets)))
    elif not grave:
        told.append(section("No value is determined yet", Text(NOTHING)))
    if found.common:
        told.append(section("What they have in common", bullets(common_lines(found.common))))
    if found.spreads:
        told += _of_behaviour(found.spreads)
    return [*told, *written_line(written)]


def _of_behaviour(spreads: Sequence[Spread]) -> Pages:
    names = [f"{one.feature} ({spread_words(one)})" for one in spreads]
    causes, parts = [one.causes for one in spreads], [one.parts for one in spreads]
    against = cancelling(parts)
    explained = [] if against is None else [Text(against), Text()]
    by_part = bullets(part_lines(zip(names, parts, strict=True)))
    return [
        section(
            "Where the spread in the behaviour comes from",
            shares_table(zip(names, causes, strict=True)),
        ),
        section("The same by part", *explained, by_part),
    ]


def write(found: Parted, folder: Path | None) -> tuple[Path, ...]:
    """Draw the strips where a folder is named.

    Args:
        found: by `part`.
        folder: where, or None.
    """
    if folder is None:
        return ()
    from ohmbook.figures.saving import save

    return tuple(
        path
        for name, figure in share_figures(found.settled, found.spreads)
        for path in save(figure, folder, name)
    )


def _budgets(found: Parted) -> list[Budget]:
    every: Sequence[Estimate] = found.settled.estimates
    return [
        (one.name if is_main(one, every) else f"{one.name} in series", budget)
        for one in every
        if one.determined and (budget := found.settled.budget(one.name, one.quantity))
    ]
