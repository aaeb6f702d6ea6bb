"""The source was loaded while "open" was read: what it would have shown with nothing connected.

The open amplitude that a reading states is then what was left across the reading's own circuit,
|Z / (Z + R)| of it, with Z and the source's R as the rest of the readings have them.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, log

import numpy as np

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.circuit import respond
from ohmbook.counsel.digits import times
from ohmbook.counsel.mistakes import LOADED_ODDS, Cause, Mistake
from ohmbook.counsel.sites import Parts, Site
from ohmbook.counsel.spots import Scene
from ohmbook.errors import OhmbookError
from ohmbook.evidence import Id
from ohmbook.units.quantity import Quantity

LOADED = Mistake(
    "read loaded",
    "the source had its load on while this was read",
    LOADED_ODDS,
    "common practice, no source",
    lambda site: iter(()),  # noqa: ARG005
)
_LEAST = 0.02
_NEVER = 1e-6
_H = 1e-3
_USUAL_HZ = 1000.0


def loaded_options(scene: Scene, site: Site) -> dict[str, tuple[Cause, ...]]:
    """What the open amplitude would have been; nothing for any other site.

    What the load leaves of it is known as well as the source's resistance and the load are: within
    that it is taken to be what fits best, and weighs by how probable that is.
    """
    if site.field != "open" or site.what != "quantity" or site.owner[0] != "readings":
        return {}
    parts, share, before = Parts.of(site.text), _share(scene), scene.as_written
    at = [k for k, one in enumerate(before.rows) if one.label.endswith(": open")] if before else []
    if parts is None or share is None or before is None or not at:
        return {}
    left, u_left = share
    mean, u = float(before.mean[at[0]]), float(np.sqrt(before.covariance[at[0], at[0]]))
    off, own, spread = log(before.rows[at[0]].observed / left / mean), (u / mean) ** 2, u_left**2
    missed = off * own / (own + spread)
    fits_so = exp(-0.5 * (off**2 / (own + spread) - missed**2 / own + log((own + spread) / own)))
    text = parts.text(number=times(parts.number, exp(missed - off) / left))
    return {text: (Cause(LOADED, fits_so),)} if fits_so > _NEVER else {}


def _share(scene: Scene) -> tuple[float, float] | None:
    """What the reading's own circuit leaves of the open amplitude, and that on the log scale how
    well known; None where it cannot be told."""
    reading = scene.sheet.readings[scene.spot.number]
    f_hz = getattr(reading, "frequency", None)
    if not isinstance(reading, Reading) or getattr(reading, "table", None) is not None:
        return None
    hertz = f_hz.value if isinstance(f_hz, Quantity) else _USUAL_HZ
    desk = Desk(scene.sheet, scene.answer.compiled.beliefs)
    source = (reading.source or "", "resistance")
    known = {**scene.rest.compiled.constants, **scene.rest.values}

    def share(values: Mapping[Id, float]) -> float:
        at = {one: values[other] for one, other in ids.items() if other in values}
        z = complex(np.ravel(respond(network, at, [hertz]).input_impedance)[0])
        return abs(z / (z + values[source]))

    try:
        network = reading.set_ups(desk)[0].network
        ids = {one: desk.same.get(one, one) for one in network.ids}
        left = share(known) if source in known else np.nan
        free = [one for one in {*ids.values(), source} if one in scene.rest.posterior.ids]
        slopes = [log(share({**known, one: known[one] * (1 + _H)}) / left) / _H for one in free]
    except OhmbookError:
        return None
    if not _LEAST < left < 1.0 - _LEAST:
        return None
    at = [scene.rest.posterior.index(one) for one in free]
    covariance = scene.rest.posterior.covariance[np.ix_(at, at)]
    return left, float(np.sqrt(max(np.array(slopes) @ covariance @ np.array(slopes), 0.0)))
