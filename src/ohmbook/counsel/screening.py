"""Screening: every mistake at every site of a spot, weighed by one linear step."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from ohmbook.counsel.loaded import loaded_options
from ohmbook.counsel.mistakes import MISTAKES, Cause
from ohmbook.counsel.rewrite import rewritten
from ohmbook.counsel.sites import Owner, Parts, Site, referred, sites
from ohmbook.counsel.spots import Foretold, Scene
from ohmbook.documents.reading import Sheet
from ohmbook.errors import OhmbookError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, sine_factor

OFF = 3.0
"""An observation so many standard uncertainties off what the rest foretells is a suspect."""

_LOWEST_HZ, _HIGHEST_HZ = 1.0, 30e6
"""What a bench's generator can be set to (common practice, no source)."""

_DROWNED = 0.2
"""Standard uncertainty of a reading's own error, as a share of it, above which it is none."""

_FAR = 12.0
_SLACK = 0.03
"""A rewritten reading is not looked at more closely where it is this far off, 3 % aside."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """What may really have been the case at one site, and how it weighs.

    Args:
        site: where.
        text: what should stand there.
        causes: the mistakes that would have made what does stand there of it.
        sheet: the sheet corrected so.
        log_odds: ln of how often that happens, the width of the rewritten digits counted.
        weight: ln of the evidence, and the odds.
        free: whether the text is only the best of all numbers that might stand there.
    """

    site: Site
    text: str
    causes: tuple[Cause, ...]
    sheet: Sheet
    log_odds: float
    weight: float
    free: bool = False


def suspects(scene: Scene) -> tuple[int, ...]:
    """Places of the spot's observations that the rest does not bear out, the farthest first."""
    before = scene.as_written
    if before is None:
        return ()
    off = np.abs(before.off)
    if not np.any(off > OFF):  # each alone could be, all together cannot
        off = np.abs(before.off_from_each_other)
    order = [int(k) for k in np.argsort(-off)]
    return tuple(k for k in order if off[k] > OFF) or (order[0],)


def _about(before: Foretold) -> frozenset[int]:
    """Places of the observations on which a mistake worth trying bears."""
    off = np.maximum(np.abs(before.off), np.abs(before.off_from_each_other))
    return frozenset(int(k) for k in np.flatnonzero(off > OFF)) or frozenset(range(len(off)))


def screened(scene: Scene) -> Iterator[Supposed]:
    """Every mistake at the spot that changes a suspect and makes sense."""
    before = scene.as_written
    if before is None:
        return
    about = _about(before)
    for site in local_sites(scene):
        yield from _at(scene, before, about, site)


def local_sites(scene: Scene) -> Iterator[Site]:
    """The sites that bear on a spot alone."""
    spot = scene.spot
    owner: Owner = ("readings", spot.number)
    for site in sites(scene.sheet, owner):
        if site.row == spot.row and site.what not in ("heading", "column"):
            yield site
    if spot.row is None:
        for other in referred(scene.sheet, spot.number):
            if other[0] == "sources":
                yield from sites(scene.sheet, other)


def options(site: Site) -> dict[str, tuple[Cause, ...]]:
    """What may have stood at a site, each with every mistake that would lead from it to what does.

    Mistakes that lead from the same thing cannot be told apart by any number.
    """
    found: dict[object, list[tuple[str, Cause]]] = {}
    for mistake in MISTAKES:
        for way in mistake.ways(site):
            key = _meaning(site, way.text)
            if key is not None:
                found.setdefault(key, []).append((way.text, Cause(mistake, way.share)))
    ranked = [sorted(group, key=lambda one: -one[1].odds) for group in found.values()]
    return {group[0][0]: tuple(cause for _, cause in group) for group in ranked}


def _meaning(site: Site, text: str) -> object | None:
    """What a text means, the same for two spellings of it; None where it is not read."""
    if site.what not in ("quantity", "cell"):
        return text
    try:
        read = parse_quantity(text, site.unit)
    except OhmbookError:
        return None
    if site.unit == "Hz" and not _LOWEST_HZ <= read.value <= _HIGHEST_HZ:
        return None
    return f"{read.value * _convention(read):.9g}" if read.value else None


def _at(scene: Scene, before: Foretold, about: frozenset[int], site: Site) -> Iterator[Supposed]:
    scale: _Scale | None = None
    for text, causes in {**options(site), **loaded_options(scene, site)}.items():
        if scale is not None and scale.hopeless(text):
            continue
        sheet = corrected(scene, site, text)
        after = None if sheet is None else foretold(scene, sheet)
        if sheet is None or after is None:
            continue
        changed = frozenset(changed_rows(before, after))
        if changed and not changed & about:
            return  # whatever stands here, no suspect hangs on it
        if not changed or not _readable(before, after, changed):
            continue
        scale = scale or _Scale.of(site, before, changed)
        odds = log_odds(site, text, causes, (before, after))
        weight = scene.rest.log_evidence + after.log_density() + odds
        if np.isfinite(weight):
            yield Supposed(site, text, causes, sheet, odds, weight)


def _readable(before: Foretold, after: Foretold, changed: Collection[int]) -> bool:
    """Whether a rewritten reading is still one: nobody writes down what drowns in its own error,
    and anything would fit there."""
    for k in changed:
        was, now = abs(before.rows[k].observed), abs(after.rows[k].observed)
        if now != was and after.error[k] > _DROWNED * now:
            return bool(before.error[k] > _DROWNED * was)
    return True


@dataclass(frozen=True, slots=True)
class _Scale:
    """A site that holds one observation's own number: which, and what it should be."""

    site: Site
    value: float
    observed: float
    mean: float
    u: float

    @classmethod
    def of(cls, site: Site, before: Foretold, changed: frozenset[int]) -> _Scale | None:
        """None where the site is no number of exactly one observation."""
        if site.what not in ("quantity", "cell") or len(changed) != 1:
            return None
        written = parse_quantity(site.text, site.unit)
        (place,) = changed
        observed = before.rows[place].observed
        if not written.value or not observed or site.unit != before.rows[place].unit:
            return None
        u = float(np.sqrt(before.covariance[place, place]))
        value = written.value * _convention(written)
        return cls(site, value, observed, float(before.mean[place]), u)

    def hopeless(self, text: str) -> bool:
        """Whether the observation would be far off what the rest foretells."""
        read = parse_quantity(text, self.site.unit)
        observed = self.observed * read.value * _convention(read) / self.value
        return abs(observed - self.mean) > _FAR * self.u + _SLACK * abs(observed)


def corrected(scene: Scene, site: Site, text: str) -> Sheet | None:
    """The sheet with a text at a site; None where a person could not write it so."""
    try:
        sheet = rewritten(scene.sheet, site, text)
        problems = sheet.readings[scene.spot.number].check(sheet)
        return None if any(True for _ in problems) else sheet
    except OhmbookError:
        return None


def foretold(scene: Scene, sheet: Sheet) -> Foretold | None:
    """What should stand at the spot; None where a changed sheet cannot be modelled."""
    try:
        return scene.foretold(sheet)
    except OhmbookError:
        return None


def changed_rows(before: Foretold, after: Foretold) -> Iterator[int]:
    """Places of the observations that differ, in what was read or in what predicts it."""
    for k, (one, two) in enumerate(zip(before.rows, after.rows, strict=True)):
        if one.observed != two.observed or one.model != two.model:
            yield k


def log_odds(
    site: Site, text: str, causes: Sequence[Cause], around: tuple[Foretold, Foretold]
) -> float:
    """ln of the odds that one of the causes made what stands at a site of a text.

    A cause that multiplies makes the last digit worth so much more; another leaves it where the
    text has it. The chance of the digits on the page is their density times that worth. What is
    set rather than read (a frequency) is set to a number of few digits: each more is a tenth.
    """
    pairs = zip(around[0].rows, around[1].rows, strict=True)
    moved = [(a.observed, b.observed) for a, b in pairs if a.observed != b.observed]
    factor = sum(log(abs(b / a)) for a, b in moved if a and b)
    digit = len(moved) * _digits(site, text) if moved else _more_digits(site, text)
    terms = [log(one.odds) + (factor if one.mistake.scales else digit) for one in causes]
    return float(np.logaddexp.reduce(terms))


def _digits(site: Site, text: str) -> float:
    if site.what not in ("quantity", "cell"):
        return 0.0
    after, before = (parse_quantity(one, site.unit) for one in (text, site.text))
    return log(after.last_digit * _convention(after) / (before.last_digit * _convention(before)))


def _more_digits(site: Site, text: str) -> float:
    if site.what not in ("quantity", "cell"):
        return 0.0
    parts = [Parts.of(one) for one in (site.text, text)]
    before, after = (len(one.number.replace(".", "").strip("0")) if one else 0 for one in parts)
    return -log(10.0) * max(after - before, 0)


def _convention(read: Quantity) -> float:
    return sine_factor(read.convention, "pp") if read.convention else 1.0


def reweighed(one: Supposed, log_evidence: float) -> Supposed:
    """The same with another evidence."""
    return replace(one, weight=log_evidence + one.log_odds)
