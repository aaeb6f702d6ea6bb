"""Where the doubt in a value comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import CauseShare, CommonDoubt, Spread
from ohmbook.report.layout import Adaptive, bullets, joined, table
from ohmbook.report.words import decibels, listed, percent
from ohmbook.units.show import show_spread

Budget = tuple[str, Sequence[CauseShare]]
LEAST = 0.03
"""Share below which causes are told together."""
_ENDLESS = 2.3
_WIDE = 76
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
        [Text(name), Text("; ".join(map(_share, _worth(shares)[:most])))]
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
    told = [(name, _lines(shares, least)) for name, shares in budgets]
    return Adaptive(lambda: _wide(told), lambda: _narrow(told), _WIDE)


Told = Sequence[tuple[str, Sequence[tuple[str, str]]]]


def _lines(shares: Sequence[CauseShare], least: float) -> list[tuple[str, str]]:
    told = [one for one in shares if abs(one.share) >= least]
    rest = sum(one.share for one in shares) - sum(one.share for one in told)
    lines = [(_rounded(one.share), one.cause) for one in told]
    return [*lines, (_rounded(rest), "everything else")] if round(100.0 * rest) else lines


def _wide(told: Told) -> RenderableType:
    rows: list[list[str | Text]] = [
        [Text(name if k == 0 else ""), share, Text(words)]
        for name, lines in told
        for k, (share, words) in enumerate(lines)
    ]
    return table(("value", ">share", "of its doubt comes from"), rows)


def _narrow(told: Told) -> RenderableType:
    """The name on a line of its own, so that the causes have the whole width."""
    parts: list[RenderableType] = []
    for name, lines in told:
        parts.append(Text(name))
        parts += [bullets([words], f"{share:>7}") for share, words in lines]
    return joined(parts)


def part_lines(budgets: Iterable[Budget]) -> list[str]:
    """For each value, the parts that it goes through, in one line."""
    told = ((name, _lines(shares, LEAST)) for name, shares in budgets)
    return [f"{name}: {', '.join(f'{w} {share}' for share, w in lines)}" for name, lines in told]


def cancelling(shares: Iterable[Sequence[CauseShare]]) -> str | None:
    """What a share below 0 means; None where there is none.

    Args:
        shares: of each value, by part.
    """
    if all(one.share > -LEAST for parts in shares for one in parts):
        return None
    return (
        "A share below 0 % stands with others that add to more than 100 %: the readings know "
        "those parts together better than each alone, so that where one is off, another makes "
        "up for it."
    )


def common_lines(doubts: Sequence[CommonDoubt]) -> list[str]:
    """Each cause that several values share, with what would help."""
    return [_common(one) for one in doubts]


def spread_lines(spreads: Sequence[Spread]) -> list[str]:
    """For each feature, how well it is known, its largest causes, and its parts."""
    return [
        f"{one.feature} ({spread_words(one)}): {_largest(one.causes)}; "
        f"mostly through {listed(_foremost(one.parts))}"
        for one in spreads
    ]


def spread_words(one: Spread) -> str:
    """How well a feature is known, half of its 95 % interval: "±0.38 %", "factor 4.0"."""
    half = K95 * one.standard_uncertainty
    if one.unit == "dB":
        return f"±{decibels(half)} dB"
    return show_spread(1.0, exp(-half), exp(half)) if half < _ENDLESS else "hardly known"


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
    return ", ".join(f"{_rounded(one.share)} {one.cause}" for one in _worth(shares)[:most])


def _foremost(parts: Sequence[CauseShare], most: int = 2) -> list[str]:
    return [one.cause for one in _worth(parts)[:most]]


def _worth(shares: Sequence[CauseShare]) -> Sequence[CauseShare]:
    """Those that matter; the largest one always."""
    return [one for k, one in enumerate(shares) if k == 0 or one.share >= LEAST]


def _rounded(share: float) -> str:
    """A share as a whole percentage."""
    return f"{100.0 * share:.0f} %"


def _share(share: CauseShare) -> str:
    return f"{percent(share.share)} {share.cause}"
