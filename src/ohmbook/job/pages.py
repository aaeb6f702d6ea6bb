"""What is printed: the report's pieces put together from what was settled, in bench order.

Cautions come first, then how it was connected, then what came out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.crossover.behaviour import Behaviour
from ohmbook.documents.estimate import CauseShare, Estimate
from ohmbook.errors import CircuitError
from ohmbook.job.crossing import behaviour as work_behaviour
from ohmbook.job.demo import (
    demo_sheet,
    further_sheet,
    spare_sheet,
    write_demo_sheets,
    write_slip_sheet,
)
from ohmbook.job.mind import mind, mind_behaviour
from ohmbook.job.settled import Settled, settle
from ohmbook.job.wanted import good_enough, plan_document, plan_readings
from ohmbook.report.agreement import agreement_sentence
from ohmbook.report.behaviour import behaviour_page
from ohmbook.report.budget import Budget, budget_table, common_lines, spread_lines
from ohmbook.report.cautions import all_cautions, cautions_block
from ohmbook.report.estimates import estimates_table
from ohmbook.report.findings import findings_list, urgent_list
from ohmbook.report.layout import bullets, heading, section
from ohmbook.report.next import enough_page, first_page, next_forms, next_page
from ohmbook.report.single import Single, single_page
from ohmbook.report.words import is_main
from ohmbook.report.workings import workings_list

Pages = Sequence[RenderableType]
_OPTIONS = {'kind "source loading"': "--open, --loaded and --load"}
DEMO_PLAN = 4
"""How many numbers the demo's plan has."""


def settled_pages(settled: Settled, working: bool, written: Sequence[Path] = ()) -> Pages:
    """Everything that was settled.

    Args:
        settled: what was settled.
        working: whether to work the readings out by hand too.
        written: figures that were written.
    """
    title = settled.sheet.title or settled.sheet.file
    grave = mind(settled)
    if grave and not settled.sheet.parts:
        return [section(title, minded(grave))]
    values = [*([minded(grave), Text()] if grave else []), estimates_table(settled.estimates)]
    read = bool(settled.answer.compiled.rows)
    pages = [
        cautions_block(all_cautions(settled.findings, settled.set_ups)),
        urgent_list(settled.findings),
        section(title, *values),
        *([section(agreement_sentence(settled.consistency))] if read else []),
        findings_list(settled.findings),
    ]
    if budgets := _budgets(settled):
        common = bullets(common_lines(settled.common_doubts()))
        pages.append(section("Where the doubt comes from", budget_table(budgets), common))
    if working:
        pages.append(workings_list(settled.workings()))
    return [*pages, *written_line(written)]


def behaviour_pages(behaviour: Behaviour, settled: Settled, written: Sequence[Path] = ()) -> Pages:
    """What the crossover does, after what is to be minded about its values."""
    grave = mind_behaviour(settled)
    pages = [section("Mind", minded(grave))] if grave else []
    pages.append(behaviour_page(behaviour))
    if behaviour.findings:
        pages.append(findings_list(behaviour.findings))
    if behaviour.spread:
        lines = bullets(spread_lines(behaviour.spread))
        pages.append(section("Where the spread comes from", lines))
    return [*pages, *written_line(written)]


def minded(words: str) -> Text:
    """What is to be minded, as it stands over values."""
    return Text(f"{words}.", style="yellow")


def next_pages(document: Mapping[str, Any]) -> Pages:
    """The readings that would help most, and whether another is needed at all."""
    suggestions = document["suggestions"]
    first = document.get("first_of_all")
    if first is not None and not suggestions:
        return [first_page(first)]
    enough = document["good_enough"]
    stop = enough is not None and enough["reached"]
    # values that contradict each other are not good enough for anything
    enough = None if first is not None and stop else enough
    minded = cautions_block(caution for one in suggestions for caution in one["cautions"])
    return [
        minded,
        first_page(first),
        enough_page(enough),
        next_page(suggestions, enough),
        next_forms(suggestions),
    ]


def single_pages(settled: Settled, name: str, working: bool) -> Pages:
    """One part on one screen.

    Args:
        settled: from a sheet of one part.
        name: the part's name.
        working: whether to work the readings out by hand too.
    """
    own = [one for one in settled.estimates if one.name == name]
    others = [one for one in settled.estimates if one.name != name]
    main = next(one for one in own if is_main(one, own))
    rest = [one for one in own if one is not main]
    budget = [_by_options(share) for share in settled.budget(name, main.quantity)]
    single = Single([main, *rest, *others], budget, settled.findings, settled.set_ups)
    pages = [single_page(single)]
    return [*pages, workings_list(settled.workings())] if working else pages


def write(
    settled: Settled, folder: Path | None, behaviour: Behaviour | None = None
) -> tuple[Path, ...]:
    """Write the figures where they are wanted; nothing where no folder is named.

    Args:
        settled: what was settled.
        folder: where, or None.
        behaviour: what the crossover does, where it is known already; worked out where the sheet
            has a whole crossover.
    """
    if folder is None:
        return ()
    from ohmbook.job.pictures import write_figures  # drawing libraries, slow to load

    if behaviour is None and settled.sheet.sketch is not None:
        behaviour = _behaviour_if_whole(settled)
    return write_figures(settled, behaviour, folder)


def demo_pages(folder: Path) -> Iterator[RenderableType]:
    """The whole job on the built-in board, page by page as it gets done.

    Args:
        folder: where the figures are written.
    """
    sheet = demo_sheet()
    settled = settle(sheet)
    yield from settled_pages(settled, working=False)
    shown = work_behaviour(settled)
    yield from behaviour_pages(shown, settled)
    yield from _read_on(settled)
    yield from _spare()
    yield from written_line(write(settled, folder, shown))
    kept, _, spare = write_demo_sheets(folder)
    lines = [
        f"change a reading of the sheet, then: ohmbook settle {kept}",
        f"mend the slip, then: ohmbook settle {spare}",
        f"a frequency of the board mistyped, and found: ohmbook settle {write_slip_sheet(folder)}",
        f"the readings that would help most: ohmbook next {kept}",
        f"where the doubt comes from: ohmbook shares {kept}",
    ]
    yield section("To try next", bullets(lines))


def _read_on(settled: Settled) -> Iterator[RenderableType]:
    """How good it is, a plan for the rest, and the same with the plan filled in."""
    found = plan_document(plan_readings(settled, DEMO_PLAN), settled)
    yield enough_page(found["good_enough"])
    yield heading(f"A plan for that, to print and fill in (ohmbook next --plan {DEMO_PLAN})")
    yield Text(found["plan"]["text"])
    again = settle(further_sheet())
    values = [one for one in again.estimates if is_main(one, again.estimates)]
    yield section("The same board with the plan filled in", estimates_table(values))
    yield enough_page(good_enough(again))


def _spare() -> Iterator[RenderableType]:
    """A second, small sheet in which a slip is found."""
    settled = settle(spare_sheet())
    yield urgent_list(settled.findings)
    yield section(settled.sheet.title, estimates_table(settled.estimates))


def _behaviour_if_whole(settled: Settled) -> Behaviour | None:
    try:
        return work_behaviour(settled)
    except CircuitError:
        return None


def _by_options(share: CauseShare) -> CauseShare:
    """A remedy in terms of options: there is no sheet to put a reading into."""
    remedy = share.remedy
    for in_sheet, in_options in _OPTIONS.items():
        remedy = remedy.replace(in_sheet, in_options)
    return replace(share, remedy=remedy)


def _budgets(settled: Settled) -> list[Budget]:
    every: Sequence[Estimate] = settled.estimates
    return [
        (one.name, settled.budget(one.name, one.quantity))
        for one in every
        if is_main(one, every) and one.determined
    ]


def written_line(paths: Sequence[Path]) -> Pages:
    """Where the figures were written; nothing where none were."""
    if not paths:
        return []
    folder = paths[0].parent
    names = dict.fromkeys(path.stem for path in paths)
    line = Text(f"Figures written to {folder}/, each as SVG and PNG: {', '.join(names)}")
    return [line]
