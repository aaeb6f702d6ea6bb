"""Where the doubt in a value comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import CauseShare
from ohmbook.report.layout import table
from ohmbook.report.words import percent

Budget = tuple[str, Sequence[CauseShare]]


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


def _share(share: CauseShare) -> str:
    return f"{percent(share.share)} {share.cause}"
