"""The strips that show where every doubt comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ohmbook.documents.estimate import Spread
from ohmbook.job.settled import Settled
from ohmbook.report.budget import spread_words
from ohmbook.report.words import how_well, is_main

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def share_figures(settled: Settled, spreads: Sequence[Spread]) -> Iterator[tuple[str, Figure]]:
    """Strips of the values' doubts, and of the spread of the behaviour's features.

    Args:
        settled: whose values.
        spreads: of the behaviour's features; may be none.
    """
    from ohmbook.figures.shares import shares_figure

    strips = [
        (one.name, how_well(one), settled.budget(one.name, one.quantity))
        for one in settled.estimates
        if one.determined and is_main(one, settled.estimates)
    ]
    strips = [strip for strip in strips if strip[2]]
    if strips:
        yield "shares", shares_figure(strips, "Where the doubt in each value comes from")
    if spreads:
        features = [(one.feature, spread_words(one), one.causes) for one in spreads]
        title = "Where the spread in the behaviour comes from"
        yield "behaviour-shares", shares_figure(features, title)
