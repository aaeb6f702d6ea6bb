"""Any other number: what a stated quantity would have to be for the readings there to fit.

A cell that is wrong may be anything, and the rest of its row is none the worse. A frequency that
is wrong puts every reading there off, whatever it really was; so it is let go free, and weighed by
the integral over all it may have been (equally on a log scale).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import exp, log, pi

import numpy as np

from ohmbook.counsel.mistakes import OTHER_ODDS, OTHER_SPAN, Cause, Mistake
from ohmbook.counsel.screening import (
    Supposed,
    changed_rows,
    corrected,
    foretold,
    local_sites,
    suspects,
)
from ohmbook.counsel.sites import Parts, Site
from ohmbook.counsel.spots import Scene

_FACTORS = np.geomspace(1.0 / 30.0, 30.0, 69)
_H = 2e-3
MISREAD = Mistake(
    "misread",
    "some other number was misread or mistyped",
    OTHER_ODDS,
    "common practice, no source",
    lambda site: iter(()),  # noqa: ARG005
)


def anything(scene: Scene) -> Iterator[Supposed]:
    """Stated quantities (not readings) that would make several suspects fit, let go free."""
    if len(suspects(scene)) < 2:
        return
    for site in local_sites(scene):
        if site.what in ("quantity", "cell") and _is_stated(scene, site):
            yield from _best(scene, site)


def _is_stated(scene: Scene, site: Site) -> bool:
    """Whether it bears on several of the suspects, and on none of them as what was read."""
    before, text = scene.as_written, _text(site, 1.5)
    sheet = corrected(scene, site, text) if text else None
    after = foretold(scene, sheet) if sheet is not None else None
    if before is None or after is None:
        return False
    changed = set(changed_rows(before, after))
    read = any(
        one.observed != two.observed for one, two in zip(before.rows, after.rows, strict=True)
    )
    return not read and len(changed & set(suspects(scene))) > 1


def _best(scene: Scene, site: Site) -> Iterator[Supposed]:
    from scipy.optimize import minimize_scalar

    def cost(log_factor: float) -> float:
        text = _text(site, exp(float(log_factor)))
        sheet = corrected(scene, site, text) if text else None
        found = foretold(scene, sheet) if sheet is not None else None
        return 1e9 if found is None else -found.log_density()

    grid = np.log(_FACTORS)
    costs = np.array([cost(one) for one in grid])
    k = int(np.clip(np.argmin(costs), 1, len(grid) - 2))
    bounds = (grid[k - 1], grid[k + 1])
    found = minimize_scalar(cost, bounds=bounds, method="bounded", options={"xatol": 1e-5})
    best = float(found.x)
    bend = (cost(best + _H) + cost(best - _H) - 2.0 * float(found.fun)) / _H**2
    text = _text(site, exp(best))
    sheet = corrected(scene, site, text) if text else None
    if sheet is None or text is None or not bend > 0.0:
        return
    density = -float(found.fun) + 0.5 * log(2.0 * pi / bend)
    odds = log(OTHER_ODDS / OTHER_SPAN)
    weight = scene.rest.log_evidence + density + odds
    yield Supposed(site, text, (Cause(MISREAD, 1.0),), sheet, odds, weight, free=True)


def _text(site: Site, factor: float) -> str | None:
    parts = Parts.of(site.text)
    if parts is None:
        return None
    value = float(parts.number.replace(",", "."))
    return parts.text(number=f"{value * factor:.9f}".rstrip("0").rstrip(".")) if value else None
