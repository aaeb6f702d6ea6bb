"""One part on one screen: the caution, the set-up, the value, the biggest doubt and its remedy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import CauseShare, Estimate
from ohmbook.documents.finding import Finding
from ohmbook.documents.setup import SetUp
from ohmbook.report.budget import doubt_sentences
from ohmbook.report.cautions import all_cautions, cautions_block, set_ups_list
from ohmbook.report.estimates import note, value_text
from ohmbook.report.findings import findings_list
from ohmbook.report.layout import joined, section
from ohmbook.report.words import how_well


@dataclass(frozen=True, slots=True)
class Single:
    """What there is to say of one part.

    Args:
        estimates: the part's own, the main one first, then the source's.
        budget: the main estimate's, the largest share first.
        findings: of the whole.
        set_ups: reading and set-up, in order.
    """

    estimates: Sequence[Estimate]
    budget: Sequence[CauseShare]
    findings: Sequence[Finding]
    set_ups: Sequence[tuple[str, SetUp]]


def single_page(single: Single) -> RenderableType:
    """One screen: cautions and set-up first, since they come first at the bench."""
    main, *others = single.estimates
    lines = [Text(f"{main.name}: {value_text(main)}", style="bold"), Text(_known(main))]
    lines += [Text(f"{_whose(one, main)}: {value_text(one)}", style="dim") for one in others]
    lines += [Text(sentence) for sentence in doubt_sentences(single.budget)]
    return joined(
        (
            cautions_block(all_cautions(single.findings, single.set_ups)),
            set_ups_list(single.set_ups),
            section("What it is", *lines),
            findings_list(single.findings),
        )
    )


def _known(estimate: Estimate) -> str:
    return ", ".join(text for text in (how_well(estimate), note(estimate)) if text)


def _whose(estimate: Estimate, main: Estimate) -> str:
    if estimate.name == main.name:
        return "its resistance"
    return f"{estimate.name}'s output resistance"
