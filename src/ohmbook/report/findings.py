"""Findings in plain words, grouped, the most urgent first."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.finding import Explanation, Finding
from ohmbook.report.layout import bullets, joined, section
from ohmbook.report.words import HEADINGS, chance

_URGENT = {"slip", "two answers", "sketch doubt", "strained"}
_LEAST = 0.01
"""Meanings of a marking that are less likely than this are left out."""


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


def findings_bullets(findings: Sequence[Finding]) -> RenderableType:
    """The same without groups, for one screen."""
    ranked = [found for kind in HEADINGS for found in findings if found.kind == kind != "caution"]
    return bullets(map(_told, ranked))


def _told(finding: Finding) -> Text:
    """A finding, and beneath it what would explain it."""
    told = Text(finding.message, style="yellow" if finding.kind in _URGENT else "")
    for line in _meanings(finding) if finding.kind == "marking" else _explanations(finding):
        told.append(f"\n  {line}", style="")
    return told


def _meanings(finding: Finding) -> list[str]:
    """What a marking may mean, with its chances; nothing where it never could mean two things."""
    meant = [one for one in finding.explanations if one.change or one.before is None]
    return [f"{one.what}{_weighed(one)}" for one in meant if _open(one)] if len(meant) > 1 else []


def _weighed(explanation: Explanation) -> str:
    if explanation.before is None or explanation.probability is None:
        return _likely(explanation)
    before, after = chance(explanation.before), chance(explanation.probability)
    return f" ({before} before the readings, {after} with them)"


def _explanations(finding: Finding) -> list[str]:
    return [
        f"{one.what}: {one.change}{_likely(one)}" if one.change else f"{one.what}{_likely(one)}"
        for one in finding.explanations
    ]


def _open(explanation: Explanation) -> bool:
    return explanation.probability is None or explanation.probability >= _LEAST


def _likely(explanation: Explanation) -> str:
    return "" if explanation.probability is None else f" ({chance(explanation.probability)})"
