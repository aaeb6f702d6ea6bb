"""One part on one screen: the value, the biggest doubt and its remedy, the caution, the set-up."""

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
from ohmbook.report.findings import findings_bullets
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
    """One screen: what it is and how well, what to know, the cautions, then the set-up."""
    main, *others = single.estimates
    lines = [Text(f"{_whose(one, main)}: {value_text(one)}", style="dim") for one in others]
    lines += [Text(sentence) for sentence in doubt_sentences(single.budget)]
    parts = [section(f"{main.name}: {_known(main)}", *lines)]
    if any(found.kind != "caution" for found in single.findings):
        parts.append(section("Good to know", findings_bullets(single.findings)))
    parts.append(cautions_block(all_cautions(single.findings, single.set_ups)))
    parts.append(set_ups_list(single.set_ups))
    return joined(parts)


def _known(estimate: Estimate) -> str:
    """The value, how well it is known, and from what."""
    told = (value_text(estimate), how_well(estimate), note(estimate))
    return ", ".join(text for text in told if text)


def _whose(estimate: Estimate, main: Estimate) -> str:
    if estimate.name == main.name:
        return "its resistance"
    return f"{estimate.name}'s output resistance"
