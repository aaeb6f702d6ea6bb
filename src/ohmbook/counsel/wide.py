"""Mistakes that reach over many readings: a column's heading, a clip, a setting, a source.

Where no single spot explains what strains, each of them is tried by a refit of everything.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.counsel.mistakes import Cause
from ohmbook.counsel.rewrite import rewritten
from ohmbook.counsel.screening import Supposed, options
from ohmbook.counsel.sites import Owner, Site, referred, sites
from ohmbook.counsel.weigh import Weighed, weigh
from ohmbook.documents.reading import Sheet
from ohmbook.errors import OhmbookError

MOST = 40
"""So many are tried, the most usual mistakes first."""

_WHATS = ("heading", "column", "choice", "quantity")
"""Where the source and the ground were clipped, and what was unplugged, `doubts` looks into."""

_SELDOM = ("digit dropped", "digit doubled", "digits swapped", "radians")

_STARTS = 3
_MUST_FALL = 0.5
"""The sum of squares must fall to this share, or none of them is what is wrong."""


def wide(answer: Answer, number: int) -> tuple[Supposed, Weighed] | None:
    """The likeliest mistake that reaches over many readings, and the refit under it.

    Args:
        answer: the joint answer of the sheet as written, nothing left out.
        number: of the reading that strains, from 0.
    """
    sheet = answer.compiled.sheet
    tried = sorted(_options(sheet, number), key=lambda one: -sum(c.odds for c in one[2]))[:MOST]
    found = [made for one in tried if (made := _weighed(answer, *one)) is not None]
    if not found:
        return None
    best = max(found, key=lambda one: one[0].weight)
    if best[1].mode.objective > _MUST_FALL * answer.posterior.objective:
        return None
    again = weigh(best[0].sheet, answer, begins=[best[1].values], robust=_STARTS)
    return best if again is None else (_supposed(answer, best[0], again), again)


def _options(sheet: Sheet, number: int) -> Iterator[tuple[Site, str, tuple[Cause, ...]]]:
    own: Owner = ("readings", number)
    for owner in (own, *referred(sheet, number)):
        for site in sites(sheet, owner):
            if site.row is None and site.what in _WHATS:
                for text, causes in options(site).items():
                    if causes[0].mistake.name not in _SELDOM:
                        yield site, text, causes


def _weighed(
    answer: Answer, site: Site, text: str, causes: tuple[Cause, ...]
) -> tuple[Supposed, Weighed] | None:
    sheet = answer.compiled.sheet
    try:
        changed = rewritten(sheet, site, text)
        if any(True for one in changed.readings for _ in one.check(changed)):
            return None
        found = weigh(changed, answer)
    except OhmbookError:
        return None
    if found is None or len(found.compiled.rows) != len(answer.compiled.rows):
        return None
    return _supposed(answer, Supposed(site, text, causes, changed, 0.0, 0.0), found), found


def _supposed(answer: Answer, one: Supposed, found: Weighed) -> Supposed:
    pairs = zip(answer.compiled.rows, found.compiled.rows, strict=True)
    moved = [(a.observed, b.observed) for a, b in pairs if a.observed != b.observed]
    factor = sum(log(abs(b / a)) for a, b in moved if a and b)
    terms = [log(cause.odds) + (factor if cause.mistake.scales else 0.0) for cause in one.causes]
    odds = float(np.logaddexp.reduce(terms))
    return Supposed(one.site, one.text, one.causes, one.sheet, odds, found.log_evidence + odds)
