"""Findings in plain words, grouped, the most urgent first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.finding import Explanation, Finding, FindingKind
from ohmbook.report.layout import bullets, joined, section
from ohmbook.report.words import HEADINGS, chance

URGENT: tuple[FindingKind, ...] = ("slip", "two answers", "sketch doubt", "strained")
"""What has to be looked at before any value is relied on."""

_LEAST = 0.01
"""Meanings of a marking that were never likelier than this are left out."""


def urgent_list(findings: Sequence[Finding]) -> RenderableType:
    """The findings that stand before the values, group by group.

    Args:
        findings: in any order.
    """
    return _grouped(findings, [kind for kind in HEADINGS if kind in URGENT])


def findings_list(findings: Sequence[Finding]) -> RenderableType:
    """Every other finding but the cautions (they have a block of their own), group by group.

    Args:
        findings: in any order.
    """
    return _grouped(findings, [one for one in HEADINGS if one not in (*URGENT, "caution")])


def findings_bullets(findings: Sequence[Finding]) -> RenderableType:
    """All but the cautions without groups, for one screen."""
    ranked = [found for kind in HEADINGS for found in findings if found.kind == kind != "caution"]
    return bullets(map(_told, ranked))


def _grouped(findings: Sequence[Finding], kinds: Iterable[FindingKind]) -> RenderableType:
    groups = ((kind, [found for found in findings if found.kind == kind]) for kind in kinds)
    return joined(
        section(HEADINGS[kind], bullets(map(_told, group))) for kind, group in groups if group
    )


def _told(finding: Finding) -> RenderableType:
    """A finding, and beneath it what would explain it, each folded under itself."""
    told = Text(finding.message, style="yellow" if finding.kind in URGENT else "")
    marking = finding.kind == "marking"
    lines = _meanings(finding) if marking else list(map(_explanation, finding.explanations))
    return joined([told, bullets(lines, "*")]) if lines else told


def _meanings(finding: Finding) -> list[str]:
    """What a marking may mean, with its odds; nothing where it never could mean two things."""
    meant = [one for one in finding.explanations if one.change]
    told = [f"{one.what}{_weighed(one)}" for one in meant if _open(one)]
    return told if len(meant) > 1 else []


def _weighed(explanation: Explanation) -> str:
    if explanation.before is None or explanation.probability is None:
        return _likely(explanation)
    before, after = chance(explanation.before), chance(explanation.probability)
    return f" ({before} before the readings, {after} with them)"


def _explanation(one: Explanation) -> str:
    return f"{one.what}: {one.change}{_likely(one)}" if one.change else f"{one.what}{_likely(one)}"


def _open(explanation: Explanation) -> bool:
    shares = [one for one in (explanation.before, explanation.probability) if one is not None]
    return not shares or max(shares) >= _LEAST


def _likely(explanation: Explanation) -> str:
    return "" if explanation.probability is None else f" ({chance(explanation.probability)})"
