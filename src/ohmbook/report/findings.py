"""Findings in plain words, grouped, the most urgent first."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.finding import Explanation, Finding
from ohmbook.report.layout import bullets, joined, section
from ohmbook.report.words import HEADINGS, percent

_URGENT = {"slip", "two answers", "sketch doubt", "strained"}


def findings_list(findings: Sequence[Finding]) -> RenderableType:
    """Every finding but the cautions (they have a block of their own), group by group.

    Args:
        findings: in any order.
    """
    return joined(
        section(words, bullets(_told(found) for found in findings if found.kind == kind))
        for kind, words in HEADINGS.items()
        if kind != "caution" and any(found.kind == kind for found in findings)
    )


def _told(finding: Finding) -> Text:
    """A finding, and beneath it what would explain it."""
    told = Text(finding.message, style="yellow" if finding.kind in _URGENT else "")
    for explanation in finding.explanations:
        told.append(f"\n  {_explained(explanation)}", style="")
    return told


def _explained(explanation: Explanation) -> str:
    change = f": {explanation.change}" if explanation.change else ""
    chance = ""
    if explanation.probability is not None:
        chance = f" ({percent(explanation.probability)})"
    return f"{explanation.what}{change}{chance}"
