"""Where the doubt in a value comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import CauseShare, CommonDoubt, Spread
from ohmbook.report.layout import table
from ohmbook.report.words import decibels, listed, percent

Budget = tuple[str, Sequence[CauseShare]]
LEAST = 0.03
"""Share below which causes are told together."""
K95 = 1.96
"""Half of a 95 % interval of a normal, in standard uncertainties."""


def doubt_sentences(shares: Sequence[CauseShare]) -> tuple[str, ...]:
    """The biggest doubt in a value, and what would lessen it.

    Args:
        shares: signed shares of the variance, the largest first.
    """
    if not shares:
        return ()
    biggest = shares[0]
    said = (f"Biggest doubt: {biggest.cause} ({percent(biggest.share)} of it).",)
    return (*said, f"Remedy: {biggest.remedy}") if biggest.remedy else said


def budget_table(budgets: Iterable[Budget], most: int = 2) -> RenderableType:
    """For each value, its largest causes of doubt with their shares of the variance.

    Args:
        budgets: what each is called, and its shares, the largest first.
        most: how many causes to tell for each.
    """
    rows = [
        [Text(name), Text("; ".join(_share(share) for share in shares[:most]))]
        for name, shares in budgets
        if shares
    ]
    return table(("part", "its doubt comes from"), rows)


def shares_table(budgets: Iterable[Budget], least: float = LEAST) -> RenderableType:
    """For each value, every cause of doubt that matters, one to a line.

    Args:
        budgets: what each is called, and its shares, the largest first.
        least: share below which causes are told together.
    """
    rows: list[list[str | Text]] = []
    for name, shares in budgets:
        told = [one for one in shares if abs(one.share) >= least]
        rest = sum(one.share for one in shares) - sum(one.share for one in told)
        lines = [(_rounded(one.share), one.cause) for one in told]
        lines += [(_rounded(rest), "everything else")] if round(100.0 * rest) else []
        rows += [
            [name if k == 0 else "", share, Text(words)] for k, (share, words) in enumerate(lines)
        ]
    return table(("value", ">share", "of its doubt comes from"), rows)


def common_lines(doubts: Sequence[CommonDoubt]) -> list[str]:
    """Each cause that several values share, with what would help."""
    return [_common(one) for one in doubts]


def spread_lines(spreads: Sequence[Spread]) -> list[str]:
    """For each feature, how well it is known, its largest causes, and its parts."""
    return [
        f"{one.feature} (±{spread_words(one)}): {_largest(one.causes)}; "
        f"mostly through {listed(part.cause for part in one.parts[:2])}"
        for one in spreads
    ]


def spread_words(one: Spread) -> str:
    """How well a feature is known: half of its 95 % interval."""
    half = K95 * one.standard_uncertainty
    return f"{decibels(half)} dB" if one.unit == "dB" else percent(half)


def _common(doubt: CommonDoubt) -> str:
    shares = [share for _, share in doubt.limits]
    low, high = _rounded(min(shares)), _rounded(max(shares))
    span = low if low == high else f"{low[:-2]} to {high}"
    told = f"{doubt.cause} limits {listed(name for name, _ in doubt.limits)} ({span} of the doubt)"
    if not doubt.remedy:
        return told
    told += f". What would help: {doubt.remedy}"
    if doubt.eased:
        name, now, after = min(doubt.eased, key=lambda one: one[2] / one[1])
        told += f" ({name} from ±{percent(K95 * now)} to ±{percent(K95 * after)})"
    return told


def _largest(shares: Sequence[CauseShare], most: int = 2) -> str:
    return ", ".join(f"{_rounded(one.share)} {one.cause}" for one in shares[:most])


def _rounded(share: float) -> str:
    """A share as a whole percentage."""
    return f"{100.0 * share:.0f} %"


def _share(share: CauseShare) -> str:
    return f"{percent(share.share)} {share.cause}"
